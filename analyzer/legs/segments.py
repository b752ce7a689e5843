"""The straight segments of a flight, as lines seen from the fix: their direction, and how far the fix lies off them."""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import pairwise

import numpy as np

from analyzer.frozen import dataclass
from analyzer.motion.motion import Motion, States
from analyzer.physics.runs import true_runs
from analyzer.physics.units import DEG, NM, FloatArray, wrap

__all__ = ["Segment", "straight_segments"]

_TURNING_RAD_S = 1.2 * DEG
_LEAST_M, _LEAST_S = 1.0 * NM, 30.0
_FARTHEST_M = 16.0 * NM
_WAVERS_RAD = 9.0 * DEG  # of the track about its middle: beyond it no straight line was flown


@dataclass(frozen=True)
class Segment:
    """A straight line that was flown.

    `course_rad` is its direction (true), `off_m` how far the fix lies off it, positive where the line passes right of the fix
    as it is flown; `along_m` is the middle of the segment along its own direction, negative before the fix.
    """

    start_s: float
    end_s: float
    course_rad: float
    off_m: float
    along_m: float
    begins_m: float
    ends_m: float


def straight_segments(motion: Motion) -> tuple[Segment, ...]:
    """Every straight segment of a mile or more within sixteen miles of the fix, in order."""
    return tuple(_segments(motion.states))


def _segments(states: States) -> Iterator[Segment]:
    rate = np.abs(_smooth(states.turn_rate_rad_s))
    whole = np.concatenate(([False], np.diff(states.time_s) > 1.5))
    bounds = np.flatnonzero((rate > _TURNING_RAD_S) | whole)
    for first, end in pairwise([-1, *bounds.tolist(), len(states)]):
        segment = _segment(states, *_steady(states.track_rad, first + 1, end))
        if segment is not None:
            yield segment


def _steady(track_rad: FloatArray, first: int, end: int) -> tuple[int, int]:
    """The longest stretch of some states whose track stays near their middle one: without what is left of a turn."""
    if end - first < 2:
        return first, first
    track = track_rad[first:end]
    middle = track[np.argsort(wrap(track - track[0]))[len(track) // 2]]
    begin, stop = max(true_runs(np.abs(wrap(track - middle)) < _WAVERS_RAD), key=lambda run: run[1] - run[0])
    return first + begin, first + stop


def _segment(states: States, first: int, end: int) -> Segment | None:
    """The line through some states; None where it is too short or too far from the fix."""
    part = slice(first, end)
    time, distance, bearing = states.time_s[part], states.distance_m[part], states.bearing_rad[part]
    if len(time) < 2 or time[-1] - time[0] < _LEAST_S or float(distance.min()) > _FARTHEST_M:
        return None
    north, east = distance * np.cos(bearing), distance * np.sin(bearing)
    course = _direction(north, east, states.track_rad[part])
    along = north * math.cos(course) + east * math.sin(course)
    if float(np.ptp(along)) < _LEAST_M:
        return None
    off = float(np.mean(east * math.cos(course) - north * math.sin(course)))
    return Segment(float(time[0]), float(time[-1]), course, off, float(np.mean(along)), float(along[0]), float(along[-1]))


def _smooth(rate: FloatArray) -> FloatArray:
    """Rates of turn without corrections of some seconds."""
    window = np.ones(15) / 15.0
    smooth: FloatArray = np.convolve(rate, window, mode="same") if len(rate) >= len(window) else rate
    return smooth


def _direction(north_m: FloatArray, east_m: FloatArray, track_rad: FloatArray) -> float:
    """Direction of the line through points by total least squares, the way that they were flown. [rad]"""
    n, e = north_m - north_m.mean(), east_m - east_m.mean()
    axis = 0.5 * math.atan2(2.0 * float(n @ e), float(n @ n - e @ e))
    middle = float(np.arctan2(np.sin(track_rad).mean(), np.cos(track_rad).mean()))
    return axis if math.cos(axis - middle) > 0.0 else axis + math.pi
