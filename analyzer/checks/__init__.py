"""The checks step: from legs to findings, each a measured value against a limit of a named source."""
