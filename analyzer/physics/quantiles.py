"""Median and quantiles of a few hundred values, the same as numpy's but many times faster for so few."""

from __future__ import annotations

import math

import numpy as np

from analyzer.physics.units import FloatArray

__all__ = ["median", "quantile"]


def quantile(values: FloatArray, share: float) -> float:
    """The quantile of one or more values at a share from 0 to 1, interpolated linearly; NaN if any value is NaN.

    >>> quantile(np.array([4.0, 1.0, 2.0]), 0.75)
    3.0
    """
    ordered = np.sort(values)
    place = share * (len(ordered) - 1)
    k = int(place)
    low, high, highest = float(ordered[k]), float(ordered[min(k + 1, len(ordered) - 1)]), float(ordered[-1])
    return low + (place - k) * (high - low) if not math.isnan(highest) else math.nan


def median(values: FloatArray) -> float:
    """The median of one or more values; NaN if any value is NaN."""
    return quantile(values, 0.5)
