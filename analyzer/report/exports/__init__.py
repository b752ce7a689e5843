"""Reports as files: their formats, tables, lines for maps, and the writing itself."""
