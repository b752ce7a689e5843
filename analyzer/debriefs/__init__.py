"""A flight judged whole: approaches and holds with their figures, findings and lessons, and how they compare with a brief."""
