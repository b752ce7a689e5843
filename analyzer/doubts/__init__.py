"""Whether a flight is possible, and whether the procedure is its own: doubts, said before and beside every verdict."""
