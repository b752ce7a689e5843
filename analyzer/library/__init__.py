"""The interface for scripts and notebooks: debriefs and comparisons that show themselves, plots, and tables for pandas."""
