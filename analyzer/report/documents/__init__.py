"""Debriefs, briefs and comparisons as JSON values."""
