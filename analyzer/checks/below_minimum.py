"""The final leg against its minimum: where it was left, level flight below it, and where visual flight begins.

What comes after the minimum was left for the runway is flown by what the pilot sees, and neither course nor altitude is
judged there. Being below a minimum that was bust is no such descent: that begins where level flight below the minimum ends, and
where the runway lies 2° below or more.
"""

from __future__ import annotations

import math

import numpy as np

from analyzer.checks.finding import Context
from analyzer.legs.final_leg import passed_at
from analyzer.motion.motion import States
from analyzer.physics import geodesy
from analyzer.physics.units import DEG, FPM, FT, NM, BoolArray, FloatArray, wrap
from analyzer.procedure.charted import Charted, Runway

__all__ = [
    "LEAST_ANGLE_RAD", "LEVEL_MPS", "angle_to_runway", "final_course_rad", "final_states", "left_minimum_s", "level_below",
    "missed_point_s", "visual_from_s",
]  # fmt: skip

LEAST_ANGLE_RAD = 2.0 * DEG  # of the runway below the aircraft, where a normal descent to it begins; common practice, no source
_LEVEL_S = 15  # states are a second apart
LEVEL_MPS = 160.0 * FPM
_LEVEL_M = LEVEL_MPS * _LEVEL_S  # descent over those seconds: half that of the shallowest approach path
_ROUNDED_S = 1  # of either end of level flight, which the smoothing rounds off
_LANDING_M = 100.0 * FT  # lower than this above the threshold is the landing
_ON_GROUND_MPS = 18.0
_BY_EYE_M = 500.0 * FT  # above the threshold, where no minimum is charted; common practice, no source
_OFFSET_RAD, _LINING_UP_M = 5.0 * DEG, 3.0 * NM  # a runway off the course by more is turned to, within so far of its threshold


def final_states(context: Context) -> States:
    """The states of the final leg; none where it was not flown."""
    return context.motion.states.within(context.reversal.leg_spans("final") or ((math.inf, math.inf),))


def final_course_rad(charted: Charted) -> float:
    """The course of the final leg, true: that of the segment after the final approach fix, mostly the inbound course."""
    number = next((k for k, fix in enumerate(charted.fixes) if fix.role == "final-approach-fix"), None)
    if number is None or number + 1 >= len(charted.fixes):
        return charted.inbound_true_rad
    return charted.fixes[number + 1].course_true_rad


def angle_to_runway(states: States, runway: Runway) -> tuple[FloatArray, FloatArray]:
    """The angle that the threshold lies below, and the distance to it along the extended centre line. [rad, m]"""
    distance, bearing = geodesy.inverse_near(
        runway.latitude_rad, runway.longitude_rad, states.latitude_rad, states.longitude_rad
    )
    before = distance * np.cos(bearing - runway.heading_rad - math.pi)
    return np.arctan2(states.altitude_m - runway.elevation_m, np.maximum(distance, 1.0)), before


def left_minimum_s(states: States, minimum_m: float) -> float | None:
    """The last instant at or above a minimum, if the states end below it; else None."""
    known = np.flatnonzero(np.isfinite(states.altitude_m))
    if not len(known) or states.altitude_m[known[-1]] >= minimum_m:
        return None
    kept = np.flatnonzero(states.altitude_m >= minimum_m)
    return float(states.time_s[kept[-1]] if len(kept) else states.time_s[0])


def level_below(states: States, minimum_m: float, runway: Runway | None) -> BoolArray:
    """Which states are of level flight below a minimum for 15 s or more, short of the landing.

    Without a runway, what is within 100 ft of where the aircraft slowed down is the landing and its roll.
    """
    low = states.altitude_m < minimum_m
    on_ground = states.ground_speed_mps < _ON_GROUND_MPS
    if runway is not None:
        _, before = angle_to_runway(states, runway)
        low &= (states.altitude_m > runway.elevation_m + _LANDING_M) & (before > 0.0)
    elif on_ground.any():
        low &= states.altitude_m > float(states.altitude_m[int(np.argmax(on_ground))]) + _LANDING_M
    found = np.zeros(len(states), dtype=np.bool_)
    if len(states) <= _LEVEL_S:
        return found
    first, last = slice(None, -_LEVEL_S), slice(_LEVEL_S, None)
    windows = np.lib.stride_tricks.sliding_window_view
    level = np.abs(states.altitude_m[last] - states.altitude_m[first]) < _LEVEL_M
    level &= windows(low, _LEVEL_S + 1).all(axis=1)
    level &= np.ptp(windows(states.altitude_m, _LEVEL_S + 1), axis=1) < 1.5 * _LEVEL_M
    level &= states.time_s[last] - states.time_s[first] < _LEVEL_S + 1.0  # not across a gap
    for k in np.flatnonzero(level):
        found[k : k + _LEVEL_S + 1] = True
    return _trimmed(states, found)


