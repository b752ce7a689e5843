"""The brief: the numbers to fly a charted procedure by, worked out before the flight. It needs no log."""
