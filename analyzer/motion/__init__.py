"""The motion step: from a track and a charted procedure to the smoothed state at every second, its error and the wind."""
