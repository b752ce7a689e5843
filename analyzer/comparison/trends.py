"""What attempts tell over time, and whether they tell it: rank correlation with the chance that it is none.

Kendall's test asks only whether later values are higher or lower than earlier ones. Of many figures some seem to change by
chance, so the levels are Holm's. With few attempts nothing can be claimed, and how many it would take is said.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from scipy.stats import kendalltau, theilslopes

__all__ = ["LEVEL", "Trend", "attempts_needed", "holm", "trend_of"]

LEVEL = 0.05
_LEAST = 3


@dataclass(frozen=True)
class Trend:
    """The change an attempt (median of all pairs' slopes, Theil and Sen), and the chance of such an order without any trend."""

    slope: float
    p: float


def trend_of(values: Sequence[float]) -> Trend | None:
    """The trend of values in the order flown; None of fewer than three, or where all are the same."""
    if len(values) < _LEAST or len(set(values)) == 1:
        return None
    order = range(len(values))
    return Trend(float(theilslopes(values, order).slope), float(kendalltau(order, values).pvalue))


def holm(chances: Sequence[float]) -> list[bool]:
    """Which of several tests hold at the level together (Holm, 1979)."""
    held = [False] * len(chances)
    for rank, k in enumerate(sorted(range(len(chances)), key=lambda k: chances[k])):
        if chances[k] > LEVEL / (len(chances) - rank):
            break
        held[k] = True
    return held


def attempts_needed(tests: int) -> int:
    """The fewest attempts whose order can stand out from chance with that many figures: of n! orders two are perfect."""
    n = 2
    while 2.0 / math.factorial(n) > LEVEL / max(1, tests):
        n += 1
    return n
