"""Course deviation: how far the needle was off, and how far the aircraft was from the course.

A course is first intercepted, then tracked. Only tracking counts. It begins when the aircraft is within half of full scale and
no longer converging on the course, or reaches the course, and does not end.
"""

from __future__ import annotations

import math

import numpy as np

from analyzer.frozen import dataclass
from analyzer.legs.course_left import orbiting
from analyzer.legs.guidance import ESTABLISHED_SHARE, ESTABLISHED_TRACK_RAD, Needle, needle
from analyzer.legs.reversal import Part
from analyzer.motion.motion import Motion
from analyzer.motion.states import States
from analyzer.physics import geodesy
from analyzer.physics.units import DEG, NM, BoolArray, FloatArray, wrap
from analyzer.procedure.charted import Charted

__all__ = [
    "CourseDeviation",
    "closes_in",
    "counting",
    "course_deviation",
    "figure_of_course",
    "never_near",
    "not_closing",
    "tracking",
]

_NEAR_STATION_M = 1.0 * NM  # closer, an angle says little about the flying
_SETTLED_RAD = 5.0 * DEG  # the peaks of the figures count once the aircraft was this close to the course
_CLOSING_RAD = 3.0 * DEG  # angle of the track towards the course from which it is being intercepted
_ON_IT = 0.1  # share of full scale: on the course, whatever the track
_OVER_FIX_S, _TURNING_RAD_S = 60.0, 1.0 * DEG  # how long half a circle at standard rate takes
_LEAST_NOT_CLOSING_S = 10  # states are a second apart
_CLOSED_SHARE = 0.5  # of the greatest distance from a course, at most, is left where it was closed with and not yet reached


@dataclass(frozen=True)
class CourseDeviation:
    """The deviation from a course: its peak, and its root mean square.

    Attributes
    ----------
    peak_rad, rms_rad : float
        Angle at the guidance, positive right of the course flown. [rad]
    fraction : float
        Size of the peak as a share of full scale.
    time_s, cross_track_m, distance_m, guidance_distance_m : float
        When the peak was reached, and the distance from the course, the fix and the guidance there. [s, m]
    """

    peak_rad: float
    rms_rad: float
    cross_track_m: float
    fraction: float
    time_s: float
    distance_m: float
    guidance_distance_m: float


def course_deviation(states: States, shown: Needle, counted: BoolArray) -> CourseDeviation | None:
    """The deviation from a course in the states that count; None if none does."""
    if not counted.any():
        return None
    k = int(np.argmax(np.where(counted, np.abs(shown.fraction), -1.0)))
    return CourseDeviation(
        peak_rad=float(shown.angle_rad[k]),
        rms_rad=math.sqrt(float(np.mean(shown.angle_rad[counted] ** 2))),
        cross_track_m=float(shown.cross_track_m[k]),
        fraction=float(abs(shown.fraction[k])),
        time_s=float(states.time_s[k]),
        distance_m=float(states.distance_m[k]),
        guidance_distance_m=float(shown.distance_m[k]),
    )


def counting(states: States, charted: Charted, shown: Needle) -> BoolArray:
    """Where a deviation is meaningful: beyond a mile from a station and outside the cone of ambiguity above it."""
    if charted.guidance.full_scale_rad is None:
        return np.ones(len(states), dtype=np.bool_)
    height = np.nan_to_num(states.altitude_m - charted.fix_elevation_m)
    cone = geodesy.cone_radius(np.maximum(height, 0.0), charted.guidance.kind)
    return (shown.distance_m > _NEAR_STATION_M) & (shown.distance_m > cone)


