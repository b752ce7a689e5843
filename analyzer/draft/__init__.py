"""Drafting: what a flight tells of the procedure that it was flown by."""
