"""Drafting: inferring a procedure from a flight."""
