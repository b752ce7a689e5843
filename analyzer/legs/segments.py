"""The straight segments of a flight, as lines seen from the fix: their direction, and how far the fix lies off them."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np

from analyzer.frozen import dataclass
from analyzer.motion.motion import Motion
from analyzer.motion.states import States
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
    time_s = states.time_s
    if not len(states):
        return
    rate = np.abs(_smooth(states.turn_rate_rad_s))
    whole = np.concatenate(([False], np.diff(time_s) > 1.5))
    bounds = np.flatnonzero((rate > _TURNING_RAD_S) | whole)
    begins, ends = np.concatenate(([0], bounds + 1)), np.concatenate((bounds, [len(states)]))
    # in a turn every second is a bound: of the stretches between them only few are long enough to look at
    long = time_s.take(ends - 1, mode="clip") - time_s.take(begins, mode="clip") >= _LEAST_S
    for first, end in zip(begins[long].tolist(), ends[long].tolist(), strict=True):
        segment = _segment(states, *_steady(states.track_rad, first, end))
        if segment is not None:
            yield segment


def _steady(track_rad: FloatArray, first: int, end: int) -> tuple[int, int]:
    """The longest stretch of some states whose track stays near their middle one: without what is left of a turn."""
    if end - first < 2:
        return first, first
    track = track_rad[first:end]
    middle = track[np.argpartition(wrap(track - track[0]), len(track) // 2)[len(track) // 2]]
    near = np.abs(wrap(track - middle)) < _WAVERS_RAD
    if near.all():
        return first, end
    begin, stop = max(true_runs(near), key=lambda run: run[1] - run[0])
    return first + begin, first + stop


def _segment(states: States, first: int, end: int) -> Segment | None:
    """The line through some states; None where it is too short or too far from the fix."""
    part = slice(first, end)
    time, distance, bearing = states.time_s[part], states.distance_m[part], states.bearing_rad[part]
    if len(time) < 2 or time[-1] - time[0] < _LEAST_S or float(distance.min()) > _FARTHEST_M:
        return None
    north, east = distance * np.cos(bearing), distance * np.sin(bearing)
    middle_north, middle_east = float(north.mean()), float(east.mean())
    course = _direction(north - middle_north, east - middle_east, states.track_rad[part])
    cosine, sine = math.cos(course), math.sin(course)
    along = north * cosine + east * sine
    if float(along.max() - along.min()) < _LEAST_M:
        return None
    off_m, along_m = middle_east * cosine - middle_north * sine, middle_north * cosine + middle_east * sine
    return Segment(float(time[0]), float(time[-1]), course, off_m, along_m, float(along[0]), float(along[-1]))


def _smooth(rate: FloatArray) -> FloatArray:
    """Rates of turn without corrections of some seconds."""
    window = np.ones(15) / 15.0
    smooth: FloatArray = np.convolve(rate, window, mode="same") if len(rate) >= len(window) else rate
    return smooth


def _direction(north_m: FloatArray, east_m: FloatArray, track_rad: FloatArray) -> float:
    """Direction of the line through points about their middle by total least squares, the way that they were flown. [rad]"""
    axis = 0.5 * math.atan2(2.0 * float(north_m @ east_m), float(north_m @ north_m - east_m @ east_m))
    middle = math.atan2(float(np.sin(track_rad).sum()), float(np.cos(track_rad).sum()))
    return axis if math.cos(axis - middle) > 0.0 else axis + math.pi
