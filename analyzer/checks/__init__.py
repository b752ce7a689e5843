"""The checks step: from legs to findings, each a measured value compared with a limit from a named source."""
