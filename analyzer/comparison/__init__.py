"""Comparison of attempts at one procedure: figures, changes, and how much of a change is due to the wind."""
