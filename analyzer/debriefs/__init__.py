"""The debrief of a whole flight: approaches and holds with figures, findings and lessons, compared with a brief."""
