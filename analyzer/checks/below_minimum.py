"""The final leg and its minimum: where the minimum was left, level flight below it, and where visual flight begins.

After the minimum was left for the runway the pilot flies visually, and neither course nor altitude is judged. Level flight
below the minimum is not visual flight: that begins where the level ends, with the runway 2° or more below. A circle is flown
visually as well, but not below the circling minimum until the descent to the runway begins.
"""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Literal

import numpy as np

from analyzer.checks.finding import Context
from analyzer.legs.course_left import left_for_good_s, turning_off_s
from analyzer.legs.course_lines import course_lines, final_course_rad
from analyzer.legs.final_leg import passed_at
from analyzer.legs.guidance import needle
from analyzer.motion.motion import ON_GROUND_MPS
from analyzer.motion.states import States
from analyzer.physics import geodesy
from analyzer.physics.runs import true_runs
from analyzer.physics.units import DEG, FPM, FT, NM, BoolArray, FloatArray, wrap
from analyzer.procedure.approach import Minimum
from analyzer.procedure.charted import Charted, Runway

__all__ = [
    "LEAST_ANGLE_RAD", "LEVEL_MPS", "angle_to_runway", "begins_below", "circles_from_s", "final_states", "left_minimum_s",
    "level_below", "logged_finally", "missed_point_by", "missed_point_s", "turned_off_s", "visual_from_s",
]  # fmt: skip

LEAST_ANGLE_RAD = 2.0 * DEG  # of the runway below the aircraft, for a normal descent to begin; common practice, no source
_LEVEL_S = 15  # states are a second apart
LEVEL_MPS = 160.0 * FPM
_LEVEL_M = LEVEL_MPS * _LEVEL_S  # altitude change over those seconds, half of the descent on the shallowest approach path
_ROUNDED_S = 1  # seconds at either end of level flight that the smoothing rounds off
_LANDING_M = 100.0 * FT  # above the threshold; lower, the aircraft is landing
_ON_GROUND_S, _ON_GROUND_RANGE_M = 20, 10.0  # states are a second apart; an airfield is as flat
_VISUAL_M = 500.0 * FT  # above the threshold: where visual flight begins without a charted minimum; common practice, no source
_ALONG_RAD = 15.0 * DEG  # off the final course by less, it is still flown
_ASIDE_M = 0.15 * NM  # gone aside from where a circle began, by more than a correction of the course does; no source
_OFFSET_RAD, _LINING_UP_M = 5.0 * DEG, 3.0 * NM  # a runway at a greater angle is lined up with, this close to its threshold


def final_states(context: Context) -> States:
    """The states of the final leg, empty if it was not flown."""
    return context.motion.states.within(context.reversal.leg_spans("final") or ((math.inf, math.inf),))


def begins_below(context: Context, minimum: Minimum, states: States) -> bool:
    """Whether the log begins on the way down from the minimum, which ends in no climb."""
    begins = float(states.time_s[0]) <= float(context.motion.states.time_s[0])
    return begins and context.reversal.ending != "climbed away" and bool((states.altitude_m < minimum.altitude_m).all())


def logged_finally(context: Context) -> States:
    """The same with the altitudes that were logged: what the curve does in a hole of them is not known."""
    states = final_states(context)
    return replace(states, altitude_m=context.motion.logged_altitude_m(states))


def angle_to_runway(states: States, runway: Runway) -> tuple[FloatArray, FloatArray]:
    """Angle of the threshold below the aircraft, and distance to it along the extended centre line. [rad, m]"""
    distance, bearing = geodesy.inverse_near(
        runway.latitude_rad, runway.longitude_rad, states.latitude_rad, states.longitude_rad
    )
    before = distance * np.cos(bearing - runway.heading_rad - math.pi)
    return np.arctan2(states.altitude_m - runway.elevation_m, np.maximum(distance, 1.0)), before


def left_minimum_s(states: States, minimum_m: float) -> float | None:
    """The last instant at or above a minimum; None unless the states end below it. [s]"""
    known = np.flatnonzero(np.isfinite(states.altitude_m))
    if not len(known) or states.altitude_m[known[-1]] >= minimum_m:
        return None
    above = np.flatnonzero(states.altitude_m >= minimum_m)
    return float(states.time_s[above[-1]] if len(above) else states.time_s[0])


def circles_from_s(context: Context) -> float | None:
    """When the aircraft turns off the final course to circle; None where it does not, or no circling minimum is used. [s]"""
    charted, states = context.motion.charted, final_states(context)
    if charted.minimum is None or charted.minimum.line != "circling" or not len(states):
        return None
    course = final_course_rad(charted)
    off_s = left_for_good_s(states, charted, course)
    if off_s >= float(states.time_s[-1]):
        return None
    before = states.between(float(states.time_s[0]), off_s)
    along = np.abs(wrap(before.track_rad - course)) < _ALONG_RAD
    broke = _broke_off(context, before, along)
    last = np.flatnonzero(along[:broke])
    return float(before.time_s[last[-1]]) if len(last) else float(states.time_s[0])


def _broke_off(context: Context, states: States, along: BoolArray) -> int | None:
    """The first state of the turn off the final course from which it is not come back to; None where there is none.

    A circle may begin with a turn of less than 45° to the side, and go on beside the course to the downwind or base leg. So
    near the threshold, whoever goes aside by as much has left the course for it.
    """
    charted = context.motion.charted
    if charted.runway is None:
        return None
    line = course_lines(charted, "final")[-1]
    across_m = np.abs(needle(states, charted, line.course_rad, None, line.through).cross_track_m)
    left_m, _ = geodesy.inverse_near(
        charted.runway.latitude_rad, charted.runway.longitude_rad, states.latitude_rad, states.longitude_rad
    )
    for begin, end in true_runs(~along):
        aside_m = float(across_m[begin]) + _ASIDE_M
        if left_m[begin] < _LINING_UP_M and (across_m[end - 1 :] > aside_m).all():
            return begin
    return None


