"""Reports of debriefs, briefs, comparisons and classes: `words`, `documents`, `pictures`, `paper`, `pages`, and `exports`.

Each uses those before it. None of them judges a flight.
"""
