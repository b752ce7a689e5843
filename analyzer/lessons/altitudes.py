"""Lessons of altitude: when a descent was begun too early, where to level off, where the path to the runway begins."""

from __future__ import annotations

import math

import numpy as np

from analyzer.checks.below import angle_to_runway, final_states
from analyzer.checks.model import Context, Finding, Lesson
from analyzer.checks.words import clock, knots, miles, part_where
from analyzer.motion.model import States
from analyzer.physics.units import DEG, FPM, FT, NM

__all__ = ["learn_ceiling", "learn_floor", "learn_minimum", "learn_step_down_fix"]

_LEVEL_MPS = 150.0 * FPM
_LEAD_SHARE = 0.1  # of the rate of descent, in feet of lead for each foot a minute; common practice, no source
_PATH_RAD = 3.0 * DEG
_CROSSING_M = 50.0 * FT
_LOOK_BACK_S = 600.0
_ROUND_FPM = 10.0
_WENT_ON_M = 100.0 * FT  # below a minimum by more, the descent went on through it
_TENTH = "a tenth of the feet per minute"


def _begun(states: States, low_s: float) -> tuple[float, float] | None:
    """When the descent to a low point was begun, and its mean rate of descent; None where the states begin in it. [s, m/s]"""
    before = states.between(low_s - _LOOK_BACK_S, low_s)
    level = np.flatnonzero(before.vertical_speed_mps > -_LEVEL_MPS)
    level = level[before.time_s[level] < low_s - 10.0]
    if len(before) < 2 or not len(level):
        return None
    descending = np.flatnonzero(before.vertical_speed_mps <= -_LEVEL_MPS)
    if not len(descending):
        return None
    last = int(descending[-1])
    first = level[level < last]
    if not len(first):
        return None
    start, end = int(first[-1]), last
    fall = float(before.altitude_m[start] - before.altitude_m[end])
    return float(before.time_s[start]), fall / max(1.0, float(before.time_s[end] - before.time_s[start]))


def learn_floor(context: Context, finding: Finding) -> Lesson | None:
    """When the descent below a leg's minimum was begun, and how long it had to wait, or where to level off."""
    text = context.height.text
    place, established = finding.place, context.reversal.first_established_s
    if place is None or finding.margin is None or finding.margin >= 0.0:
        return None
    descent = _begun(context.motion.states, place.time_s)
    if descent is None:
        return None
    began, rate = descent
    part = context.reversal.part_at(began)
    where = f" {part_where(part.name)}" if part is not None else ""
    cause = f"The descent to there was begun at {clock(began)}{where}, at {rate / FPM:,.0f} ft/min on average."
    went_on = finding.margin * context.height.metres < -_WENT_ON_M
    if went_on and established is not None and finding.leg in ("outbound", "reversal") and began < established:
        return Lesson(cause, _wait(context, established))
    return Lesson(cause, f"At {rate / FPM:,.0f} ft/min begin to level off {text(_lead(rate))} above it: {_TENTH}.")


def _lead(rate_mps: float) -> float:
    """How far above an altitude to begin to level off. [m]"""
    return math.ceil(_LEAD_SHARE * rate_mps / FPM / 10.0) * 10.0 * FT


def _wait(context: Context, established_s: float) -> str | None:
    """What the step-down takes from being established on, where that is a normal rate."""
    text = context.height.text
    floors, inbound = context.motion.charted.floors_m, context.reversal.part("inbound")
    high, low = floors.get("reversal"), floors.get("inbound")
    if high is None or low is None or high <= low or inbound is None or inbound.duration_s <= 0.0:
        return "Wait until established inbound."
    rate = math.ceil((high - low) / inbound.duration_s / FPM / _ROUND_FPM) * _ROUND_FPM
    return (
        f"Wait until established: from there it was {miles(context.motion.distance_at(established_s), 1)} and "
        f"{inbound.duration_s:.0f} s to the fix, in which {text(high - low)} takes {rate:.0f} ft/min."
    )


