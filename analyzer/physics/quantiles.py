"""Median and quantiles of a few hundred values, the same as numpy's but many times faster for so few; and sums of the least."""

from __future__ import annotations

import math

import numpy as np

from analyzer.physics.units import FloatArray

__all__ = ["median", "quantile", "sum_of_smallest"]

_MANY, _SAMPLED, _ABOUT = 1 << 15, 16, 0.02


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


def sum_of_smallest(values: FloatArray, count: int) -> float:
    """The sum of the `count` smallest of some values, which are put in another order.

    Of many values, a sample shows about where the last of them lies, and only those near to it are ordered.

    >>> sum_of_smallest(np.array([4.0, 1.0, 2.0]), 2)
    3.0
    """
    if len(values) > _MANY:
        sample, share = values[::_SAMPLED], count / len(values)
        low, high = (quantile(sample, min(max(share + off, 0.0), 1.0)) for off in (-_ABOUT, _ABOUT))
        below = values[values < low]
        near = values[(values >= low) & (values <= high)]
        if len(below) <= count < len(below) + len(near):
            near.partition(count - len(below))
            return float(below.sum() + near[: count - len(below)].sum())
    values.partition(count)
    return float(values[:count].sum())
