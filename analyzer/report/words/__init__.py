"""What reports say, sentence by sentence and row by row, as plain text."""
