"""A smoothing spline over time whose strength is chosen by the data, and which knows its own error.

Each curve is a cubic spline with knots a second apart, so that acceleration runs straight from one second to the next. The
curve minimises

    Σ (sample - curve)² + λ ∫ (jerk)² dt

which is the estimate of a body driven by white jerk and seen through white noise [1]_. λ, the ratio of the noise variance to
the spectral density of the jerk, maximises the restricted likelihood [2]_: nothing is set by hand, and a rounded, noisy or
sparse log gets the smoothing it needs. Knots go by time and not by samples, so uneven steps and oversampled logs need no
resampling; a stretch without samples is bridged by the same model, and its error says so. The curve is never carried across a
`Gap` of the track.

Everything is banded: time and memory grow with the length of the log.

References
----------
.. [1] G. Wahba, "Improper priors, spline smoothing and the problem of guarding against model errors in regression",
   J. R. Stat. Soc. B 40 (1978), 364-372.
.. [2] G. Wahba, "A comparison of GCV and GML for choosing the smoothing parameter in the generalized spline smoothing problem",
   Ann. Stat. 13 (1985), 1378-1402.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt
from scipy.linalg.lapack import dpbtrf, dpbtrs

from analyzer.errors import LogError
from analyzer.physics.units import BoolArray, FloatArray

__all__ = ["Knots", "SmoothingSpline", "fit_spline"]

IntArray = npt.NDArray[np.int64]

KNOT_STEP_S = 1.0
# λ [s⁵]: from noise of a millimetre on an aerobatic flight to 100 m on a straight one
_LOG10_RATIO_RANGE = (-6.0, 9.0)
_LOG10_RATIO_FIRST, _LOG10_RATIO_STEP = 1.5, 1.5  # of a log a second apart with a receiver's noise, and to either side
_LOG10_RATIO_NEAR = 0.5  # to either side, for the last parabola
_REACH = 120  # coefficients, so seconds
_THROUGH_SAMPLES = 5.0 / 18.0  # ∫h² of the filter is 5/(18 β), and 1/step for all that samples a step apart can carry
_JERK = np.array([-1.0, 3.0, -3.0, 1.0])  # third difference: the third derivative of a cubic piece, times the step cubed


def _basis(u: FloatArray, order: int) -> FloatArray:
    """The four cubic B-splines that live on one interval, or their derivatives by u in [0, 1]. Shape (4, n)."""
    v = 1.0 - u
    if order == 0:
        return np.stack([v**3, 3.0 * u**3 - 6.0 * u**2 + 4.0, -3.0 * u**3 + 3.0 * u**2 + 3.0 * u + 1.0, u**3]) / 6.0
    if order == 1:
        return np.stack([-(v**2), 3.0 * u**2 - 4.0 * u, -3.0 * u**2 + 2.0 * u + 1.0, u**2]) / 2.0
    return np.stack([v, 3.0 * u - 2.0, 1.0 - 3.0 * u, u])


@dataclass(frozen=True)
class Knots:
    """Where the intervals of the spline lie: stretches of whole seconds, one for each run of samples without a gap.

    `start_s` and `end_s` are the first and last sample of each stretch, `intervals` its number of intervals.
    """

    start_s: FloatArray
    end_s: FloatArray
    intervals: IntArray

    @classmethod
    def over(cls, stretches: Sequence[tuple[float, float]]) -> Knots:
        """Knots for stretches given by their first and last instant. [s]"""
        start, end = (np.array(side, dtype=float) for side in zip(*stretches, strict=True))
        return cls(start, end, np.maximum(1, np.ceil((end - start) / KNOT_STEP_S - 1e-9)).astype(np.int64))

    @cached_property
    def first_interval(self) -> IntArray:
        """Number of the first interval of each stretch, and behind the last the number of all."""
        return np.concatenate([[0], np.cumsum(self.intervals)])

    @property
    def coefficients(self) -> int:
        """How many coefficients the spline has: three more than intervals in each stretch."""
        return int(self.intervals.sum()) + 3 * len(self.intervals)

    @cached_property
    def first_coefficient(self) -> IntArray:
        """Number of the first of the four coefficients of each interval."""
        stretch = np.repeat(np.arange(len(self.intervals)), self.intervals)
        return np.arange(int(self.intervals.sum())) + 3 * stretch

    def locate(self, time_s: FloatArray) -> tuple[IntArray, FloatArray]:
        """First coefficient of the interval of each instant, and where in it, 0 to 1. Instants in a gap go to its edge."""
        stretch = np.clip(np.searchsorted(self.start_s, time_s, side="right") - 1, 0, len(self.start_s) - 1)
        inside = np.clip(time_s, self.start_s[stretch], self.end_s[stretch])
        x = (inside - self.start_s[stretch]) / KNOT_STEP_S
        interval = np.minimum(x.astype(np.int64), self.intervals[stretch] - 1)
        return self.first_coefficient[self.first_interval[stretch] + interval], x - interval

    def cover(self, time_s: FloatArray) -> BoolArray:
        """Whether each instant lies within a stretch."""
        stretch = np.clip(np.searchsorted(self.start_s, time_s + 1e-6, side="right") - 1, 0, len(self.start_s) - 1)
        inside: BoolArray = (time_s >= self.start_s[stretch] - 1e-6) & (time_s <= self.end_s[stretch] + 1e-6)
        return inside

    def grid(self) -> FloatArray:
        """The instants of the knots that lie within the samples, all stretches one behind the other. [s]"""
        counts = np.floor((self.end_s - self.start_s) / KNOT_STEP_S + 1e-9).astype(np.int64) + 1
        return np.concatenate([start + KNOT_STEP_S * np.arange(n) for start, n in zip(self.start_s, counts, strict=True)])


@dataclass(frozen=True, eq=False)
class SmoothingSpline:
    """A fitted curve of one or more components. Made by `fit_spline`.

    `noise_sd` is the standard deviation of the samples about the curve, one for all components, in the unit of the samples;
    `ratio` is λ. Samples whose errors last longer than the smoothing (a satellite receiver's slow wander) are followed by the
    curve: `noise_sd` and the standard deviations do not hold them.
    """

    knots: Knots
    coefficient: FloatArray  # (coefficients, components)
    noise_sd: float
    ratio: float
    factor: FloatArray  # banded Cholesky factor of the normal equations, lower form
    samples: int

    @property
    def bandwidth_s(self) -> float:
        """β of the smoothing as a filter, 1/(1 + (βω)⁶) in frequency, for samples an even step apart. [s]

        Where samples are so far apart that the curve runs through them, the β that passes what they can carry.
        """
        return max(math.pow(self.ratio * self._step_s, 1.0 / 6.0), _THROUGH_SAMPLES * self._step_s)

    @property
    def scatter_acceleration_sd(self) -> float:
        """Standard deviation that the samples' scatter lends to the acceleration: as a filter, variance s² step ∫h''²."""
        return self.noise_sd * math.sqrt(self._step_s / 18.0 / self.bandwidth_s**5)

    @property
    def _step_s(self) -> float:
        return float(np.sum(self.knots.end_s - self.knots.start_s)) / self.samples

    def at(self, time_s: FloatArray, order: int = 0) -> FloatArray:
        """Value (order 0), rate (1) or acceleration (2) at the instants. Shape (n, components)."""
        first, u = self.knots.locate(time_s)
        basis = _basis(u, order) / KNOT_STEP_S**order
        result: FloatArray = np.einsum("in,inc->nc", basis, self.coefficient[first + np.arange(4)[:, None]])
        return result

    def with_derivatives(self, time_s: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
        """Value, rate and acceleration at the instants, each of shape (n, components)."""
        first, u = self.knots.locate(time_s)
        near = self.coefficient[first + np.arange(4)[:, None]]
        value, rate, acceleration = (
            np.einsum("in,inc->nc", _basis(u, order) / KNOT_STEP_S**order, near) for order in (0, 1, 2)
        )
        return value, rate, acceleration

    def sd(self, time_s: FloatArray, order: int = 0) -> FloatArray:
        """Standard deviation of `at`, the same for each component. Shape (n,)."""
        first, u = self.knots.locate(time_s)
        basis = _basis(u, order) / KNOT_STEP_S**order
        variance = np.zeros(len(u))
        if not len(u):
            return variance
        low, high = int(first.min()), int(first.max()) + 4
        covariance = self._covariance(low, high)
        for i in range(4):
            for j in range(i, 4):
                term = basis[i] * basis[j] * covariance[j - i, first + i - low]
                variance += term if i == j else 2.0 * term
        return self.noise_sd * np.sqrt(np.maximum(variance, 0.0))

    def _covariance(self, low: int, high: int) -> FloatArray:
        """The band of the inverse of the normal equations for some coefficients: row k holds the entries k beside the diagonal.

        By the backward recursion of Takahashi, Fagan and Chin (1973), without the rest of the inverse. It starts two minutes
        behind the last one asked for, as if the log ended there, which is farther than samples act on each other. It runs on
        plain floats, which here is faster than arrays of four.
        """
        part = self.factor[:, low : high + _REACH]
        diagonal = part[0]
        d = (1.0 / diagonal**2).tolist()
        l1, l2, l3 = ((part[k] / diagonal).tolist() for k in (1, 2, 3))
        n = len(d)
        z0, z1, z2, z3 = ([0.0] * (n + 3) for _ in range(4))
        for i in range(n - 1, -1, -1):
            a, b, c = l1[i], l2[i], l3[i]
            z3[i] = -(a * z2[i + 1] + b * z1[i + 2] + c * z0[i + 3])
            z2[i] = -(a * z1[i + 1] + b * z0[i + 2] + c * z1[i + 2])
            z1[i] = -(a * z0[i + 1] + b * z1[i + 1] + c * z2[i + 1])
            z0[i] = d[i] - (a * z1[i] + b * z2[i] + c * z3[i])
        return np.array([z0[: high - low], z1[: high - low], z2[: high - low], z3[: high - low]])


@dataclass(frozen=True, eq=False)
class _NormalEquations:
    """The normal equations for what is added to a first curve, so that all sums of squares are of the size of the noise.

    `data` and `penalty` are the bands of the two shares of the matrix; `data_right` and `penalty_right` those of the right-hand
    side, `data_square` and `penalty_square` the first curve's sum of squares and penalty.
    """

    reference: FloatArray  # coefficients of the first curve
    data: FloatArray
    penalty: FloatArray
    data_right: FloatArray
    penalty_right: FloatArray
    data_square: float
    penalty_square: float
    degrees_of_freedom: int  # samples less the polynomial that no penalty sees, all components
    penalised: int

    def solve(self, ratio: float) -> tuple[FloatArray, FloatArray, float]:
        """Coefficients of the whole curve, Cholesky factor and penalised residual sum of squares for one λ."""
        right = self.data_right - ratio * self.penalty_right
        factor, added = _banded_solve(self.data + ratio * self.penalty, right)
        residual = self.data_square + ratio * self.penalty_square - float(np.sum(added * right))
        return self.reference + added, factor, max(residual, 1e-30)

    def criterion(self, log10_ratio: float) -> float:
        """Minus twice the restricted log-likelihood of λ, less a constant."""
        ratio = 10.0**log10_ratio
        _, factor, residual = self.solve(ratio)
        determinant = 2.0 * float(np.log(factor[0]).sum()) - self.penalised * math.log(ratio)
        return float(self.degrees_of_freedom * math.log(residual) + self.reference.shape[1] * determinant)


def _banded_solve(band: FloatArray, right: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Cholesky factor of a banded matrix (lower form) and the solution."""
    factor, fault = dpbtrf(band, lower=1, overwrite_ab=1)
    if fault:
        raise LogError("the samples do not determine a smooth path: their times or positions are degenerate")
    return factor, dpbtrs(factor, right, lower=1)[0]


def _assemble(knots: Knots, time_s: FloatArray, value: FloatArray) -> _NormalEquations:
    first, u = knots.locate(time_s)
    basis = _basis(u, 0)
    n, pieces = knots.coefficients, knots.first_coefficient
    data, penalty = np.zeros((4, n)), np.zeros((4, n))
    hit = np.bincount(pieces, minlength=n).astype(float)
    for i in range(4):
        for j in range(i, 4):
            data[j - i, i:] += np.bincount(first, basis[i] * basis[j], minlength=n)[: n - i]
            penalty[j - i, i:] += _JERK[i] * _JERK[j] / KNOT_STEP_S**5 * hit[: n - i]

    def gathered(where: IntArray, weights: FloatArray, series: FloatArray) -> FloatArray:
        total = np.zeros((n, value.shape[1]))
        for i in range(4):
            for component in range(value.shape[1]):
                weighted = weights[i] * series[:, component]
                total[i:, component] += np.bincount(where, weighted, minlength=n)[: n - i]
        return total

    _, reference = _banded_solve(data + penalty, gathered(first, basis, value))
    off = value - np.einsum("in,inc->nc", basis, reference[first + np.arange(4)[:, None]])
    jerk = np.einsum("i,inc->nc", _JERK, reference[pieces + np.arange(4)[:, None]]) / KNOT_STEP_S**2.5
    return _NormalEquations(
        reference=reference,
        data=data,
        penalty=penalty,
        data_right=gathered(first, basis, off),
        penalty_right=gathered(pieces, np.repeat(_JERK[:, None], len(pieces), axis=1) / KNOT_STEP_S**2.5, jerk),
        data_square=float(np.sum(off**2)),
        penalty_square=float(np.sum(jerk**2)),
        degrees_of_freedom=value.shape[1] * (len(time_s) - 3 * len(knots.intervals)),
        penalised=len(pieces),
    )


def _minimise(equations: _NormalEquations) -> float:
    """log10 of the λ of greatest restricted likelihood.

    Three points are moved downhill until the middle one is lowest; then a wide parabola, and a narrow one. The criterion has
    one valley in practice, and is near a parabola at its bottom; a tenth of a decade of λ changes the width of the smoothing by
    a twenty-fifth.
    """
    low, high = _LOG10_RATIO_RANGE
    tried: dict[float, float] = {}

    def criterion(x: float) -> float:
        if x not in tried:
            tried[x] = equations.criterion(x)
        return tried[x]

    middle, step = _LOG10_RATIO_FIRST, _LOG10_RATIO_STEP
    while criterion(middle - step) < criterion(middle) and middle - 2.0 * step >= low:
        middle -= step
    while criterion(middle + step) < criterion(middle) and middle + 2.0 * step <= high:
        middle += step
    near = min(max(_vertex(tried, middle), low), high)
    for x in (near - _LOG10_RATIO_NEAR, near, near + _LOG10_RATIO_NEAR):
        criterion(x)
    return min(max(_vertex(tried, min(tried, key=lambda x: tried[x])), low), high)


def _vertex(tried: Mapping[float, float], best: float) -> float:
    """Where the parabola through a point and its neighbours on either side is lowest; the point itself where it has but one."""
    at = sorted(tried)
    k = at.index(best)
    if k in (0, len(at) - 1):
        return best
    a, b, c = at[k - 1 : k + 2]
    rise, fall = (b - a) * (tried[b] - tried[c]), (b - c) * (tried[b] - tried[a])
    return b - 0.5 * ((b - a) * rise - (b - c) * fall) / (rise - fall) if rise < fall else b


def fit_spline(knots: Knots, time_s: FloatArray, value: FloatArray) -> SmoothingSpline:
    """The smoothing spline through samples.

    Parameters
    ----------
    knots : Knots
        Stretches that hold all samples, four samples or more in each.
    time_s : array, shape (n,)
        Rising instants. [s]
    value : array, shape (n, components)
        Finite samples; all components have the same noise. Any unit.
    """
    offset = value.mean(axis=0)  # keeps the sums of squares of a path far from its origin within double precision
    equations = _assemble(knots, time_s, value - offset)
    ratio = 10.0 ** _minimise(equations)
    coefficient, factor, residual = equations.solve(ratio)
    noise_sd = math.sqrt(residual / max(1, equations.degrees_of_freedom))
    return SmoothingSpline(knots, coefficient + offset, noise_sd, ratio, factor, len(time_s))
