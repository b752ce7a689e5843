"""Courses that a flight kept to or from a fix: where the track ran along the radial for a while."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np

from analyzer.legs.passages import find_passages
from analyzer.motion.model import States
from analyzer.physics.units import DEG, NM, BoolArray, FloatArray, wrap, wrap_positive

__all__ = ["circular_median", "inbound_courses", "radial"]

_ALONG_RAD = 10.0 * DEG  # of the radial: flown along it
_NEAREST_M, _FARTHEST_M = 0.5 * NM, 20.0 * NM
_LEAST_S = 30.0
_ALIKE_RAD = 3.0 * DEG  # courses as near as this are one
_BEYOND_M = 1.0 * NM  # of the fix, where an angle at it says something


def inbound_courses(states: States) -> tuple[float, ...]:
    """Courses that the fix was approached on, and the reciprocals of those it was left on, longest kept first. True. [rad]"""
    passed = [passage.time_s for passage in find_passages(states)]
    edges = [float(states.time_s[0]), *passed, float(states.time_s[-1])]
    inward = wrap(states.track_rad - states.bearing_rad - math.pi)
    outward = wrap(states.track_rad - states.bearing_rad)
    found: list[tuple[float, float]] = []
    for start, end in pairwise(edges):
        between = (states.time_s > start) & (states.time_s < end)
        for off in (inward, outward):
            along = between & (np.abs(off) < _ALONG_RAD) & (states.distance_m > _NEAREST_M) & (states.distance_m < _FARTHEST_M)
            for first, last in _runs(along):
                seconds = float(states.time_s[last] - states.time_s[first])
                if seconds >= _LEAST_S:
                    found.append((seconds, circular_median(states.bearing_rad[first : last + 1] + math.pi)))
    courses: list[float] = []
    for _, course in sorted(found, reverse=True):
        if all(abs(float(wrap(course - other))) > _ALIKE_RAD for other in courses):
            courses.append(course)
    return tuple(courses)


def _runs(where: BoolArray) -> list[tuple[int, int]]:
    """First and last index of each run of true."""
    edges = np.flatnonzero(np.diff(np.concatenate([[False], where, [False]]).astype(np.int8)))
    return [(int(first), int(last) - 1) for first, last in zip(edges[::2], edges[1::2], strict=True)]


def radial(states: States) -> tuple[float, int] | None:
    """The radial from the fix that a stretch was flown on, true, and for how many seconds; None where too short. [rad, s]

    Counted is what lies beyond a mile of the fix, where an angle at it says something.
    """
    far = states.distance_m > _BEYOND_M
    along = far & (np.abs(np.sin(states.track_rad - states.bearing_rad)) < math.sin(_ALONG_RAD))
    seconds = int(along.sum())
    return (circular_median(states.bearing_rad[along]), seconds) if seconds >= _LEAST_S else None


def circular_median(angle: FloatArray) -> float:
    """The median of angles about their mean direction. [rad]"""
    middle = float(np.arctan2(np.sin(angle).mean(), np.cos(angle).mean()))
    return float(wrap_positive(middle + float(np.median(wrap(angle - middle)))))
