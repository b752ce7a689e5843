"""How lively a flight was from minute to minute: where its path bends more than it does on the whole.

A smoothing that knows one size of jerk for all of a log takes it from the whole of it. After hours of cruise that is so little
that rolls are drawn out and turns flattened, by more than the curve says. So the likelihood is asked minute by minute, too: an
approach is smoothed in half a day as in its cut.
"""

from __future__ import annotations

import numpy as np

from analyzer.motion.knots import KNOT_STEP_S, IntArray, Knots
from analyzer.motion.likelihood import NormalEquations
from analyzer.physics.units import FloatArray

__all__ = ["liveliness"]

# Intervals to either side, of a mean that is taken twice: a turn, with the legs that it joins.
_AROUND = int(60.0 / KNOT_STEP_S)
# Times the jerk's density on the whole. They are few, so that most of a long log stays alike (see `banded`).
_TIMES = (16.0, 64.0, 256.0)
# A turn of a short flight is livelier than its legs, too, if not so much: both are smoothed by what holds for the whole.
_LITTLE = 4.0
_SURE = 10.0  # of twice the logarithm of the likelihood: far from chance


def liveliness(equations: NormalEquations, ratio: float) -> FloatArray:
    """How many times the jerk's density on the whole is the likeliest around each interval.

    `ratio` is the likeliest λ on the whole. One value for each coefficient, that of the interval that it is the first of;
    1 where much more is not surely likelier. The noise is the same all along.
    """
    noise_sd, knots = equations.noise_sd(ratio), equations.design.knots
    around = _around(knots)

    def unlikely(times: float) -> FloatArray:
        return _summed(equations.unlikeliness(ratio / times, noise_sd), around)

    on_the_whole = unlikely(1.0)
    least, found = on_the_whole, np.ones(knots.coefficients)
    for times in _TIMES:
        here = unlikely(times)
        likelier = (here < least) & (on_the_whole - here > _SURE)
        if not likelier.any():
            break
        found[likelier] = times
        least = np.where(likelier, here, least)
    if (found == 1.0).all():
        return found
    return np.where(unlikely(_LITTLE) < least, 1.0, found)


def _around(knots: Knots) -> tuple[IntArray, IntArray]:
    """The first coefficient of the minute to either side of each, within its stretch, and the one behind the last."""
    lengths = knots.intervals + 3
    places = np.arange(knots.coefficients)
    first = np.repeat(knots.first_coefficient, lengths)
    return np.maximum(places - _AROUND, first), np.minimum(places + _AROUND + 1, np.repeat(np.cumsum(lengths), lengths))


def _summed(value: FloatArray, around: tuple[IntArray, IntArray]) -> FloatArray:
    """The sum of values, one a coefficient, over a minute to either side: the farther off, the less.

    What a second adds may be taken off again by the next, so that a sharp edge between them would be chance.
    """
    low, high = around
    for _ in range(2):
        sums = np.concatenate([[0.0], np.cumsum(value)])
        value = (sums.take(high) - sums.take(low)) / (2 * _AROUND + 1)
    return value * (2 * _AROUND + 1)