def learn_ceiling(context: Context, finding: Finding) -> Lesson | None:
    """The rate of descent that there was room for before a fix with a maximum, against that flown."""
    text = context.height.text
    place, established, limit = finding.place, context.reversal.established_s, finding.limit
    if finding.fix is None or place is None or established is None or not isinstance(limit, float):
        return None
    if not isinstance(finding.measured, float) or finding.measured <= limit or place.time_s - established < 10.0:
        return None
    height, seconds = context.motion.altitude_at(established), place.time_s - established
    unit_m = context.height.metres
    takes, flown = (height - limit * unit_m) / seconds, (height - finding.measured * unit_m) / seconds
    return Lesson(
        f"From {text(height)} when established, {flown / FPM:,.0f} ft/min were flown in the {seconds:.0f} s to {finding.fix}.",
        f"Descend at {math.ceil(takes / FPM / _ROUND_FPM) * _ROUND_FPM:,.0f} ft/min from there.",
    )


def learn_step_down_fix(context: Context, finding: Finding) -> Lesson | None:
    """The descent that went below a fix's minimum, and what it would have taken beyond the fix."""
    text = context.height.text
    place = finding.place
    fix = next((one for one in context.motion.charted.fixes if one.name == finding.fix), None)
    if place is None or fix is None or not isinstance(finding.limit, float):
        return None
    descent = _begun(context.motion.states, place.time_s)
    cause = None
    if descent is not None:
        began, rate = descent
        cause = f"The descent to there was begun at {clock(began)}, at {rate / FPM:,.0f} ft/min on average."
    early = finding.details.get("left_before_nm")
    later = f", {early:.1f} NM later than it was" if early is not None else ""
    return Lesson(
        cause,
        f"Level off at {text(finding.limit * context.height.metres)} and leave it once {fix.name} is passed{later}.",
    )


def learn_minimum(context: Context, finding: Finding) -> Lesson | None:
    """Where to begin to level off, or the go-around, or where the path to the runway leaves the minimum."""
    text = context.height.text
    minimum, states, place = context.motion.charted.minimum, final_states(context), finding.place
    if minimum is None or place is None or not len(states):
        return None
    if finding.unit == "deg" or finding.unit == "NM":
        return _hold_it(context, states)
    descent = _begun(context.motion.states, place.time_s)
    rate = descent[1] if descent is not None else None
    if minimum.kind == "da":
        if rate is None:
            return None
        return Lesson(
            f"The altitude was passed at about {rate / FPM:,.0f} ft/min.",
            f"Begin the go-around at {text(minimum.altitude_m)}: one begun there loses {text(_loss(context, finding))}.",
        )
    if descent is None or rate is None:
        return None
    return Lesson(
        f"The descent begun at {clock(descent[0])} went on through the minimum, at {rate / FPM:,.0f} ft/min.",
        f"At that rate begin to level off {text(_lead(rate))} above it, at {text(minimum.altitude_m + _lead(rate))}: {_TENTH}.",
    )


def _loss(context: Context, finding: Finding) -> float:
    return finding.tolerance * context.height.metres


def _hold_it(context: Context, states: States) -> Lesson | None:
    """How far before the threshold a path of 3° leaves the minimum, and the rate of descent it takes."""
    text = context.height.text
    minimum, runway = context.motion.charted.minimum, context.motion.charted.runway
    if minimum is None or runway is None:
        return None
    height = minimum.altitude_m - runway.elevation_m - _CROSSING_M
    if height <= 0.0:
        return None
    point = minimum.visual_descent_point_m or height / math.tan(_PATH_RAD)
    _, before = angle_to_runway(states, runway)
    speed = float(np.median(states.ground_speed_mps))
    if point > float(np.max(before)):
        return None
    angle = math.atan2(height, point)
    return Lesson(
        None,
        f"Hold {text(minimum.altitude_m)} until {point / NM:.1f} NM before the threshold: from there a path of "
        f"{angle / DEG:.1f}° leads to it, {speed * math.tan(angle) / FPM:,.0f} ft/min at {knots(speed)} over the ground.",
    )