def _trimmed(states: States, found: BoolArray) -> BoolArray:
    """The same less the descents and climbs at either end, and less stretches that are then too short."""
    steady = found & (np.abs(states.vertical_speed_mps) < LEVEL_MPS)
    kept = np.zeros(len(found), dtype=np.bool_)
    edges = np.flatnonzero(np.diff(np.concatenate([[False], found, [False]]).astype(int)))
    for begin, end in zip(edges[::2], edges[1::2], strict=True):
        within = np.flatnonzero(steady[begin:end])
        if len(within) and within[-1] - within[0] + 2 * _ROUNDED_S >= _LEVEL_S:
            kept[begin + within[0] : begin + within[-1] + 1] = True
    return kept


def missed_point_s(context: Context, states: States) -> float | None:
    """When the missed approach point is passed: its fix, or the distance of its time at its speed; else the threshold."""
    charted = context.motion.charted
    course = final_course_rad(charted)
    point = next((fix for fix in charted.fixes if fix.role == "missed-approach-point"), None)
    if point is not None:
        return passed_at(states, point.latitude_rad, point.longitude_rad, course)
    missed = charted.missed
    if missed is not None and missed.time_s is not None and missed.time_at_mps is not None and len(states):
        begun = context.reversal.leg_spans("final")[0][0] if context.reversal.leg_spans("final") else float(states.time_s[0])
        flown = np.cumsum(states.ground_speed_mps * np.diff(states.time_s, prepend=begun))
        distance = missed.time_s * missed.time_at_mps
        return float(np.interp(distance, flown, states.time_s)) if flown[-1] >= distance else None
    if charted.runway is not None:
        return passed_at(states, charted.runway.latitude_rad, charted.runway.longitude_rad, course)
    return None


def visual_from_s(context: Context) -> float:
    """When the final leg becomes visual: a descent to the runway, beyond the missed approach point, or lining up."""
    states = final_states(context)
    if not len(states):
        return math.inf
    instants = [_descent_by_eye_s(context, states), missed_point_s(context, states), _lining_up_s(context, states)]
    return min((instant for instant in instants if instant is not None), default=math.inf)


def _descent_by_eye_s(context: Context, states: States) -> float | None:
    """When the descent to the runway may be flown visually; None without such a descent."""
    minimum, runway = context.motion.charted.minimum, context.motion.charted.runway
    if context.reversal.ending in ("climbed away", "turned away", None):
        return None
    if minimum is None:
        return left_minimum_s(states, runway.elevation_m + _BY_EYE_M) if runway is not None else None
    left = left_minimum_s(states, minimum.altitude_m)
    if left is None:
        return None
    level = np.flatnonzero(level_below(states, minimum.altitude_m, runway))
    begun = max(left, float(states.time_s[level[-1]])) if len(level) else left
    if runway is None or minimum.line == "circling":
        return begun
    steep, _ = angle_to_runway(states, runway)
    near = np.flatnonzero((states.time_s >= begun) & (steep >= LEAST_ANGLE_RAD))
    return float(states.time_s[near[0]]) if len(near) else None


def _lining_up_s(context: Context, states: States) -> float | None:
    """When the aircraft turns to an offset runway: its track is nearer the runway heading than the final course.

    Who goes around did not line up with it.
    """
    charted = context.motion.charted
    runway, course = charted.runway, final_course_rad(charted)
    if (
        runway is None
        or context.reversal.ending == "climbed away"
        or abs(float(wrap(runway.heading_rad - course))) < _OFFSET_RAD
    ):
        return None
    distance, _ = geodesy.inverse_near(runway.latitude_rad, runway.longitude_rad, states.latitude_rad, states.longitude_rad)
    to_runway, to_course = (np.abs(wrap(states.track_rad - angle)) for angle in (runway.heading_rad, course))
    aligned = np.flatnonzero((to_runway < to_course) & (distance < _LINING_UP_M))
    return float(states.time_s[aligned[0]]) if len(aligned) else None
