"""Where the pieces of a spline lie in time, and its basis: cubic, knots a second apart, in stretches without a gap."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cached_property

import numpy as np
import numpy.typing as npt

from analyzer.frozen import dataclass
from analyzer.physics.units import BoolArray, FloatArray

__all__ = ["KNOT_STEP_S", "LONG_HOLE_S", "IntArray", "Knots", "basis", "holes"]

IntArray = npt.NDArray[np.int64]

KNOT_STEP_S = 1.0
LONG_HOLE_S = 35.0  # in a longer hole a turn may begin or end, and no curve shows which
_BRIDGED_S, _BRIDGED_STEPS = 10.0, 3.0  # between samples; a dip of some hundred feet, or most of a turn, fits into more


def basis(u: FloatArray, order: int) -> FloatArray:
    """The four B-splines that live on one interval, or their derivatives in time, at u in [0, 1]. Shape (4, n)."""
    v = 1.0 - u
    square = u * u
    weights = np.empty((4, len(u)))
    if order == 0:
        cube = square * u
        weights[0] = v * v * v
        weights[1] = 3.0 * cube - 6.0 * square + 4.0
        weights[2] = 3.0 * (square + u - cube) + 1.0
        weights[3] = cube
        weights /= 6.0
    elif order == 1:
        weights[0] = -v * v
        weights[1] = 3.0 * square - 4.0 * u
        weights[2] = -3.0 * square + 2.0 * u + 1.0
        weights[3] = square
        weights /= 2.0 * KNOT_STEP_S
    else:
        weights[0], weights[1], weights[2], weights[3] = v, 3.0 * u - 2.0, 1.0 - 3.0 * u, u
        weights /= KNOT_STEP_S**2
    return weights


def holes(time_s: FloatArray, interval_s: float) -> tuple[tuple[float, float], ...]:
    """Holes between samples, as (start, end), too long for a curve to bridge reliably, gaps included. [s]

    `interval_s` is the step of the log.
    """
    begins, ends = time_s[:-1], time_s[1:]
    hole = ends - begins > max(_BRIDGED_S, _BRIDGED_STEPS * interval_s)
    return tuple(zip(begins[hole].tolist(), ends[hole].tolist(), strict=True))


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

    @property
    def coefficients(self) -> int:
        """How many coefficients the spline has: three more than intervals in each stretch."""
        return int(self.intervals.sum()) + 3 * len(self.intervals)

    @cached_property
    def first_coefficient(self) -> IntArray:
        """Number of the first coefficient of each stretch."""
        return np.concatenate([[0], np.cumsum(self.intervals[:-1] + 3)])

    @cached_property
    def begins_interval(self) -> BoolArray:
        """Whether each coefficient is the first of the four of an interval: all but the last three of each stretch."""
        begins = np.ones(self.coefficients, dtype=bool)
        for last in self.first_coefficient + self.intervals:
            begins[last : last + 3] = False
        return begins

    def _stretch(self, time_s: FloatArray) -> IntArray:
        """Number of the last stretch that begins by each instant, or the first; one for all where there is but one."""
        if len(self.start_s) == 1:
            return np.zeros(1, dtype=np.int64)
        return np.searchsorted(self.start_s[1:], time_s, side="right")

    def locate(self, time_s: FloatArray) -> tuple[IntArray, FloatArray]:
        """First coefficient of the interval of each instant, and where in it, 0 to 1. Instants in a gap go to its edge."""
        stretch = self._stretch(time_s)
        start = self.start_s.take(stretch)
        x = (np.minimum(np.maximum(time_s, start), self.end_s.take(stretch)) - start) / KNOT_STEP_S
        interval = np.minimum(x.astype(np.int64), self.intervals.take(stretch) - 1)
        return self.first_coefficient.take(stretch) + interval, x - interval

    def cover(self, time_s: FloatArray) -> BoolArray:
        """Whether each instant lies within a stretch."""
        stretch = self._stretch(time_s + 1e-6)
        inside: BoolArray = (time_s >= self.start_s.take(stretch) - 1e-6) & (time_s <= self.end_s.take(stretch) + 1e-6)
        return inside

    @cached_property
    def _knots_within(self) -> IntArray:
        """How many knots of each stretch lie within its samples."""
        return np.floor((self.end_s - self.start_s) / KNOT_STEP_S + 1e-9).astype(np.int64) + 1

    def grid(self) -> FloatArray:
        """The instants of the knots that lie within the samples, all stretches one behind the other. [s]"""
        return np.concatenate(
            [start + KNOT_STEP_S * np.arange(n) for start, n in zip(self.start_s, self._knots_within, strict=True)]
        )

    def at_grid(self, coefficient: FloatArray, number: int) -> FloatArray:
        """One of the four coefficients, by number, of the interval that begins at each instant of `grid`. In rows."""
        begins = self.first_coefficient + number
        return np.concatenate([coefficient[:, k : k + n] for k, n in zip(begins, self._knots_within, strict=True)], axis=1)
