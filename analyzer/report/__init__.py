"""How a debrief, a brief, a comparison or a class is written: `words`, `documents`, `pictures`, `pages`, `exports` to files.

Each uses those before it, and none judges.
"""
