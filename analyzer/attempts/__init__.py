"""Attempts at one procedure side by side: figures, what changed, and what of it was the pilot's own."""
