"""Agreement of a recorded column with the same quantity derived from the positions: slope, offset and lag.

Values are compared where they were logged. Bank is not compared directly, since positions some seconds apart underestimate
it, but through its effect: a coordinated turn changes the heading by the integral of g tan(bank) / V, and that change is
known well between any two instants, however far apart the samples between them are.
"""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np

from analyzer.frozen import dataclass
from analyzer.motion.knots import IntArray
from analyzer.physics.quantiles import median
from analyzer.physics.units import GRAVITY, FloatArray, wrap

__all__ = ["Agreement", "Derived", "of_directions", "of_rates", "of_speeds", "summed", "turning"]

_LAGS_S = np.arange(-12.0, 13.0)
_CLEARLY = 0.5  # a lag counts where it removes this share of the squared differences, or more
_WINDOW_S, _WINDOW_STEPS = 20.0, 4.0
_TURN_WINDOW_S = 10.0  # no turn comes near to 180° in it, from which on it could be one the other way
_LAG_WINDOW_S, _LAG_WINDOW_STEPS = 6.0, 2.0
_LEAST_WINDOWS = 5
_VARIES_MPS = 1.0  # speeds that vary by less show no lag
_GAP_S = 1.5  # seconds further apart belong to two stretches


@dataclass(frozen=True, eq=False)
class Derived:
    """A quantity derived from the positions, at every second of the stretches between gaps; a direction is unwrapped."""

    time_s: FloatArray
    value: FloatArray

    def at(self, time_s: FloatArray) -> FloatArray:
        """The quantity at any instants, straight between seconds; NaN in gaps and beyond the ends."""
        after = np.clip(np.searchsorted(self.time_s, time_s), 1, len(self.time_s) - 1)
        begin, end = self.time_s[after - 1], self.time_s[after]
        in_gap = (end - begin > _GAP_S) & (time_s > begin) & (time_s < end)
        return np.where(in_gap, np.nan, np.interp(time_s, self.time_s, self.value, left=np.nan, right=np.nan))


@dataclass(frozen=True)
class Agreement:
    """How a recorded column relates to the quantity derived from the positions.

    `slope` is the ratio of the two, `slope_sd` its standard deviation; NaN where nothing can be compared, and an infinite
    error where too little changes. `offset` is the constant difference, `scatter` the median absolute difference. [SI, rad]
    `lag_s` is the delay of the column behind the positions, 0 where no lag is clear.
    """

    slope: float
    slope_sd: float
    offset: float
    scatter: float
    lag_s: float


_NOTHING = Agreement(math.nan, math.nan, math.nan, math.nan, 0.0)


def of_speeds(time_s: FloatArray, recorded: FloatArray, derived: Derived) -> Agreement:
    """Agreement of recorded speeds with those derived from the positions. [m/s]

    Speeds count from zero, so the slope is that of the line through the origin, whose error is negligible next to the others.
    """

    def squares(lag_s: float) -> float:
        x, y = _both(derived.at(time_s - lag_s), recorded)
        if not len(x):
            return math.nan
        x, y = x - x.mean(), y - y.mean()
        if min(float(x @ x), float(y @ y)) < len(x) * _VARIES_MPS**2:
            return math.nan
        return _left(x, y)

    x, y = _both(derived.at(time_s), recorded)
    if not len(x):
        return _NOTHING
    return Agreement(median(y) / max(median(x), 1.0), 0.0, median(y - x), median(np.abs(y - x)), _lag(squares))


def of_directions(time_s: FloatArray, recorded: FloatArray, derived: Derived) -> Agreement:
    """Agreement of recorded directions with derived ones, both true. [rad] The slope is that of their changes in turns."""

    def off(lag_s: float) -> FloatArray:
        error = recorded - derived.at(time_s - lag_s)
        return wrap(error[np.isfinite(error)])

    def squares(lag_s: float) -> float:
        error = off(lag_s)
        return float(np.mean(wrap(error - _mean_direction(error)) ** 2)) if len(error) else math.nan

    error = off(0.0)
    if not len(error):
        return _NOTHING
    about = _mean_direction(error)
    lag = _lag(squares)
    windows = _windows(time_s, max(_TURN_WINDOW_S, float(np.median(np.diff(time_s)))))
    value = derived.at(time_s - lag)
    seen = _change(value, windows)
    # the change is known modulo a full turn; the value nearest to the derived change is taken
    seen, recorded_change = _both(seen, seen + wrap(_change(recorded, windows) - seen))
    slope, slope_sd, _ = _line(seen, recorded_change, None)
    return Agreement(slope, slope_sd, about + median(wrap(error - about)), median(np.abs(error)), lag)


