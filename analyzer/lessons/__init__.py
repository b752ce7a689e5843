"""The lessons step: the causes of findings outside or too close to call, and what to try, by simulating the flight."""
