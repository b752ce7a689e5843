"""How strongly to smooth: the normal equations of a smoothing spline for any strength, and the strength that the data choose.

λ, the ratio of the noise variance to the spectral density of the jerk, maximises the restricted likelihood [1]_. What
depends on the sample times alone, the matrix and its factors, is kept apart from the values, so that curves through samples at
the same instants share it.

References
----------
.. [1] G. Wahba, "A comparison of GCV and GML for choosing the smoothing parameter in the generalized spline smoothing problem",
   Ann. Stat. 13 (1985), 1378-1402.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import field
from functools import cached_property

import numpy as np

from analyzer.errors import LogError
from analyzer.frozen import dataclass
from analyzer.motion.banded import Pencil
from analyzer.motion.knots import KNOT_STEP_S, IntArray, Knots, basis
from analyzer.motion.lapack import dpbtrs, dtbtrs
from analyzer.physics.units import FloatArray

__all__ = ["Design", "NormalEquations", "likeliest_ratio"]

# λ [s⁵]: from noise of a millimetre on an aerobatic flight to 100 m on a straight one
_LOG10_RATIO_RANGE = (-6.0, 9.0)
_LOG10_RATIO_FIRST, _LOG10_RATIO_STEP = 1.5, 1.5  # of a log a second apart with a receiver's noise, and to either side
_LOG10_RATIO_NEAR = 0.5  # to either side, for the last parabola
_LOG10_RATIO_CLOSE = 0.05  # where the noise is bounded
_REFERENCE_RATIO = 1.0  # of the first curve, about which the sums of squares are taken; one that the search tries anyway
_PAIRS = [(i, j) for i in range(4) for j in range(i, 4)]  # of the four coefficients of an interval
_JERK = np.array([-1.0, 3.0, -3.0, 1.0])  # third difference: the third derivative of a cubic piece, times the step cubed


@dataclass(frozen=True, eq=False)
class Design:
    """What knots and sample times decide. Made by `Design.of`.

    `first` and `basis` are the four coefficients that each sample depends on, and their weights; `products` are the sums of
    b bᵀ over the samples of the interval that begins with each coefficient, one of `_PAIRS` a row; `stiffness` is what the
    squared jerk of that interval weighs in the penalty, 1 as a rule; `matrices` are those of the normal equations for any λ:
    Σ b bᵀ, and λ times that of the penalty.
    """

    knots: Knots
    first: IntArray
    basis: FloatArray
    products: FloatArray
    stiffness: FloatArray
    matrices: Pencil
    _factors: dict[float, FloatArray] = field(default_factory=dict)

    @classmethod
    def of(cls, knots: Knots, time_s: FloatArray) -> Design:
        """The design for samples at some rising instants, four or more in each stretch. [s]"""
        first, u = knots.locate(time_s)
        weights, n = basis(u, 0), knots.coefficients
        stiffness = knots.begins_interval.astype(np.float64)
        products = np.array([np.bincount(first, weights[i] * weights[j], minlength=n) for i, j in _PAIRS])
        data = np.zeros((4, n))
        for (i, j), product in zip(_PAIRS, products, strict=True):
            data[j - i, i:] += product[: n - i]
        return cls(knots, first, weights, products, stiffness, Pencil.of(data, _penalty(stiffness)))

    def livelier(self, times: FloatArray) -> Design:
        """The design for a flight whose jerk has so many times the density in some intervals (see `liveliness`)."""
        stiffness = self.knots.begins_interval / times
        matrices = Pencil.of(self.matrices.a, _penalty(stiffness))
        return Design(self.knots, self.first, self.basis, self.products, stiffness, matrices)

    def factor(self, ratio: float) -> FloatArray:
        """Cholesky factor of the matrix for one λ, banded, lower form."""
        if ratio not in self._factors:
            factor = self.matrices.factor(ratio)
            if factor is None:
                raise LogError("the samples do not determine a smooth path: their times or positions are degenerate")
            self._factors[ratio] = factor
        return self._factors[ratio]

    def seen(self, coefficient: FloatArray) -> FloatArray:
        """The curve at the samples: rows of coefficients to rows of values, one a component."""
        seen: FloatArray = np.sum(self.basis * coefficient.take(self.first + np.arange(4)[:, None], axis=1), axis=1)
        return seen

    def by_interval(self, value: FloatArray) -> FloatArray:
        """Rows of samples times each of their four weights, summed in each interval. Shape (rows, 4, coefficients)."""
        n = self.knots.coefficients
        return np.array([[np.bincount(self.first, weight * row, minlength=n) for weight in self.basis] for row in value])


@dataclass(frozen=True, eq=False)
class NormalEquations:
    """The normal equations for the correction to a first curve, so that all sums of squares are of the order of the noise.

    Components are rows. `data_right` and `penalty_right` are the two shares of the right-hand side, `data_square` and
    `penalty_square` the first curve's sum of squares and penalty; `off` is what the samples are off it, `off_by_interval` that
    times their weights, summed in each interval.
    """

    design: Design
    reference: FloatArray  # coefficients of the first curve
    data_right: FloatArray
    penalty_right: FloatArray
    data_square: float
    penalty_square: float
    off: FloatArray
    off_by_interval: FloatArray

    @classmethod
    def of(cls, design: Design, value: FloatArray) -> NormalEquations:
        """The equations for samples, one row a component, at the instants of a design."""
        reference = _solved(design.factor(_REFERENCE_RATIO), _at_coefficients(design.by_interval(value)))
        off = value - design.seen(reference)
        off_by_interval = design.by_interval(off)
        n = design.knots.coefficients - 3
        weight = np.sqrt(design.stiffness[:-3]) / KNOT_STEP_S**2.5
        jerk = np.diff(reference, 3) * weight
        penalty_right = np.zeros_like(reference)
        for i in range(4):
            penalty_right[:, i : i + n] += _JERK[i] * weight * jerk
        squares = float(np.sum(off**2)), float(np.sum(jerk**2))
        return cls(design, reference, _at_coefficients(off_by_interval), penalty_right, *squares, off, off_by_interval)

    @property
    def degrees_of_freedom(self) -> int:
        """Samples less the polynomial that no penalty sees, all components."""
        return len(self.reference) * (len(self.design.first) - 3 * len(self.design.knots.intervals))

    def solve(self, ratio: float) -> FloatArray:
        """Coefficients of the whole curve for one λ."""
        return self.reference + _solved(self.design.factor(ratio), self._right(ratio))

    def residual(self, ratio: float) -> float:
        """Penalised residual sum of squares for one λ."""
        # the square of L⁻¹r is r A⁻¹ r at half the work
        forward, _ = dtbtrs(self.design.factor(ratio), self._right(ratio).T, uplo="L", overwrite_b=1)
        explained = forward.T.ravel()
        return max(self.data_square + ratio * self.penalty_square - float(explained @ explained), 1e-30)

    def noise_sd(self, ratio: float) -> float:
        """Standard deviation of the samples about the curve for one λ, one for all components."""
        return math.sqrt(self.residual(ratio) / max(1, self.degrees_of_freedom))

    def criterion(self, log10_ratio: float) -> float:
        """Minus twice the restricted log-likelihood of λ, less a constant."""
        ratio = 10.0**log10_ratio
        penalised = int(self.design.knots.intervals.sum())
        determinant = 2.0 * float(np.log(self.design.factor(ratio)[0]).sum()) - penalised * math.log(ratio)
        return float(self.degrees_of_freedom * math.log(self.residual(ratio)) + len(self.reference) * determinant)

    def unlikeliness(self, ratio: float, noise_sd: float) -> FloatArray:
        """Minus twice the logarithm of the likelihood of λ for a known noise, less a constant, as each coefficient adds to it.

        A coefficient that is the first of an interval adds what the samples in it are off the curve, the jerk there, and its
        share of the determinant, in which the coefficients are eliminated in the order of time.
        """
        design = self.design
        correction = _solved(design.factor(ratio), self._right(ratio))
        squares = self._squares_by_interval(correction)
        jerk = np.sum(np.diff(self.reference + correction, 3) ** 2, axis=0)
        squares[:-3] += ratio * design.stiffness[:-3] / KNOT_STEP_S**5 * jerk
        determinant = 2.0 * np.log(design.factor(ratio)[0]) - design.knots.begins_interval * math.log(ratio)
        added: FloatArray = squares / noise_sd**2 + len(self.reference) * determinant
        return added

    @cached_property
    def _off_squares(self) -> FloatArray:
        """The first curve's sum of squares in each interval."""
        squares = np.bincount(self.design.first, np.sum(self.off**2, axis=0), self.design.knots.coefficients)
        return squares.astype(np.float64, copy=False)

    def _squares_by_interval(self, correction: FloatArray) -> FloatArray:
        """The sum of squares of the corrected curve in each interval, whatever the number of samples in it."""
        n = correction.shape[1] - 3
        near = [correction[:, i : i + n] for i in range(4)]
        slope = -2.0 * self.off_by_interval[:, :, :n]
        for (i, j), product in zip(_PAIRS, self.design.products, strict=True):
            slope[:, i] += (product[:n] if i == j else 2.0 * product[:n]) * near[j]
        squares = self._off_squares.copy()
        for row in range(len(correction)):
            for i in range(4):
                squares[:n] += slope[row, i] * near[i][row]
        return squares

    def _right(self, ratio: float) -> FloatArray:
        return self.data_right - ratio * self.penalty_right


