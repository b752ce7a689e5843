"""The charted procedure: the file (`schema`, `read`), and its meaning on a given date (`charted`)."""
