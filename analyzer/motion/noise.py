"""The error of a log's samples, measured on the log itself: scatter from sample to sample, and slow wander.

A third difference over a lag of k samples, z(t + 3k) - 3 z(t + 2k) + 3 z(t + k) - z(t), is blind to position, speed and
acceleration. What it sees grows with the lag in three ways that can be told apart [1]_:

    white scatter, rounding included, of variance s²:          20 s²
    a wander, a random walk to such lags, of density q:        6 q k
    the jerk of the flight:                                    c k⁶

Its mean square at several lags is fitted with these three. The largest fifth of the differences is left out, so that jumps
do not count. Wander is what a satellite receiver's position does from minute to
minute; a curve through the samples follows it, so it is nothing that residuals would show.

Digits as coarse as those of some altitudes look like a wander as well: in a descent a value moves on by 100 ft every eight
seconds. What they come to is measured in the same way on the rounding errors of a smooth flight like this one.

References
----------
.. [1] The Hadamard variance of clock analysis, which third differences are: W. J. Riley, "Handbook of Frequency Stability
   Analysis", NIST SP 1065 (2008), section 5.2.9.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import replace

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view

from analyzer.frozen import dataclass
from analyzer.motion.spline import SmoothingSpline
from analyzer.physics.quantiles import median, sum_of_smallest
from analyzer.physics.units import BoolArray, FloatArray

__all__ = ["Noise", "digit_of", "measure_noise", "scatter_at_most"]

_LAGS_S = (1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 8.0)  # a wander lasts a minute or more: these see it as a random walk
_LEAST_BOUNDED = 20  # samples
_EVEN = 0.05  # of the span of a difference: how far its samples may be from even steps
_LEAST_DIFFERENCES, _LEAST_LAGS = 100, 4
_PLENTY = 20_000  # differences at a lag: more of them, which overlap, show hardly more
# Of long logs every so many of them are taken: no multiples of 2 or 5, so that receivers that repeat a position 2, 4, 5 or 10
# times show every phase of that.
_STRIDES = (1, 3, 7, 11, 13, 17, 23, 31, 43)
_NOTHING_M2 = 1e-12
_LEAST_DIGIT = 1e-3  # smaller differences are the rounding of a computer
_LEVELS_S = 8.0  # to either side, over which digits average out: 100 ft at 750 ft/min take so long
_BY_DIGITS = 1.5
_FINE = 0.1  # share of an assumed wander's mean square below which that of rounding does not matter
_BY_CHANCE = 1e-6  # of the greatest mean square: differences of coarse positions that are zero at one lag and not at others
_MEDIAN_SQUARE = 1.386  # of the sum of the squares of two normal values: 2 ln 2
_KEPT, _KEPT_SHARE = 0.8, 0.4377  # mean square of the smaller 80 % of normal values, as a share of the variance
# which of the three terms may be there at once, a row each
_SHAPES = np.array([[1, 1, 1], [1, 1, 0], [1, 0, 1], [0, 1, 1], [1, 0, 0], [0, 1, 0], [0, 0, 1]], dtype=float)

_TOGETHER = _SHAPES[:, :, None] * _SHAPES[:, None, :]
_LEFT_OUT = np.eye(3) * (1.0 - _SHAPES)[:, None, :]


@dataclass(frozen=True)
class Noise:
    """The error of the samples of a component: `white_sd` from one to the next, `walk_density` of the wander [unit²/s].

    `measured` is False where the log does not show it, and the density is the one assumed by the caller. `rounding_density` is
    the part of it that may be rounding: a curve follows that as well, but it is never farther off than half a digit.
    """

    white_sd: float
    walk_density: float
    measured: bool
    rounding_density: float = 0.0

    def wander_sd(self, lasts_s: float) -> float:
        """Standard deviation of a wander that lasts so long, without what may be rounding."""
        return math.sqrt(max(0.0, self.walk_density - self.rounding_density) * lasts_s / 2.0)

    def sentence(self, samples: str, unit: str, factor: float) -> str:
        """The noise in words, for samples of this name, in a unit of `factor` metres."""
        white, minute = self.white_sd / factor, math.sqrt(60.0 * self.walk_density) / factor
        if not self.measured:
            return f"how far {samples} wander cannot be measured on this log: {minute:.0f} {unit} in a minute assumed"
        return f"{samples} scatter by {white:.1f} {unit} and wander by {minute:.1f} {unit} in a minute, as measured"

    def rate_sd(self, curve: SmoothingSpline) -> float:
        """Standard deviation of the rate of a smoothed curve due to the wander.

        Smoothed with a kernel h, a random walk has a rate of variance q ∫h²: for the curve's, 1/(1 + (βω)⁶) in frequency,
        q 5/(18 β).
        """
        return math.sqrt(self.walk_density * 5.0 / 18.0 / curve.bandwidth_s)

    def acceleration_sd(self, curve: SmoothingSpline) -> float:
        """The same for the acceleration: variance q ∫h'², which is q/(12 β³)."""
        return math.sqrt(self.walk_density / 12.0 / curve.bandwidth_s**3)


