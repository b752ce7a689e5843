"""Bounds on the flight within a hole of the log: how far, how low and how fast the aircraft can have been.

A verdict stands across a hole if nothing that could have happened in it would change the verdict. How far an aircraft can
have gone between two places, how low between two altitudes and how fast between two speeds is bounded by what aircraft do on an
approach.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from analyzer.motion.motion import Motion
from analyzer.motion.states import States, seen_from
from analyzer.physics.units import FPM, FloatArray

__all__ = ["could_be_lower", "highest_sd_m", "left_level_m", "lowest_sd_m", "reached_m", "reached_mps"]

# Assumptions: what an aircraft on an approach does at most. Common practice, no source.
_FASTER_SHARE = 1.1  # than at either end of a hole
_DESCENT_MPS = 1500.0 * FPM
_ACCELERATION_MPS2 = 0.5  # a knot a second
_LIFT_MPS2 = 2.0  # 0.2 g, more than levelling off takes
_CLIMB_OFF_MPS = 100.0 * FPM  # what a rate of climb next to a hole may be off by
_INSTANTS = 101  # of a hole at which the lowest point may be
_NEAR_S = 2.0
_LEAST_FIXES = 4  # to see what was flown before and after an interval


def reached_m(motion: Motion, span: tuple[float, float], place: tuple[float, float]) -> float:
    """The greatest distance from a place that holes in a stretch of time leave room for; -inf where there is none. [m]

    Between two points at d1 and d2 from it the aircraft was at most at (d1 + d2 + way) / 2, the way being the distance
    flown in the time between.
    """
    greatest_m = -math.inf
    for begin, end in motion.holes_between(*span):
        distance, _ = seen_from(motion.charted, *place, motion.curves.at(np.array([begin, end])))
        way = _FASTER_SHARE * float(np.max(_ground_speeds(motion, begin, end))) * (end - begin)
        greatest_m = max(greatest_m, 0.5 * (float(distance.sum()) + way))
    return greatest_m


def could_be_lower(motion: Motion, spans: Sequence[tuple[float, float]], floor_m: float) -> bool:
    """Whether stretches leave room for an altitude below a floor: in a hole of the altitudes, or where they begin or end."""
    time_s = motion.track.time_s[np.isfinite(motion.track.altitude_m)]
    if not len(time_s) or any(begin < time_s[0] - _NEAR_S or end > time_s[-1] + _NEAR_S for begin, end in spans):
        return True
    return any(
        _lowest_m(motion, hole, 1.0) < floor_m
        for hole in motion.altitude_holes
        if any(hole[0] < stop and hole[1] > start for start, stop in spans)
    )


def left_level_m(motion: Motion, span: tuple[float, float], level_m: float) -> float:
    """The greatest departure from a level that holes of the altitudes in a stretch leave room for; 0 without any. [m]"""
    return max(
        (
            max(sign * level_m - _lowest_m(motion, hole, sign), 0.0)
            for hole in motion.altitude_holes
            if hole[0] < span[1] and hole[1] > span[0]
            for sign in (1.0, -1.0)
        ),
        default=0.0,
    )


def _lowest_m(motion: Motion, hole: tuple[float, float], sign: float) -> float:
    """The lowest that altitudes times a sign can have been in a hole of them. [m]

    Down and up again at the greatest rate of descent, or, in a hole of some seconds, as fast as the flight path bends: from a
    rate v of climb to level at the lowest point, t seconds later, an aircraft that is first accelerated downward, then upward,
    by a at most, has sunk by a t²/4 - v t/2 - v²/(4 a). The time is shared so that the way down and the way up meet.
    """
    logged = np.isfinite(motion.track.altitude_m)
    ends = sign * np.interp(hole, motion.track.time_s[logged], motion.track.altitude_m[logged])
    lasts_s = hole[1] - hole[0]
    by_rate = 0.5 * (float(ends.sum()) - _DESCENT_MPS * lasts_s)
    climb = sign * motion.curves.at(np.array(hole)).vertical_speed_mps
    out, back = float(climb[0]) - _CLIMB_OFF_MPS, -float(climb[1]) - _CLIMB_OFF_MPS
    if not lasts_s * _LIFT_MPS2 > abs(out) + abs(back):
        return by_rate
    since = np.linspace(abs(out), lasts_s * _LIFT_MPS2 - abs(back), _INSTANTS) / _LIFT_MPS2
    meeting = np.maximum(ends[0] - _sunk_m(out, since), ends[1] - _sunk_m(back, lasts_s - since))
    return max(by_rate, min(float(ends.min()), float(meeting.min())))


def _sunk_m(climb_mps: float, since_s: FloatArray) -> FloatArray:
    return 0.25 * _LIFT_MPS2 * since_s**2 - 0.5 * climb_mps * since_s - climb_mps**2 / (4.0 * _LIFT_MPS2)


def lowest_sd_m(motion: Motion, states: States, margin_m: float) -> float:
    """Standard deviation of the lowest altitude of some states, given its margin to a charted one. [m]

    Above the charted altitude it counts that between the true fixes of a filled-in log the aircraft may have been lower. Below
    it that would not change the verdict, and only the error of the altitudes themselves counts.
    """
    between = _beyond_sd_m(motion, states, -1.0) if margin_m >= 0.0 else 0.0
    return math.hypot(motion.lowest_sd_m(margin_m), between)


def highest_sd_m(motion: Motion, states: States, margin_m: float) -> float:
    """The same of the highest altitude, given its margin below a charted one. [m]"""
    return math.hypot(motion.level_sd_m, _beyond_sd_m(motion, states, 1.0) if margin_m >= 0.0 else 0.0)


def _beyond_sd_m(motion: Motion, states: States, sign: float) -> float:
    """Standard deviation of the highest of altitudes times a sign, due to what was flown between true fixes. [m]

    0 unless the log was filled in. Where the aircraft went up to one fix and came down from the next, it was no higher than
    where those two lines meet: in between it may have been anywhere from there to the smoothed curve, evenly.
    """
    logged = np.isfinite(motion.track.altitude_m)
    flown = states.time_s[np.isfinite(states.altitude_m)]
    if not motion.track.filled_in or not len(flown) or np.count_nonzero(logged) < _LEAST_FIXES:
        return 0.0
    time_s, altitude = motion.track.time_s[logged], sign * motion.track.altitude_m[logged]
    rate = np.diff(altitude) / np.diff(time_s)
    into, out = rate[:-2], rate[2:]
    rises = (into > out).nonzero()[0]
    begin, end = rises + 1, rises + 2
    since = (altitude[end] - altitude[begin] - out[rises] * (time_s[end] - time_s[begin])) / (into[rises] - out[rises])
    inside = (since > 0.0) & (since < time_s[end] - time_s[begin])
    extreme = np.maximum(altitude[:-1], altitude[1:])
    extreme[begin[inside]] = np.maximum(extreme[begin[inside]], (altitude[begin] + into[rises] * since)[inside])
    touched = np.clip(np.searchsorted(time_s, flown, side="right") - 1, 0, len(extreme) - 1)
    room = float(extreme[touched].max()) - float(np.nanmax(sign * states.altitude_m))
    return max(0.0, room) / math.sqrt(3.0)


def reached_mps(motion: Motion, span: tuple[float, float], time_s: FloatArray, speed_mps: FloatArray) -> float:
    """The greatest speed that holes in a stretch leave room for, given the speed at some instants; -inf without any. [m/s]"""
    greatest_mps = -math.inf
    for begin, end in motion.holes_between(*span):
        ends = np.interp([begin, end], time_s, speed_mps)
        greatest_mps = max(greatest_mps, 0.5 * (float(ends.sum()) + _ACCELERATION_MPS2 * (end - begin)))
    return greatest_mps


def _ground_speeds(motion: Motion, begin_s: float, end_s: float) -> FloatArray:
    """Ground speeds near both ends of a hole. [m/s]"""
    states = motion.states
    near = (np.abs(states.time_s - begin_s) < _NEAR_S) | (np.abs(states.time_s - end_s) < _NEAR_S)
    return states.ground_speed_mps[near] if near.any() else states.ground_speed_mps
