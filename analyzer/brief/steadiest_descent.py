"""The steadiest descent within altitude bounds: a string pulled taut from start to end that never rises.

The abscissa is time, so slopes are rates of descent; none exceeds the normal rate.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from analyzer.frozen import dataclass
from analyzer.physics.units import FPM

__all__ = ["NORMAL_MPS", "Bound", "Steep", "Taut", "taut"]

NORMAL_MPS = 1000.0 * FPM  # FAA-H-8083-16B ch. 4, of the last thousand feet; used for all legs here
_NOW_S = 1e-6
_SAME_MPS = 1e-9
_STEEPER = 1.001  # a rate up to this times the normal one counts as normal


@dataclass(frozen=True)
class Bound:
    """The least and greatest altitude at an instant."""

    time_s: float
    least_m: float = -math.inf
    most_m: float = math.inf


@dataclass(frozen=True)
class Steep:
    """A descent that needs more than the normal rate: start, end, and the rate needed."""

    start_s: float
    end_s: float
    needed_mps: float


@dataclass(frozen=True)
class Taut:
    """Times and altitudes at which the rate changes, with start and end, and descents that need more than the normal rate."""

    points: tuple[tuple[float, float], ...]
    steeps: tuple[Steep, ...] = ()

    @property
    def end_m(self) -> float:
        """The altitude at the end."""
        return self.points[-1][1]


def taut(start_s: float, start_m: float, bounds: Sequence[Bound], end: Bound) -> Taut:
    """The steadiest descent within bounds, in order of time, to the greatest altitude of the end.

    Where a bound needs more than the normal rate, the descent keeps to the normal rate and ends above the bound.
    """
    now, height = start_s, start_m
    points, steeps = [(now, height)], []
    while now < end.time_s - _NOW_S:
        ahead = [bound for bound in bounds if now + _NOW_S < bound.time_s < end.time_s - _NOW_S]
        until, needed = _next(now, height, [*ahead, Bound(end.time_s, end.most_m, end.most_m)])
        if needed > NORMAL_MPS * _STEEPER:
            steeps.append(Steep(now, until, needed))
        height -= min(needed, NORMAL_MPS) * (until - now)
        now = until
        points.append((now, height))
    return Taut(tuple(points), tuple(steeps))


def _next(now: float, height: float, ahead: Sequence[Bound]) -> tuple[float, float]:
    """The time up to which one rate keeps all bounds, and that rate. [s, m/s]"""
    slow, fast = 0.0, math.inf  # between these rates all bounds so far are kept
    slow_at = fast_at = ahead[-1].time_s
    for bound in ahead:
        seconds = bound.time_s - now
        least_rate = max(0.0, (height - bound.most_m) / seconds)
        most_rate = max(0.0, (height - bound.least_m) / seconds)
        if most_rate < slow - _SAME_MPS and slow > 0.0:
            return slow_at, slow
        if least_rate > fast + _SAME_MPS:
            return fast_at, fast
        if least_rate >= slow and least_rate > 0.0:
            slow, slow_at = least_rate, bound.time_s
        if most_rate <= fast:
            fast, fast_at = most_rate, bound.time_s
    return ahead[-1].time_s, min(slow, fast)
