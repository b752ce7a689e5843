"""The rubrics that ship: what each check weighs in a mark, as TOML."""
