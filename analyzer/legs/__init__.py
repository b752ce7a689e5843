"""The legs step: from motion to the course reversals that were flown, each cut into its parts."""