def level_below(states: States, minimum: Minimum, runway: Runway | None) -> BoolArray:
    """Which states are in level flight below a minimum, for 15 s or more, before the landing.

    Without a runway, altitudes within 100 ft of where the aircraft slowed down are the landing and roll-out. Who circles flies
    beyond the threshold before the landing, too.
    """
    low = states.altitude_m < minimum.altitude_m
    on_ground = states.ground_speed_mps < ON_GROUND_MPS
    if runway is not None:
        _, before = angle_to_runway(states, runway)
        low &= states.altitude_m > runway.elevation_m + _LANDING_M
        low &= (before > 0.0) | (minimum.line == "circling")
    elif on_ground.any():
        low &= states.altitude_m > float(states.altitude_m[int(np.argmax(on_ground))]) + _LANDING_M
    is_level = np.zeros(len(states), dtype=np.bool_)
    if len(states) <= _LEVEL_S:
        return is_level
    first, last = slice(None, -_LEVEL_S), slice(_LEVEL_S, None)
    windows = np.lib.stride_tricks.sliding_window_view
    level = np.abs(states.altitude_m[last] - states.altitude_m[first]) < _LEVEL_M
    level &= windows(low, _LEVEL_S + 1).all(axis=1)
    level &= np.ptp(windows(states.altitude_m, _LEVEL_S + 1), axis=1) < 1.5 * _LEVEL_M
    level &= states.time_s[last] - states.time_s[first] < _LEVEL_S + 1.0  # not across a gap
    for k in np.flatnonzero(level):
        is_level[k : k + _LEVEL_S + 1] = True
    return _trimmed(states, is_level)


def _trimmed(states: States, is_level: BoolArray) -> BoolArray:
    """Level flight without the descents and climbs at its ends, and without stretches that are then too short."""
    steady = is_level & (np.abs(states.vertical_speed_mps) < LEVEL_MPS)
    trimmed = np.zeros(len(is_level), dtype=np.bool_)
    for begin, end in true_runs(is_level):
        within = np.flatnonzero(steady[begin:end])
        if len(within) and within[-1] - within[0] + 2 * _ROUNDED_S >= _LEVEL_S:
            trimmed[begin + within[0] : begin + within[-1] + 1] = True
    return trimmed


def missed_point_by(charted: Charted) -> Literal["fix", "time", "threshold"] | None:
    """What the missed approach point is found by; None where nothing charted tells."""
    if charted.fix_of("missed-approach-point") is not None:
        return "fix"
    if charted.missed is not None and charted.missed.time_s is not None:
        return "time"
    return "threshold" if charted.runway is not None else None


def missed_point_s(context: Context, states: States) -> float | None:
    """When the missed approach point is passed: its fix, the distance of its time at its speed, or the threshold. [s]"""
    charted = context.motion.charted
    course = final_course_rad(charted)
    point = charted.fix_of("missed-approach-point")
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


def turned_off_s(context: Context) -> float:
    """When the turn begins in which an approach is given up and leaves the final course for good; infinite if it is not. [s]"""
    states = final_states(context)
    if context.reversal.ending not in ("turned away", "log breaks off") or not len(states):
        return math.inf
    return turning_off_s(states, final_course_rad(context.motion.charted))


def visual_from_s(context: Context) -> float:
    """When the final leg becomes visual: descending to the runway, at the missed approach point, lining up, or circling. [s]

    At the latest where the aircraft taxies.
    """
    states = final_states(context)
    if not len(states):
        return math.inf
    instants = [_visual_descent_s(context, states), missed_point_s(context, states), _lining_up_s(context, states)]
    instants += [circles_from_s(context), _on_ground_s(states)]
    return min((instant for instant in instants if instant is not None), default=math.inf)


def _on_ground_s(states: States) -> float | None:
    """From when the aircraft is slower than it flies, and level, to the end of the leg; None where it is not. [s]"""
    flying = np.flatnonzero(states.ground_speed_mps >= ON_GROUND_MPS)
    first = int(flying[-1]) + 1 if len(flying) else 0
    down = states.altitude_m[first:]
    if len(down) < _ON_GROUND_S or not np.isfinite(down).any() or np.nanmax(down) - np.nanmin(down) > _ON_GROUND_RANGE_M:
        return None
    return float(states.time_s[first])


def _visual_descent_s(context: Context, states: States) -> float | None:
    """When a visual descent to the runway begins; None without one. [s]"""
    minimum, runway = context.motion.charted.minimum, context.motion.charted.runway
    if context.reversal.ending in ("climbed away", "turned away", None):
        return None
    if minimum is None:
        return left_minimum_s(states, runway.elevation_m + _VISUAL_M) if runway is not None else None
    left = left_minimum_s(states, minimum.altitude_m)
    if left is None:
        return None
    level = np.flatnonzero(level_below(states, minimum, runway))
    begun = max(left, float(states.time_s[level[-1]])) if len(level) else left
    if runway is None or minimum.line == "circling":
        return begun
    steep, _ = angle_to_runway(states, runway)
    near = np.flatnonzero((states.time_s >= begun) & (steep >= LEAST_ANGLE_RAD))
    return float(states.time_s[near[0]]) if len(near) else None


def _lining_up_s(context: Context, states: States) -> float | None:
    """When the aircraft lines up with an offset runway: its track is closer to the runway heading than to the final course. [s]

    None if it does not, or goes around.
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
