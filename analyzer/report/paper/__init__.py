"""Reports for paper: the content of each sheet, typeset as PDF."""
