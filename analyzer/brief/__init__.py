"""The brief: the numbers to fly a charted procedure by, computed before the flight. It needs no log."""
