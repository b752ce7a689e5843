"""A smoothing spline over time whose strength is chosen by the data, and which knows its own error.

Each curve is a cubic spline with knots a second apart, so that acceleration runs straight from one second to the next. The
curve minimises

    Σ (sample - curve)² + λ ∫ (jerk)² dt

which is the estimate of a body driven by white jerk and seen through white noise [1]_. λ is chosen by `likelihood`: nothing is
set by hand, and a rounded, noisy or sparse log gets the smoothing it needs; a path gets less of it in livelier minutes
(`liveliness`). Knots go by time and not by samples, so uneven steps and oversampled logs need no resampling; a stretch without
samples is bridged by the same model, and its error says so. The curve is never carried across a `Gap` of the track.

Everything is banded: time and memory grow with the length of the log.

References
----------
.. [1] G. Wahba, "Improper priors, spline smoothing and the problem of guarding against model errors in regression",
   J. R. Stat. Soc. B 40 (1978), 364-372.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import cached_property

import numpy as np

from analyzer.frozen import dataclass
from analyzer.motion.banded import near_inverse, weighted_variance
from analyzer.motion.knots import KNOT_STEP_S, Knots, basis
from analyzer.motion.likelihood import Design, NormalEquations, likeliest_ratio
from analyzer.motion.liveliness import liveliness
from analyzer.physics.units import FloatArray

__all__ = ["Knots", "SmoothingSpline", "fit_design", "fit_path"]

_MADE_M = 1e-3  # samples with less noise were made, not received, and only the rounding of a computer is left to smooth
_THROUGH_SAMPLES = 5.0 / 18.0  # ∫h² of the filter is 5/(18 β), and 1/step for all that samples a step apart can carry


@dataclass(frozen=True, eq=False)
class SmoothingSpline:
    """A fitted curve of one or more components. Made by `fit_design` or `fit_path`.

    `noise_sd` is the standard deviation of the samples about the curve, one for all components, in the unit of the samples;
    `ratio` is λ. Samples whose errors last longer than the smoothing (a satellite receiver's slow wander) are followed by the
    curve: `noise_sd` and the standard deviations do not hold them.
    """

    knots: Knots
    coefficient: FloatArray  # (components, coefficients)
    noise_sd: float
    ratio: float
    matrix: FloatArray  # of the normal equations, banded, lower form
    factor: FloatArray  # its Cholesky factor, likewise
    stiffness: FloatArray  # of each coefficient's interval, less than 1 where the flight was livelier
    samples: int

    @cached_property
    def bandwidth_s(self) -> float:
        """β of the smoothing as a filter, 1/(1 + (βω)⁶) in frequency, for samples an even step apart. [s]

        Where samples are so far apart that the curve runs through them, the β that passes what they can carry. It is that of
        all but the liveliest minutes.
        """
        return max(self._smoothing_s, _THROUGH_SAMPLES * self._step_s)

    def smoothing_s(self, time_s: FloatArray) -> FloatArray:
        """β at the instants, which is less where the flight was livelier, whatever the samples can carry. [s]"""
        here: FloatArray = self._smoothing_s * np.power(self.stiffness.take(self.knots.locate(time_s)[0]), 1.0 / 6.0)
        return here

    @property
    def runs_through_samples(self) -> bool:
        """Whether the curve takes next to nothing off the samples, which are exact or far apart."""
        return self._smoothing_s <= _THROUGH_SAMPLES * self._step_s

    @property
    def scatter_acceleration_sd(self) -> float:
        """Standard deviation of the acceleration due to the samples' scatter: as a filter, variance s² step ∫h''²."""
        return self.noise_sd * math.sqrt(self._step_s / 18.0 / self.bandwidth_s**5)

    @cached_property
    def _smoothing_s(self) -> float:
        return math.pow(self.ratio * self._step_s, 1.0 / 6.0)

    @cached_property
    def _step_s(self) -> float:
        return float(np.sum(self.knots.end_s - self.knots.start_s)) / self.samples

    def at(self, time_s: FloatArray, order: int = 0) -> FloatArray:
        """Value (order 0), rate (1) or acceleration (2) at the instants. Shape (n, components)."""
        return self._orders(time_s, (order,))[0]

    def with_derivatives(self, time_s: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
        """Value, rate and acceleration at the instants, each of shape (n, components)."""
        value, rate, acceleration = self._orders(time_s, (0, 1, 2))
        return value, rate, acceleration

    def _orders(self, time_s: FloatArray, orders: Sequence[int]) -> list[FloatArray]:
        first, u = self.knots.locate(time_s)
        near = self.coefficient.take(first + np.arange(4)[:, None], axis=1)
        return [np.sum(basis(u, order) * near, axis=1).T for order in orders]

    def on_grid(self) -> tuple[FloatArray, FloatArray, FloatArray]:
        """The same at the instants of the knots' `grid`, where three B-splines with fixed weights are all there is."""
        before, here, after = (self.knots.at_grid(self.coefficient, i) for i in range(3))
        neighbours = before + after
        value, rate = (neighbours + 4.0 * here) / 6.0, (after - before) / (2.0 * KNOT_STEP_S)
        return value.T, rate.T, ((neighbours - 2.0 * here) / KNOT_STEP_S**2).T

    def sd(self, time_s: FloatArray, order: int = 0) -> FloatArray:
        """Standard deviation of `at`, the same for each component. Shape (n,)."""
        first, u = self.knots.locate(time_s)
        return self.noise_sd * np.sqrt(np.maximum(weighted_variance(self._known_by, first, basis(u, order)), 0.0))

    @cached_property
    def _known_by(self) -> FloatArray:
        """What the four coefficients of each interval are known by."""
        return near_inverse(self.matrix, self.factor)


def fit_design(design: Design, value: FloatArray) -> SmoothingSpline:
    """The smoothing spline through samples at the instants of a design.

    The design has four samples or more in each stretch. `value` are finite samples, shape (n, components), in any unit; all
    components have the same noise.
    """
    equations, offset = _equations(design, value)
    return _curve(equations, offset, likeliest_ratio(equations))


def fit_path(design: Design, north_east_m: FloatArray, most_noise_sd: float) -> SmoothingSpline:
    """The smoothing spline through the positions of a flight, smoothed less in its livelier minutes (see `liveliness`). [m]

    `most_noise_sd` bounds what is taken for noise of the samples, where more is known of it than the samples' likelihood.
    """
    equations, offset = _equations(design, north_east_m)
    ratio = likeliest_ratio(equations, most_noise_sd)
    curve = _curve(equations, offset, ratio)
    if curve.runs_through_samples or curve.noise_sd < _MADE_M:
        return curve
    times = liveliness(equations, ratio)
    return curve if (times == 1.0).all() else _curve(*_equations(design.livelier(times), north_east_m), ratio)


def _equations(design: Design, value: FloatArray) -> tuple[NormalEquations, FloatArray]:
    """The normal equations for samples less their mean, and the mean, which keeps a path far from its origin precise."""
    rows = np.ascontiguousarray(value.T)
    offset = rows.mean(axis=1, keepdims=True)
    return NormalEquations.of(design, rows - offset), offset


def _curve(equations: NormalEquations, offset: FloatArray, ratio: float) -> SmoothingSpline:
    """The curve for one λ."""
    design = equations.design
    return SmoothingSpline(
        design.knots,
        equations.solve(ratio) + offset,
        equations.noise_sd(ratio),
        ratio,
        design.matrices.at(ratio),
        design.factor(ratio),
        design.stiffness,
        len(design.first),
    )
