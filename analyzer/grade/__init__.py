"""Grading many logs: finding them, judging and marking each one, sharing the work among processes, and writing results."""
