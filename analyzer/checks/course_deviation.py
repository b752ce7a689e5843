"""Course deviation: how far off the course the needle would have shown, and how far off it was in distance.

A course is intercepted first and tracked then. What counts is tracking: it begins once the aircraft is within half of full
scale and no longer cuts towards the course, or has come to it, and goes on from there.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from analyzer.legs.guidance import ESTABLISHED_SHARE, Needle, needle
from analyzer.legs.reversal import Part
from analyzer.motion.motion import Motion, States
from analyzer.physics import geodesy
from analyzer.physics.units import DEG, NM, BoolArray, FloatArray, wrap
from analyzer.procedure.charted import Charted

__all__ = ["CourseHeld", "counting", "course_held", "figure_of_course", "held_off", "never_near", "tracking"]

_NEAR_STATION_M = 1.0 * NM  # closer than this an angle is no measure of flying
_SETTLED_RAD = 5.0 * DEG  # the figures' peaks count from the first time within this of the course
_CLOSING_RAD = 3.0 * DEG  # of the track towards the course: it is being intercepted
_ON_IT = 0.1  # of full scale: on the course, whatever the track
_LEAST_HELD_OFF_S = 10  # states are a second apart


@dataclass(frozen=True)
class CourseHeld:
    """How one course was held.

    `peak_rad` (at the guidance, positive right of the course flown) was reached at `time_s`, `cross_track_m` off the course
    there, `distance_m` from the fix and `guidance_distance_m` from the guidance; `fraction` is the peak as a share of full
    scale; `rms_rad` the root mean square of the deviation.
    """

    peak_rad: float
    rms_rad: float
    cross_track_m: float
    fraction: float
    time_s: float
    distance_m: float
    guidance_distance_m: float


def course_held(states: States, shown: Needle, counted: BoolArray) -> CourseHeld | None:
    """How the course was held in the states that count; None where none does."""
    if not counted.any():
        return None
    k = int(np.argmax(np.where(counted, np.abs(shown.fraction), -1.0)))
    return CourseHeld(
        peak_rad=float(shown.angle_rad[k]),
        rms_rad=math.sqrt(float(np.mean(shown.angle_rad[counted] ** 2))),
        cross_track_m=float(shown.cross_track_m[k]),
        fraction=float(abs(shown.fraction[k])),
        time_s=float(states.time_s[k]),
        distance_m=float(states.distance_m[k]),
        guidance_distance_m=float(shown.distance_m[k]),
    )


def counting(states: States, charted: Charted, shown: Needle) -> BoolArray:
    """Where a deviation says something: not within a mile of a station, nor in the cone of ambiguity above it."""
    if charted.guidance.full_scale_rad is None:
        return np.ones(len(states), dtype=np.bool_)
    height = np.nan_to_num(states.altitude_m - charted.fix_elevation_m)
    cone = geodesy.cone_radius(np.maximum(height, 0.0), charted.guidance.kind)
    return (shown.distance_m > _NEAR_STATION_M) & (shown.distance_m > cone)


def tracking(states: States, shown: Needle, course_rad: float) -> BoolArray:
    """From when on the course is tracked: it once was within half of full scale and not being cut towards, or was met."""
    begun = (np.abs(shown.fraction) <= ESTABLISHED_SHARE) & (_closing(states, shown, course_rad) < _CLOSING_RAD)
    begun |= np.abs(shown.fraction) <= _ON_IT
    on_scale = np.abs(shown.fraction) < 1.0
    crossed = shown.fraction[1:] * shown.fraction[:-1] < 0.0  # between two seconds
    begun[1:] |= crossed & on_scale[1:] & on_scale[:-1]
    return np.logical_or.accumulate(begun)


def held_off(states: States, shown: Needle, counted: BoolArray, course_rad: float) -> BoolArray:
    """Where a course that is never tracked is not closed with either, for ten seconds in all or more; else nowhere."""
    off = counted & (_closing(states, shown, course_rad) < _CLOSING_RAD)
    return off if int(off.sum()) >= _LEAST_HELD_OFF_S else np.zeros_like(off)


def _closing(states: States, shown: Needle, course_rad: float) -> FloatArray:
    """By how much the track cuts towards the course, negative away from it. [rad]"""
    return -np.sign(shown.angle_rad) * wrap(states.track_rad - course_rad)


def figure_of_course(motion: Motion, part: Part | None, course_rad: float) -> CourseHeld | None:
    """How a part held its course, beyond 1 NM of the fix and outside the cone of ambiguity, once within 5° of it.

    None where it never came so near, or too little is left.
    """
    if part is None:
        return None
    states = motion.states.between(part.start_s, part.end_s)
    shown = needle(states, motion.charted, course_rad)
    near = np.logical_or.accumulate(np.abs(shown.angle_rad) <= _SETTLED_RAD)
    return course_held(states, shown, _away_from_fix(states, motion.charted) & near)


def never_near(motion: Motion, part: Part | None, course_rad: float) -> CourseHeld | None:
    """The same of a part that never came within 5° of its course: where it did not close with it; None where it did."""
    if part is None:
        return None
    states = motion.states.between(part.start_s, part.end_s)
    shown = needle(states, motion.charted, course_rad)
    if (np.abs(shown.angle_rad) <= _SETTLED_RAD).any():
        return None
    return course_held(states, shown, held_off(states, shown, _away_from_fix(states, motion.charted), course_rad))


def _away_from_fix(states: States, charted: Charted) -> BoolArray:
    """Beyond 1 NM of the fix and outside the cone of ambiguity above it."""
    height = np.nan_to_num(states.altitude_m - charted.fix_elevation_m)
    cone = geodesy.cone_radius(np.maximum(height, 0.0), charted.procedure.fix.kind)
    return (states.distance_m > _NEAR_STATION_M) & (states.distance_m > cone)
