"""Reports for paper: what stands on each sheet, typeset as PDF."""
