"""What is written of a debrief, a brief or a comparison: `words`, `documents`, `pictures`, `pages`, and `exports` to files.

Each knows those before it, and none judges.
"""
