"""Trends over attempts and their significance, by rank correlation.

Kendall's test asks only whether later values are higher or lower than earlier ones. Of many figures some seem to change by
chance, so the significance levels are corrected by Holm's method. With few attempts no trend is significant; `attempts_needed`
gives the number needed.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence
from itertools import accumulate

import numpy as np

from analyzer.frozen import dataclass

__all__ = ["LEVEL", "Trend", "attempts_needed", "holm", "trend_of"]

LEVEL = 0.05
_LEAST = 3
_MOST_COUNTED = 33  # values whose orders are counted; of more, the normal distribution is as good


@dataclass(frozen=True)
class Trend:
    """The change from one attempt to the next (Theil-Sen slope), and the p-value of Kendall's test."""

    slope: float
    p: float


def trend_of(values: Sequence[float]) -> Trend | None:
    """The trend of values in the order flown; None if there are fewer than three, or all are the same."""
    if len(values) < _LEAST or len(set(values)) == 1:
        return None
    earlier, later = np.triu_indices(len(values), 1)
    changes = np.diff(np.asarray(values, dtype=np.float64)[[earlier, later]], axis=0)[0]
    slope = float(np.median(changes / (later - earlier)))
    return Trend(slope, _chance(values, rising=int((changes > 0.0).sum()), falling=int((changes < 0.0).sum())))


def _chance(values: Sequence[float], rising: int, falling: int) -> float:
    """The chance that the pairs of values in random order would rise or fall as much more often than fall or rise.

    References
    ----------
    .. [1] M. G. Kendall, "Rank Correlation Methods", 4th edition (1970): chapter 5, by counting, and by the normal
       distribution where values are alike or many.
    """
    n, fewer = len(values), min(rising, falling)
    if len(set(values)) == n and (n <= _MOST_COUNTED or fewer <= 1):
        return min(1.0, 2 * sum(_orders(n, fewer)) / math.factorial(n))  # whole numbers, too large for others
    alike = sum(count * (count - 1) * (2 * count + 5) for count in Counter(values).values())
    variance = (n * (n - 1) * (2 * n + 5) - alike) / 18.0
    return math.erfc(abs(rising - falling) / math.sqrt(2.0 * variance))


def _orders(n: int, most: int) -> list[int]:
    """How many orders of n values have 0, 1, ... and `most` pairs that fall."""
    counts = [1] + [0] * most
    for length in range(2, n + 1):  # the next value falls short of up to `length` - 1 of those before it
        sums = list(accumulate(counts))
        counts = [total - (sums[k - length] if k >= length else 0) for k, total in enumerate(sums)]
    return counts


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
