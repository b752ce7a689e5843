"""A class as values: what it is graded by, its pilots, the marks, and the rows, indexed and tallied."""
