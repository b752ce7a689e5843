"""The zero of a measure by bisection: what a pattern needs to end where it should."""

from __future__ import annotations

from collections.abc import Callable

__all__ = ["solve"]

_HALVINGS = 24  # to a ten-millionth of the interval


def solve(measure: Callable[[float], float], low: float, high: float) -> float | None:
    """The value between two bounds at which a measure is zero; None where its sign is the same at both.

    >>> round(solve(lambda x: x * x - 2.0, 0.0, 2.0), 4)
    1.4142
    """
    at_low = measure(low)
    if at_low * measure(high) > 0.0:
        return None
    for _ in range(_HALVINGS):
        middle = (low + high) / 2.0
        at_middle = measure(middle)
        if at_low * at_middle > 0.0:
            low, at_low = middle, at_middle
        else:
            high = middle
    return (low + high) / 2.0
