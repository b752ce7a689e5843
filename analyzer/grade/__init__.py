"""Many logs graded alike: which logs, by what rubric, the work on one, its sharing out among processes, and what is written."""
