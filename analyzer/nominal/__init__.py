"""Nominal flying: patterns as a pilot means to fly them, carried through a wind. It knows physics and no log."""
