"""A class as values: settings, roster, marks, and the rows with their index and tally."""