def of_rates(derived: Derived, rate_at: Callable[[FloatArray], FloatArray], interval_s: float, edge: float) -> Agreement:
    """Agreement of recorded rates with the changes of `derived`, the quantity that they are the rates of.

    `rate_at` gives the rates at any instants and `interval_s` is the step of the log. `edge` is the error of the rate in one
    step, where a change begins or ends between two samples. Offset and scatter are rates.
    """

    def changes(lag_s: float, window_s: float) -> tuple[FloatArray, FloatArray, FloatArray]:
        windows = _windows(derived.time_s, window_s)
        recorded_change = summed(derived.time_s, rate_at(derived.time_s + lag_s), windows)
        seen, lasts = _change(derived.value, windows), _change(derived.time_s, windows)
        known = np.isfinite(recorded_change) & np.isfinite(seen)
        return seen[known], recorded_change[known], lasts[known]

    def squares(lag_s: float) -> float:
        seen, recorded_change, _ = changes(lag_s, max(_LAG_WINDOW_S, _LAG_WINDOW_STEPS * interval_s))
        return _left(seen, recorded_change)

    lag = _lag(squares)
    seen, recorded_change, lasts = changes(lag, max(_WINDOW_S, _WINDOW_STEPS * interval_s))
    if not len(seen):
        return _NOTHING
    slope, slope_sd, drift = _line(seen, recorded_change, lasts)
    changed = math.sqrt(float(seen @ seen))
    slope_sd = math.hypot(slope_sd, edge * interval_s / changed) if changed else math.inf
    return Agreement(slope, slope_sd, drift, median(np.abs(recorded_change - seen) / lasts), lag)


def turning(bank_rad: FloatArray, speed_mps: FloatArray) -> FloatArray:
    """The rate at which a coordinated turn changes the heading. [rad/s]"""
    return GRAVITY * np.tan(bank_rad) / np.maximum(speed_mps, 1.0)


def summed(time_s: FloatArray, rate: FloatArray, windows: IntArray) -> FloatArray:
    """Integral of a rate over windows of the seconds, given as rows of first and last index; NaN where a window has a hole."""
    step = np.diff(time_s)
    part = np.where(step > _GAP_S, np.nan, 0.5 * (rate[1:] + rate[:-1]) * step)
    known = np.isfinite(part)
    total, holes = (np.concatenate([[0.0], np.cumsum(of)]) for of in (np.where(known, part, 0.0), ~known))
    integral: FloatArray = np.where(_change(holes, windows) > 0.0, np.nan, _change(total, windows))
    return integral


def _windows(time_s: FloatArray, length_s: float) -> IntArray:
    """First and last index of consecutive windows of about this length, shape (2, n)."""
    edges = np.searchsorted(time_s, np.arange(time_s[0], time_s[-1], length_s))
    windows = np.stack([edges[:-1], edges[1:]])
    lasts = _change(time_s, windows)
    return windows[:, (lasts > 0.5 * length_s) & (lasts < 1.5 * length_s)]


def _change(values: FloatArray, windows: IntArray) -> FloatArray:
    change: FloatArray = values[windows[1]] - values[windows[0]]
    return change


def _both(x: FloatArray, y: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Both arrays where both are known."""
    known = np.isfinite(x) & np.isfinite(y)
    return x[known], y[known]


def _mean_direction(angle_rad: FloatArray) -> float:
    return float(np.angle(np.mean(np.exp(1j * angle_rad))))


def _left(x: FloatArray, y: FloatArray) -> float:
    """Mean square of the residuals of y about the line through the origin; NaN without such a line."""
    squares = float(x @ x)
    if len(x) < _LEAST_WINDOWS or squares == 0.0:
        return math.nan
    off = y - float(x @ y) / squares * x
    return float(off @ off) / len(x)


def _lag(squares: Callable[[float], float]) -> float:
    """The lag that minimises the squared differences, 0 where none is clearly better than no lag. [s]"""
    left = np.array([squares(float(lag)) for lag in _LAGS_S])
    if not np.isfinite(left).all():
        return 0.0
    k = int(np.argmin(left))
    if left[k] > (1.0 - _CLEARLY) * left[len(_LAGS_S) // 2] or not 0 < k < len(left) - 1:
        return 0.0
    before, least, after = left[k - 1 : k + 2]
    bend = before - 2.0 * least + after
    return float(_LAGS_S[k] + (0.5 * (before - after) / bend if bend > 0.0 else 0.0))


def _line(x: FloatArray, y: FloatArray, drift: FloatArray | None) -> tuple[float, float, float]:
    """Slope of y over x, its standard deviation, and the coefficient of `drift`, by least squares.

    The error is infinite where there are too few values to estimate it.
    """
    design = x[:, None] if drift is None else np.column_stack([x, drift])
    if len(x) < _LEAST_WINDOWS:
        return math.nan, math.inf, math.nan
    normal = design.T @ design
    if np.linalg.cond(normal) > 1e12:
        return math.nan, math.inf, math.nan
    coefficients = np.linalg.solve(normal, design.T @ y)
    variance = float(np.sum((y - design @ coefficients) ** 2)) / (len(x) - design.shape[1])
    slope_sd = math.sqrt(variance * float(np.linalg.inv(normal)[0, 0]))
    return float(coefficients[0]), slope_sd, float(coefficients[1]) if drift is not None else 0.0
