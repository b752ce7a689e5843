"""Standards as data: one TOML file each, with every limit's value, source and how the source was seen."""
