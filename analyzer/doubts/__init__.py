"""Whether a flight is possible, and flown by this procedure: doubts, stated before and with every verdict."""
