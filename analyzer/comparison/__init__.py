"""Attempts at one procedure side by side: figures, what changed, and how much of it was the pilot's own."""
