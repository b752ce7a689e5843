"""How a debrief, a brief or a comparison is written: `words`, `documents`, `pictures`, `pages`, and `exports` to files.

Each uses those before it, and none judges.
"""
