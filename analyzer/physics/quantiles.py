"""Median and quantiles of a few hundred values: what general routines give, without their many times longer way to it."""

from __future__ import annotations

import math

import numpy as np

from analyzer.physics.units import FloatArray

__all__ = ["median", "quantile"]


def quantile(values: FloatArray, share: float) -> float:
    """The value that a share of some values, one or more, lies below, straight between two of them; NaN where one is.

    >>> quantile(np.array([4.0, 1.0, 2.0]), 0.75)
    3.0
    """
    ordered = np.sort(values)
    place = share * (len(ordered) - 1)
    k = int(place)
    low, high, highest = float(ordered[k]), float(ordered[min(k + 1, len(ordered) - 1)]), float(ordered[-1])
    return low + (place - k) * (high - low) if not math.isnan(highest) else math.nan


def median(values: FloatArray) -> float:
    """The value that half of some values, one or more, lie below, half way between two where their number is even."""
    return quantile(values, 0.5)
