"""How lively a flight was from minute to minute: where its path bends more than it does on the whole.

A smoothing that knows one size of jerk for all of a log takes it from the whole of it. After hours of cruise that is so little
that rolls are drawn out and turns flattened, by more than the curve says. So the likelihood is asked minute by minute, too: an
approach is smoothed in half a day as in its cut.
"""

from __future__ import annotations

import numpy as np

from analyzer.motion.knots import KNOT_STEP_S, Knots
from analyzer.motion.likelihood import NormalEquations
from analyzer.physics.units import FloatArray

__all__ = ["liveliness"]

# Intervals to either side, of a mean that is taken twice: a turn, with the legs that it joins.
_AROUND = int(60.0 / KNOT_STEP_S)
# Times the jerk's density on the whole. They are few, so that most of a long log stays alike (see `banded`). A turn of a short
# flight is livelier than its legs, too, if not so much: both are smoothed by what holds for the whole.
_TIMES, _LEAST_TIMES = (4.0, 16.0, 64.0, 256.0), 16.0
_SURE = 10.0  # of twice the logarithm of the likelihood: far from chance


def liveliness(equations: NormalEquations, ratio: float) -> FloatArray:
    """How many times the jerk's density on the whole is the likeliest around each interval.

    `ratio` is the likeliest λ on the whole. One value for each coefficient, that of the interval that it is the first of;
    1 where much more is not surely likelier. The noise is the same all along.
    """
    noise_sd, knots = equations.noise_sd(ratio), equations.design.knots
    on_the_whole = _around(knots, equations.unlikeliness(ratio, noise_sd))
    least, found = on_the_whole, np.ones(knots.coefficients)
    for times in _TIMES:
        unlikely = _around(knots, equations.unlikeliness(ratio / times, noise_sd))
        likelier = (unlikely < least) & (on_the_whole - unlikely > _SURE)
        if not likelier.any():
            break
        found[likelier] = times
        least = np.where(likelier, unlikely, least)
    return np.where(found >= _LEAST_TIMES, found, 1.0)


def _around(knots: Knots, value: FloatArray) -> FloatArray:
    """The sum of values, one a coefficient, over a minute to either side, within each stretch: the farther off, the less.

    What a second adds may be taken off again by the next, so that a sharp edge between them would be chance.
    """
    lengths = knots.intervals + 3
    last = np.repeat(np.cumsum(lengths), lengths)
    first = last - np.repeat(lengths, lengths)
    places = np.arange(len(value))
    low, high = np.maximum(places - _AROUND, first), np.minimum(places + _AROUND + 1, last)
    for _ in range(2):
        sums = np.concatenate([[0.0], np.cumsum(value)])
        value = (sums[high] - sums[low]) / (2 * _AROUND + 1)
    return value * (2 * _AROUND + 1)
