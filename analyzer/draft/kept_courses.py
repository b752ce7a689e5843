"""Courses kept to or from a fix: stretches on which the track ran along the radial."""

from __future__ import annotations

import math
from collections.abc import Iterable

import numpy as np

from analyzer.frozen import dataclass
from analyzer.motion.states import States
from analyzer.physics.runs import true_runs
from analyzer.physics.units import DEG, NM, FloatArray, circular_mean, wrap, wrap_positive

__all__ = ["Kept", "Radial", "circular_median", "kept_courses", "radial", "unlike"]

_ALONG_RAD, _ON_RAD = 10.0 * DEG, 4.0 * DEG  # from the radial: flown along it, and on it
_STEADY_RAD = 1.0 * DEG
_NEAREST_M, _FARTHEST_M = 0.5 * NM, 20.0 * NM
_LEAST_S = 30.0
_ALIKE_RAD = 3.0 * DEG  # courses closer than this are one
_BEYOND_M = 1.0 * NM  # from the fix; nearer, an angle at the fix means little


@dataclass(frozen=True)
class Kept:
    """A course kept for a while, towards the fix or away from it; `inbound_rad` is the true course to the fix on that line."""

    start_s: float
    end_s: float
    inbound_rad: float
    outward: bool

    @property
    def seconds(self) -> float:
        """Duration. [s]"""
        return self.end_s - self.start_s


def kept_courses(states: States) -> tuple[Kept, ...]:
    """The courses kept towards the fix and away from it, longest first."""
    courses: list[Kept] = []
    for outward in (False, True):
        off = wrap(states.track_rad - states.bearing_rad - (0.0 if outward else math.pi))
        along = (np.abs(off) < _ALONG_RAD) & (states.distance_m > _NEAREST_M) & (states.distance_m < _FARTHEST_M)
        for first, end in true_runs(along):
            start_s, end_s = float(states.time_s[first]), float(states.time_s[end - 1])
            if end_s - start_s >= _LEAST_S:
                courses.append(Kept(start_s, end_s, circular_median(states.bearing_rad[first:end] + math.pi), outward))
    return tuple(sorted(courses, key=lambda kept: -kept.seconds))


def unlike(courses: Iterable[float]) -> tuple[float, ...]:
    """Courses without those that are within 3° of an earlier one."""
    kept: list[float] = []
    for course in courses:
        if all(abs(float(wrap(course - other))) > _ALIKE_RAD for other in kept):
            kept.append(course)
    return tuple(kept)


@dataclass(frozen=True)
class Radial:
    """A radial that was flown on, true; for how long, and the spread of the middle three fifths. [rad, s]"""

    bearing_rad: float
    seconds: int
    spread_rad: float

    @property
    def steady(self) -> bool:
        """Whether it was flown on one radial, and not across several."""
        return self.spread_rad <= _STEADY_RAD


def radial(states: States, outward: bool) -> Radial | None:
    """The radial that a stretch was flown on, away from the fix or towards it; None if for less than half a minute.

    Only states beyond a mile of the fix, where an angle at it is meaningful, and along the radial count: within 4°, which
    excludes closing with a course, or within 10° where that leaves too little.
    """
    off = np.abs(wrap(states.track_rad - states.bearing_rad - (0.0 if outward else math.pi)))
    for within in (_ON_RAD, _ALONG_RAD):
        along = (states.distance_m > _BEYOND_M) & (off < within)
        seconds = int(along.sum())
        if seconds >= _LEAST_S:
            bearing = circular_median(states.bearing_rad[along])
            low, high = np.quantile(wrap(states.bearing_rad[along] - bearing), (0.2, 0.8))
            return Radial(bearing, seconds, float(high - low))
    return None


def circular_median(angle: FloatArray) -> float:
    """The median of angles about their mean direction. [rad]"""
    middle = circular_mean(angle)
    return float(wrap_positive(middle + float(np.median(wrap(angle - middle)))))
