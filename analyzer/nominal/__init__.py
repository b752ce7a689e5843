"""Nominal flying: intended patterns flown through a steady wind, from physics alone, without a log."""
