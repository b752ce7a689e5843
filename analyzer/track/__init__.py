"""The log as one tidy value: read, understood, repaired, and every step of that noted. `read.read_track` is the way in."""
