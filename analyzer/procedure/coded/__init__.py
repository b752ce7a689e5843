"""Instrument procedures coded in fixed records of 132 columns (ARINC 424), read and turned into procedure files."""
