"""Doubts: whether the flight is possible, and flown by this procedure; stated before and with every verdict."""