def measure_noise(
    time_s: FloatArray, value: FloatArray, steady: BoolArray, assumed_density: float, longest_step_s: float = 0.0
) -> Noise:
    """The noise of samples.

    Parameters
    ----------
    time_s : array, shape (n,)
        Rising instants. [s]
    value : array, shape (n, components)
        Finite samples; the components are taken to have the same noise.
    steady : array of bool, shape (n,)
        Where the flight goes straight on: only differences that span nothing else count.
    assumed_density : float
        Density of the wander assumed where the log does not show it: uneven, too short, or too coarse in time.
    longest_step_s : float
        Step between samples up to which longer lags serve, where the usual ones are too few steps. [s]
    """
    lags, squares = _mean_squares(time_s, value, steady, longest_step_s)
    if len(lags) < _LEAST_LAGS:
        return Noise(math.nan, assumed_density, measured=False)
    lag_s, square = np.array(lags), np.array(squares)
    seen = square > _NOTHING_M2
    if int(seen.sum()) < _LEAST_LAGS:
        return Noise(0.0, 0.0, measured=True)  # made, not received: nothing but the rounding of a computer
    if square[seen].min() < _BY_CHANCE * square.max():
        return Noise(math.nan, assumed_density, measured=False)
    white, walk = _split(lag_s[seen], square[seen])
    noise, digit = Noise(math.sqrt(white), walk, measured=True), digit_of(value)
    if walk <= assumed_density or 20.0 * digit**2 / 12.0 < _FINE * 6.0 * assumed_density * lags[-1]:
        return noise
    of_rounding = _mean_squares(time_s, _rounding_errors(time_s, value, digit), steady, longest_step_s)[1]
    # at no lag does a wander come to more than what rounding, and by chance half as much again, leaves of the mean square
    beyond = min(
        max(0.0, whole - _BY_DIGITS * part) / (6.0 * lag) for lag, whole, part in zip(lags, squares, of_rounding, strict=True)
    )
    return replace(noise, rounding_density=max(0.0, walk - max(assumed_density, beyond)))


def digit_of(value: FloatArray) -> float:
    """What values were rounded to, by the least difference of any two; 0 where all are the same."""
    steps = np.diff(np.unique(value))
    steps = steps[steps > _LEAST_DIGIT]
    return float(steps.min()) if len(steps) else 0.0


def _rounding_errors(time_s: FloatArray, value: FloatArray, digit: float) -> FloatArray:
    """What rounding to a digit does to values like these, smoothed over a quarter of a minute, in which digits average out."""
    reach = max(1, round(_LEVELS_S / median(np.diff(time_s))))
    padded = np.pad(value, ((reach, reach), (0, 0)), mode="edge")
    smooth: FloatArray = sliding_window_view(padded, 2 * reach + 1, axis=0).mean(axis=-1) - value[0]
    return np.round(smooth / digit) * digit - smooth


def _mean_squares(
    time_s: FloatArray, value: FloatArray, steady: BoolArray, longest_step_s: float
) -> tuple[list[float], list[float]]:
    """Lags and the mean square of the third differences at each, as far as there are enough of them. [s, unit²]"""
    step = median(np.diff(time_s))
    unsteady = np.concatenate([[0], np.cumsum(~steady)])
    rows = np.ascontiguousarray(value.T)
    lags: list[float] = []
    squares: list[float] = []
    by = max(stride for stride in _STRIDES if stride == 1 or stride * _PLENTY <= len(time_s))
    for lag in _lags(step, longest_step_s):
        if 3 * lag + 1 >= len(time_s):
            break
        span = 3 * lag
        used = np.abs(time_s[span::by] - time_s[:-span:by] - span * step) < _EVEN * span * step
        used &= unsteady[span + 1 :: by] == unsteady[: -span - 1 : by]
        if np.count_nonzero(used) < _LEAST_DIFFERENCES:
            break
        between = rows[:, 2 * lag : -lag : by] - rows[:, lag : -2 * lag : by]
        difference = rows[:, span::by] - rows[:, :-span:by] - 3.0 * between
        square = (difference if used.all() else np.compress(used, difference, axis=1)).ravel() ** 2
        kept = int(_KEPT * len(square))
        squares.append(sum_of_smallest(square, kept) / kept / _KEPT_SHARE)
        lags.append(lag * step)
    return lags, squares


def _lags(step_s: float, longest_step_s: float) -> Iterable[int]:
    """The lags, in steps: the usual ones, or, where these are too few and the steps are no longer than that, the shortest."""
    usual = dict.fromkeys(max(1, round(lag_s / step_s)) for lag_s in _LAGS_S)
    return usual if len(usual) >= _LEAST_LAGS or step_s > longest_step_s else range(1, _LEAST_LAGS + 1)


def scatter_at_most(north_east: FloatArray) -> float:
    """The greatest standard deviation that the samples of a path, north and east, can have about it.

    By the median of the third differences from sample to sample: manoeuvres add to them, and the greater half does not count.
    """
    if len(north_east) < _LEAST_BOUNDED:
        return math.inf
    difference = north_east[3:] - north_east[:-3] - 3.0 * (north_east[2:-1] - north_east[1:-2])
    return math.sqrt(median(np.sum(difference**2, axis=1)) / (20.0 * _MEDIAN_SQUARE))


def _split(lag_s: FloatArray, square: FloatArray) -> tuple[float, float]:
    """Variance of the scatter and density of the wander: the best fit, in shares of each square, with no term negative."""
    terms = np.stack([np.full(len(lag_s), 20.0), 6.0 * lag_s, lag_s**6]) / square
    size = np.sqrt(np.sum(terms**2, axis=1))
    terms /= size[:, None]
    right = terms.sum(axis=1)
    # a term that is left out has an equation of its own, which makes it zero
    shares = np.linalg.solve(terms @ terms.T * _TOGETHER + _LEFT_OUT, (right * _SHAPES)[:, :, None])[:, :, 0]
    explained = np.where(shares.min(axis=1) >= 0.0, shares @ right, -np.inf)
    white, walk, _ = shares[np.argmax(explained)] / size
    return float(white), float(walk)
