"""Fixes at even intervals between which the rows of a log were filled in, by straight lines or by curves.

Between two fixes a filled-in log is a polynomial of time: of the first degree where it was filled in by straight lines, of the
third where by a spline, by Catmull-Rom's curves or by Hermite's from recorded velocities. So the second or the fourth
differences of its positions are zero but for rounding, except where they reach across a fix, and that is at one phase of an
interval, however irregular the flight. What was flown and received has no such phase: a manoeuvre, or noise, is as likely in
one row as in the next.

A difference counts as loud where it is beyond rounding. With a lag of m rows a fourth difference shows a change of the third
derivative m³ times as large, but 4 m - 1 rows reach across each fix. The fixes are believed where the loud rows keep to those
places in so many intervals that by chance they would hardly do so, and in several intervals one after the other: single
manoeuvres at regular times are no fixes. Where a log has a hole in every interval, only rows far enough from it have
differences at all. Chance is therefore reckoned from the rows that have one, and curves that no difference shows are not
believed.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from functools import cached_property

import numpy as np
import numpy.typing as npt

from analyzer.frozen import dataclass
from analyzer.physics.units import BoolArray, FloatArray, wrap
from analyzer.track.samples import Samples

__all__ = ["EvenFixes", "find_even_fixes"]

_Places = npt.NDArray[np.int64]

_LAGS = {2: (1, 2), 4: (1, 2, 3, 4, 6, 8, 12)}  # lags in rows, by the order of the difference
_ROUNDING = {2: 6.0 / 12.0, 4: 70.0 / 12.0}  # variance of a difference of rounded numbers, in squares of their last digit
_LOUD = 6.5  # times the mean square of rounding: one in 700 by rounding alone
_LOUD_FLOOR = 64.0  # times the square that a tenth of the rows stay below: of white noise, one row in 800 is beyond
_LONGEST = 64  # rows from one fix to the next
_SILENT_SHARE = 0.2  # of an interval, where the lag is more than one row
_KEEP_TO = 0.95  # of the loud rows, those at the places of the fixes
_RUNS = 0.9  # of the loud rows, those in runs no longer than a fix makes
_CHAIN, _IN_CHAINS = 3, 0.5  # intervals one after the other; and the share of the loud intervals that are in such chains
_CERTAIN = 5.0  # natural logarithm of the odds; among 3,000 logs as flown none came to half as much
_BENT_SHARE = 0.01  # of the mean square across fixes, beyond which a difference between them is not zero
_LEAST_ROWS, _LEAST_LOUD = 20, 6
_EVEN = 0.02  # of a step
_BLOCKS, _BLOCK = 8, 64  # of rows, where there are more
_AT_ONCE = 4096  # loud rows that are laid out by every interval at a time


@dataclass(frozen=True)
class EvenFixes:
    """The fixes of a filled-in log: every `rows`-th row is one, `interval_s` apart; `straight` between them, or a curve."""

    straight: bool
    rows: int
    interval_s: float
    is_fix: BoolArray


def find_even_fixes(samples: Samples) -> EvenFixes | None:
    """The fixes at even intervals between which the rows were filled in; None where there are none, or they do not show."""
    time_s, latitude_rad, longitude_rad = samples.time_s, samples.latitude_rad, samples.longitude_rad
    if len(time_s) < _LEAST_ROWS:
        return None
    between = np.diff(time_s)
    # an interval of the log: the median of 2 and 3 s in like numbers would be near none of them
    usual_s = float(np.quantile(between, 0.5, method="lower"))
    # the mean, because the steps of times since 1970 are rounded to a quarter of a microsecond
    step_s = float(between[np.abs(between - usual_s) <= _EVEN * usual_s].mean())
    steps = (time_s - time_s[0]) / step_s
    row = np.rint(steps).astype(np.int64)
    east = longitude_rad - longitude_rad[0]
    if np.ptp(east) > math.pi:
        east = wrap(east)
    scale = math.cos(float(latitude_rad[0]))
    digits = samples.digits_rad
    rounding = digits[0] ** 2 + (scale * digits[1]) ** 2
    place = latitude_rad + 1j * scale * east
    rows = _Rows(steps, row, place, rounding)
    for order, lags in _LAGS.items():
        found = [phase for lag in lags for phase in _phases(rows, order, lag)]
        if found:
            best = max(found, key=lambda phase: phase.certainty)
            if _polynomial_between(rows, order, best):
                return EvenFixes(order == 2, best.rows, best.rows * step_s, (row - best.first) % best.rows == 0)
    return None


@dataclass(frozen=True)
class _Phase:
    """An interval in rows and the first row with a fix, and how certain they are: the logarithm of the odds."""

    rows: int
    first: int
    certainty: float


@dataclass(frozen=True, eq=False)
class _Rows:
    """The rows of a log: their times in steps of the log, the same rounded, and their places.

    `place` is in radians of a great circle, north in the real part and east in the imaginary; `rounding` is the sum of the
    squares of the last digits of both.
    """

    steps: FloatArray
    number: _Places
    place: npt.NDArray[np.complex128]
    rounding: float

    def differences(self, order: int, lag: int) -> tuple[_Places, FloatArray]:
        """The rows in the middle of differences of an order and a lag over even steps, and the squares of those differences."""
        span = order * lag
        if span >= len(self.place):
            return self.number[:0], np.zeros(0)
        difference = self.place
        for _ in range(order):
            difference = difference[lag:] - difference[:-lag]
        square = difference.real**2 + difference.imag**2
        middle = self.number[span // 2 : len(self.number) - (span - span // 2)]
        if self._even:
            return middle, square
        even = np.abs(self.steps[span:] - self.steps[:-span] - span) < _EVEN
        return (middle, square) if even.all() else (middle[even], square[even])

    @cached_property
    def _even(self) -> bool:
        """Whether all rows come at even steps, so that all differences do."""
        return bool(np.abs(self.steps - np.arange(len(self.steps))).max() < 0.5 * _EVEN)

    def rounded(self, order: int) -> float:
        """The square of a difference of an order beyond which it is loud by more than rounding."""
        return _LOUD * _ROUNDING[order] * self.rounding


def _polynomial_between(rows: _Rows, order: int, phase: _Phase) -> bool:
    """Whether differences that reach from fix to fix, but not beyond, are zero too: regular manoeuvres leave curves between.

    Where holes leave no such difference, nothing shows it.
    """
    lag = phase.rows // order
    middle, square = rows.differences(order, lag)
    off = (middle - phase.first + phase.rows // 2) % phase.rows - phase.rows // 2
    across = np.abs(off) <= (order * lag - 1) // 2
    if across.all():
        return False
    if not across.any():
        return True
    bent = square[~across] > max(rows.rounded(order), _BENT_SHARE * float(square[across].mean()))
    return bool(bent.mean() <= 1.0 - _KEEP_TO)


def _phases(rows: _Rows, order: int, lag: int) -> Iterator[_Phase]:
    """The phases at which differences of an order and a lag are loud, one for each interval that is certain enough."""
    span = order * lag
    middle, square = rows.differences(order, lag)
    if len(square) < _LEAST_ROWS:
        return
    loud = square > max(rows.rounded(order), _LOUD_FLOOR * _tenth(square))
    at, size = middle[loud], np.sqrt(square[loud])
    reach = (span - 1) // 2
    if len(at) < _LEAST_LOUD or _in_long_runs(at, 2 * reach + 1) > 1.0 - _RUNS:
        return
    shortest = span if lag == 1 else math.ceil((2 * reach + 1) / (1.0 - _SILENT_SHARE))
    for interval, first in _kept_to(at, size, shortest, reach):
        phase = _phase(middle, at, size, interval, first, reach)
        if phase is not None:
            yield phase


def _kept_to(at: _Places, size: FloatArray, shortest: int, reach: int) -> Iterator[tuple[int, int]]:
    """The intervals in rows, from the shortest to the longest, at whose places the loud rows are, each with the first place.

    That is where their sizes turn about: the direction of the sum of their turns round the interval.
    """
    interval = np.arange(shortest, _LONGEST + 1, dtype=np.int32)
    if not len(interval):
        return
    counts = _by_place(at, interval, None)
    # the fullest places, wherever they are, hold at least what those next to each other do
    interval = interval[np.sort(counts, axis=1)[:, -2 * reach - 1 :].sum(axis=1) >= _KEEP_TO * len(at)]
    if not len(interval):
        return
    counts, sizes = _by_place(at, interval, None), _by_place(at, interval, size)
    turns = np.exp(2j * math.pi * np.arange(_LONGEST + 1) / interval[:, None])
    turned = np.angle((sizes * turns).sum(axis=1))
    first = np.rint(turned / math.tau * interval).astype(np.int64) % interval
    near = (first[:, None] + np.arange(-reach, reach + 1)) % interval[:, None]
    kept = np.take_along_axis(counts, near, axis=1).sum(axis=1) >= _KEEP_TO * len(at)
    yield from zip(interval[kept].tolist(), first[kept].tolist(), strict=True)


def _by_place(at: _Places, interval: npt.NDArray[np.int32], size: FloatArray | None) -> FloatArray:
    """How many rows are at each place of each interval, or the sum of their sizes: a row an interval, a column a place."""
    begins = (_LONGEST + 1) * np.arange(len(interval), dtype=np.int32)
    total = np.zeros(len(interval) * (_LONGEST + 1))
    for block in range(0, len(at), _AT_ONCE):
        place = (at[block : block + _AT_ONCE, None].astype(np.int32) % interval + begins).ravel()
        weights = None if size is None else np.repeat(size[block : block + _AT_ONCE], len(interval))
        total += np.bincount(place, weights, minlength=len(total))
    return total.reshape(len(interval), -1)


def _tenth(square: FloatArray) -> float:
    """What a tenth of the squares are below, from blocks of rows all along the log, which hold every phase alike."""
    part = square
    if len(square) > _BLOCKS * _BLOCK:
        part = square[: len(square) // _BLOCKS * _BLOCKS].reshape(_BLOCKS, -1)[:, :_BLOCK].ravel()
    tenth = len(part) // 10
    return float(np.partition(part, tenth)[tenth])


def _in_long_runs(at: _Places, longest: int) -> float:
    """The share of the rows that stand in unbroken runs longer than that."""
    edges = np.concatenate(([0], np.flatnonzero(at[1:] - at[:-1] > 1) + 1, [len(at)]))
    runs = edges[1:] - edges[:-1]
    return float(runs[runs > longest].sum()) / len(at)


def _phase(middle: _Places, at: _Places, size: FloatArray, rows: int, first: int, reach: int) -> _Phase | None:
    """The phase of loud rows at an interval and a first place that they keep to; None where it is not certain enough.

    `middle` are all rows that have a difference.
    """
    interval, off = np.divmod(at - first + rows // 2, rows)
    off -= rows // 2
    near = np.abs(off) <= reach
    loud = np.unique(interval[near])
    chains = np.diff(np.concatenate([[0], np.flatnonzero(np.diff(loud) > 1) + 1, [len(loud)]]))
    if chains[chains >= _CHAIN].sum() < _IN_CHAINS * len(loud):
        return None
    # by chance a loud row would be near a fix as often as any row that has a difference
    by_chance = float(np.mean((middle - first + reach) % rows <= 2 * reach))
    if -len(loud) * math.log(by_chance) < _CERTAIN:
        return None
    # of intervals that pass, the one to which the loud rows keep closest: the width of an even spread of the same variance
    width = 1.0 + math.sqrt(12.0 * float(np.average(off.astype(float) ** 2, weights=size)))
    return _Phase(rows, first, len(loud) * math.log(rows / min(width, rows)))
