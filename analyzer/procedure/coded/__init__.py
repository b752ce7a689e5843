"""Reading instrument procedures coded in records of 132 columns (ARINC 424), and converting them to procedure files."""
