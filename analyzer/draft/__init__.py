"""Drafting: inferring from a flight the procedure that it was flown by."""
