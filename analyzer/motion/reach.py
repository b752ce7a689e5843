"""Bounds on the flight within a hole of the log: how far, how low and how fast the aircraft can have been.

A verdict stands across a hole if nothing that could have happened in it would change the verdict. How far an aircraft can
have gone between two places, how low between two altitudes and how fast between two speeds is bounded by what aircraft do on an
approach.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from analyzer.motion.motion import Motion, seen_from
from analyzer.physics.units import FPM, FloatArray

__all__ = ["could_be_lower", "reached_m", "reached_mps"]

# Assumptions: what an aircraft on an approach does at most. Common practice, no source.
_FASTER_SHARE = 1.1  # than at either end of a hole
_DESCENT_MPS = 1500.0 * FPM
_ACCELERATION_MPS2 = 0.5  # a knot a second
_NEAR_S = 2.0


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
    logged = np.isfinite(motion.track.altitude_m)
    time_s, altitude = motion.track.time_s[logged], motion.track.altitude_m[logged]
    if not len(time_s) or any(begin < time_s[0] - _NEAR_S or end > time_s[-1] + _NEAR_S for begin, end in spans):
        return True
    for begin, end in motion.altitude_holes:
        if any(begin < stop and end > start for start, stop in spans):
            ends = np.interp([begin, end], time_s, altitude)
            if 0.5 * (float(ends.sum()) - _DESCENT_MPS * (end - begin)) < floor_m:
                return True
    return False


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