def tracking(states: States, shown: Needle, course_rad: float) -> BoolArray:
    """Where the course is tracked: from when it is within half of full scale and not being intercepted, or is reached.

    It is neither while the aircraft flies the other way, as where it arrives along the course to turn round over the fix, nor
    next to the station on another track, where every flight over it is on the course for a moment. In an orbit it is not
    tracked, and after one it is intercepted again.
    """
    begun = (np.abs(shown.fraction) <= ESTABLISHED_SHARE) & (_closing(states, shown, course_rad) < _CLOSING_RAD)
    begun |= np.abs(shown.fraction) <= _ON_IT
    on_scale = np.abs(shown.fraction) < 1.0
    crossed = shown.fraction[1:] * shown.fraction[:-1] < 0.0  # between two states
    begun[1:] |= crossed & on_scale[1:] & on_scale[:-1]
    begun &= np.cos(states.track_rad - course_rad) > 0.0
    begun &= (shown.distance_m > _NEAR_STATION_M) | (np.abs(wrap(states.track_rad - course_rad)) < ESTABLISHED_TRACK_RAD)
    second, orbit = np.arange(len(states)), orbiting(states, course_rad)
    last_begun, last_orbit = (np.maximum.accumulate(np.where(so, second, -1)) for so in (begun, orbit))
    since_orbit: BoolArray = last_begun > last_orbit
    return since_orbit


def not_closing(states: States, shown: Needle, counted: BoolArray, course_rad: float) -> BoolArray:
    """Where the track does not converge on a course that is never tracked; nowhere if that is for less than ten seconds.

    A turn over the fix, which leads to where the course is intercepted from, is no part of it.
    """
    over_fix = (states.time_s - states.time_s[:1] < _OVER_FIX_S) & (np.abs(states.turn_rate_rad_s) > _TURNING_RAD_S)
    turned = ~np.logical_or.accumulate(over_fix[::-1])[::-1]  # from the last of the turn on
    off = counted & turned & (_closing(states, shown, course_rad) < _CLOSING_RAD)
    return off if int(off.sum()) >= _LEAST_NOT_CLOSING_S else np.zeros_like(off)


def closes_in(states: States, shown: Needle, course_rad: float) -> bool:
    """Whether a stretch ends in an intercept of a course that takes away most of the distance from it, without a break.

    What leads to the intercept, such as a turn over the station from another course, is no deviation of one that is tracked.
    """
    if not len(states):
        return False
    apart = np.flatnonzero(_closing(states, shown, course_rad) < _CLOSING_RAD)
    begin = int(apart[-1]) + 1 if len(apart) else 0
    if len(states) - begin < _LEAST_NOT_CLOSING_S:
        return False
    off_m = np.abs(shown.cross_track_m)
    return bool(off_m[-1] <= _CLOSED_SHARE * off_m.max())


def _closing(states: States, shown: Needle, course_rad: float) -> FloatArray:
    """Angle at which the track converges on the course, negative away from it. [rad]"""
    return -np.sign(shown.angle_rad) * wrap(states.track_rad - course_rad)


def figure_of_course(motion: Motion, part: Part | None, course_rad: float) -> CourseDeviation | None:
    """The deviation of a part from its course, once within 5° of it, beyond 1 NM of the fix and outside the cone of ambiguity.

    None where it never came within 5°, or nothing is left.
    """
    if part is None:
        return None
    states = motion.states.between(part.start_s, part.end_s)
    shown = needle(states, motion.charted, course_rad)
    near = np.logical_or.accumulate(np.abs(shown.angle_rad) <= _SETTLED_RAD)
    flown = near & ~orbiting(states, course_rad)
    return course_deviation(states, shown, _away_from_fix(states, motion.charted) & flown)


def never_near(motion: Motion, part: Part | None, course_rad: float) -> CourseDeviation | None:
    """The deviation of a part that never came within 5° of its course, where it does not converge on it; else None."""
    if part is None:
        return None
    states = motion.states.between(part.start_s, part.end_s)
    shown = needle(states, motion.charted, course_rad)
    if (np.abs(shown.angle_rad) <= _SETTLED_RAD).any():
        return None
    return course_deviation(states, shown, not_closing(states, shown, _away_from_fix(states, motion.charted), course_rad))


def _away_from_fix(states: States, charted: Charted) -> BoolArray:
    """Beyond 1 NM of the fix and outside the cone of ambiguity above it."""
    height = np.nan_to_num(states.altitude_m - charted.fix_elevation_m)
    cone = geodesy.cone_radius(np.maximum(height, 0.0), charted.procedure.fix.kind)
    return (states.distance_m > _NEAR_STATION_M) & (states.distance_m > cone)