def _penalty(stiffness: FloatArray) -> FloatArray:
    """The matrix of the penalty Σ stiffness ∫ (jerk)² dt, banded, lower form."""
    n = len(stiffness)
    penalty, by_interval = np.zeros((4, n)), stiffness / KNOT_STEP_S**5
    for i in range(4):
        for j in range(i, 4):
            penalty[j - i, i:] += _JERK[i] * _JERK[j] * by_interval[: n - i]
    return penalty


def _at_coefficients(by_interval: FloatArray) -> FloatArray:
    """What intervals have for each of their four coefficients, summed for each coefficient: the transpose of `Design.seen`."""
    total = by_interval[:, 0].copy()
    for i in range(1, 4):
        total[:, i:] += by_interval[:, i, :-i]
    return total


def _solved(factor: FloatArray, right: FloatArray) -> FloatArray:
    """The solution for right-hand sides in rows, from the Cholesky factor."""
    solution: FloatArray = dpbtrs(factor, right.T, lower=1)[0].T
    return solution


def likeliest_ratio(equations: NormalEquations, most_noise_sd: float = math.inf) -> float:
    """The λ of greatest restricted likelihood, or the greatest that leaves the samples no more noise than a most."""
    log10_ratio = _likeliest(equations)
    if math.isfinite(most_noise_sd) and equations.noise_sd(10.0**log10_ratio) > most_noise_sd:
        # the noise grows with λ
        low, high = _LOG10_RATIO_RANGE[0], log10_ratio
        while high - low > _LOG10_RATIO_CLOSE:
            middle = 0.5 * (low + high)
            low, high = (low, middle) if equations.noise_sd(10.0**middle) > most_noise_sd else (middle, high)
        log10_ratio = low
    return float(10.0**log10_ratio)


def _likeliest(equations: NormalEquations) -> float:
    """The decadic logarithm of the λ of greatest restricted likelihood.

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
