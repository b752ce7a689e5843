"""Where an inbound or final course is left, and whether it is taken up again: an orbit or a large correction is no end."""

from __future__ import annotations

import numpy as np

from analyzer.legs.guidance import needle
from analyzer.motion.states import States
from analyzer.physics import geodesy
from analyzer.physics.runs import true_runs
from analyzer.physics.units import DEG, FT, NM, BoolArray, wrap
from analyzer.procedure.charted import Charted

__all__ = ["before_runway", "course_left_s", "left_for_good_s", "orbiting", "taken_up_again_s", "turning_off_s"]

_OFF_COURSE_RAD = 45.0 * DEG
# Off a course, and for how long: a turn off it, at half of standard rate or so by fast aircraft, and no slow drift.
_TURNING_RAD, _TURNING_S = 10.0 * DEG, 30.0
_MOVING_MPS = 15.0
_LOST_S = 30.0  # without samples, the course is left, unless both ends of the gap fit one flight along it
_GAP_S, _GAP_COURSE_RAD, _GAP_SHARE = 180.0, 30.0 * DEG, 0.15  # how long it may be, and how far off course and speed; no source
# Taken up again: on the scale of the needle or this near the course, the track along it for so long, in the time of two orbits
# at 3° a second, and not from higher up, as after going around.
_AGAIN_RAD, _AGAIN_S, _WITHIN_S = 20.0 * DEG, 10, 300.0
_NEAR_M, _HIGHER_M = 0.3 * NM, 200.0 * FT
_BACK_M = 1.5 * NM  # an orbit leads back by no more than its radius; who goes back farther flies a lap, or another approach
_AWAY_RAD = 135.0 * DEG  # off a course by this much, an orbit is flown; a correction or an S does not turn so far


def course_left_s(states: States, course_rad: float) -> float:
    """When the aircraft first turns off a course by more than 45°, or the log breaks off or ends. [s]"""
    return _left_s(states, course_rad)[0]


def turning_off_s(states: States, course_rad: float) -> float:
    """When the turn off a course began in which states end, or the end of the states where they do not end in one. [s]"""
    on = np.abs(wrap(states.track_rad - course_rad)) < _TURNING_RAD
    before_s = float(states.time_s[np.flatnonzero(on)[-1] if on.any() else 0])
    end_s = float(states.time_s[-1])
    return before_s if end_s - before_s <= _TURNING_S else end_s


def left_for_good_s(states: States, charted: Charted, course_rad: float) -> float:
    """When the aircraft turns off a course and does not take it up again, or the log breaks off or ends. [s]"""
    since_s, end_s = float(states.time_s[0]), float(states.time_s[-1])
    while True:
        left_s, broken = _left_s(states.between(since_s, end_s), course_rad)
        again_s = None if broken else taken_up_again_s(states.between(left_s, end_s), charted, course_rad)
        if again_s is None:
            return left_s
        since_s = again_s


def taken_up_again_s(states: States, charted: Charted, course_rad: float) -> float | None:
    """When a course that was left with the first of the states is flown again, before the runway; None where it is not. [s]"""
    soon = states.between(float(states.time_s[0]), float(states.time_s[0]) + _WITHIN_S)
    if len(soon) < _AGAIN_S or (np.diff(soon.time_s) > _LOST_S).any():
        return None
    shown = needle(soon, charted, course_rad)
    near = (np.abs(shown.fraction) <= 1.0) | (np.abs(shown.cross_track_m) <= _NEAR_M)
    flown = near & (np.abs(wrap(soon.track_rad - course_rad)) <= _AGAIN_RAD) & before_runway(soon, charted)
    low = ~(soon.altitude_m > soon.altitude_m[0] + _HIGHER_M)  # also where no altitude is known
    run = np.convolve((flown & low).astype(np.int64), np.ones(_AGAIN_S, dtype=np.int64))[_AGAIN_S - 1 :]
    begins = np.flatnonzero(run[: len(soon)] >= _AGAIN_S)
    if not len(begins):
        return None
    along = soon.along_m(course_rad)
    went_back_m = float(along[0] - along[: begins[0] + 1].min())
    return float(soon.time_s[begins[0]]) if went_back_m <= _BACK_M else None


def orbiting(states: States, course_rad: float) -> BoolArray:
    """Where an orbit is flown off a course, from when the track leaves it until it leads along it again."""
    off = np.abs(wrap(states.track_rad - course_rad))
    away = off > _AGAIN_RAD
    orbit = np.zeros(len(states), dtype=np.bool_)
    for begin, end in true_runs(away):
        # what a stretch begins or ends with is a turn onto the course or off it
        orbit[begin:end] = begin > 0 and end < len(states) and bool((off[begin:end] > _AWAY_RAD).any())
    return orbit


def before_runway(states: States, charted: Charted) -> BoolArray:
    """Whether states lie before the threshold along the runway's heading; all of them where no runway is charted."""
    runway = charted.runway
    if runway is None:
        return np.ones(len(states), dtype=np.bool_)
    distance, bearing = geodesy.inverse_near(
        runway.latitude_rad, runway.longitude_rad, states.latitude_rad, states.longitude_rad
    )
    before: BoolArray = distance * np.cos(bearing - runway.heading_rad) < 0.0
    return before


def _lost(states: States, course_rad: float) -> BoolArray:
    """After which states the log is broken off: by a gap whose ends do not fit one flight along the course."""
    broken: BoolArray = np.diff(states.time_s, append=states.time_s[-1]) > _LOST_S
    for k in np.flatnonzero(broken):
        seconds, ends = float(states.time_s[k + 1] - states.time_s[k]), slice(k, k + 2)
        between_m, bearing = geodesy.inverse(
            *(float(of[i]) for i in (k, k + 1) for of in (states.latitude_rad, states.longitude_rad))
        )
        flown_m = float(states.ground_speed_mps[ends].mean()) * seconds
        along = np.abs(wrap(np.append(states.track_rad[ends], bearing) - course_rad)) < _GAP_COURSE_RAD
        fits = seconds <= _GAP_S and abs(float(between_m) - flown_m) < _GAP_SHARE * flown_m
        broken[k] = not (fits and along.all())
    return broken


def _left_s(states: States, course_rad: float) -> tuple[float, bool]:
    """When the aircraft is first off a course by more than 45°, or the log breaks off or ends; whether it is the log. [s]"""
    off = (np.abs(wrap(states.track_rad - course_rad)) > _OFF_COURSE_RAD) & (states.ground_speed_mps > _MOVING_MPS)
    broken = _lost(states, course_rad)
    ends = np.flatnonzero(off | broken)
    if not len(ends):
        return float(states.time_s[-1]), True
    return float(states.time_s[ends[0]]), bool(broken[ends[0]])
