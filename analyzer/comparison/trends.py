"""Trends over attempts and their significance, by rank correlation.

Kendall's test asks only whether later values are higher or lower than earlier ones. Of many figures some seem to change by
chance, so the significance levels are corrected by Holm's method. With few attempts no trend is significant; `attempts_needed`
gives the number needed.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from scipy.stats import kendalltau, theilslopes

from analyzer.frozen import dataclass

__all__ = ["LEVEL", "Trend", "attempts_needed", "holm", "trend_of"]

LEVEL = 0.05
_LEAST = 3


@dataclass(frozen=True)
class Trend:
    """The change from one attempt to the next (Theil-Sen slope), and the p-value of Kendall's test."""

    slope: float
    p: float


def trend_of(values: Sequence[float]) -> Trend | None:
    """The trend of values in the order flown; None if there are fewer than three, or all are the same."""
    if len(values) < _LEAST or len(set(values)) == 1:
        return None
    order = range(len(values))
    return Trend(float(theilslopes(values, order).slope), float(kendalltau(order, values).pvalue))


def holm(chances: Sequence[float]) -> list[bool]:
    """Which of several tests are significant together, by their p-values (Holm, 1979)."""
    significant = [False] * len(chances)
    for rank, k in enumerate(sorted(range(len(chances)), key=lambda k: chances[k])):
        if chances[k] > LEVEL / (len(chances) - rank):
            break
        significant[k] = True
    return significant


def attempts_needed(tests: int) -> int:
    """The fewest attempts with which a trend can be significant, for a number of tests: of n! orders two are monotonic."""
    n = 2
    while 2.0 / math.factorial(n) > LEVEL / max(1, tests):
        n += 1
    return n
