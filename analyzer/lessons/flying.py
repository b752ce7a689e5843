"""Lessons of the flying: the heading that holds a course in the wind, the descent there was time for, the speed at the fix."""

from __future__ import annotations

import math

import numpy as np

from analyzer.checks.below import final_course_rad
from analyzer.checks.model import Context, Finding, Lesson
from analyzer.checks.words import degrees, knots, miles, part_where
from analyzer.legs.model import Part
from analyzer.lessons.descents import wait_until_established
from analyzer.motion.model import States
from analyzer.nominal.fly import Air, Straight, fly
from analyzer.physics import wind_triangle
from analyzer.physics.units import DEG, FPM, NM, bearing_text, wrap

__all__ = ["learn_course", "learn_established", "learn_glide", "learn_step_down"]

_HEADING_TOLD_RAD = 2.0 * DEG
_HELD_M = 0.05 * NM  # what a heading that holds a course may leave it by when flown again
_LOOK_BACK_S, _LEAST_STATES = 90.0, 10
_SETTLED_M = 1.0 * NM  # before the fix, by which the course should be met
_STEERED_RAD = 6.0 * DEG  # a heading that varies by more is none that was held
_CUT_STEP_RAD, _WIDEST_CUT_RAD = 10.0 * DEG, 60.0 * DEG


def learn_course(context: Context, finding: Finding) -> Lesson | None:
    """The heading that holds the course in the estimated wind, against the one that was held."""
    wind, place, charted = context.figures.wind, finding.place, context.motion.charted
    spans = context.reversal.leg_spans(finding.leg)
    span = next((span for span in spans if place is not None and span[0] <= place.time_s <= span[1]), None)
    if wind is None or place is None or span is None:
        return None
    courses = {"outbound": charted.outbound_true_rad, "final": final_course_rad(charted)}
    course = courses.get(finding.leg, charted.inbound_true_rad)
    states = context.motion.states.between(max(span[0], place.time_s - _LOOK_BACK_S), place.time_s)
    if len(states) < _LEAST_STATES:
        return None
    speed = float(states.true_airspeed_mps.mean())
    needed = wind_triangle.heading_needed(course, speed, wind.from_true_rad, wind.speed_mps)
    heading, correction = float(needed.heading_rad), float(needed.correction_rad)
    flown = math.atan2(float(np.sin(states.heading_rad).mean()), float(np.cos(states.heading_rad).mean()))
    off = float(wrap(flown - heading))
    right = finding.details.get("cross_track_nm", 0.0) > 0.0
    if not math.isfinite(heading) or abs(off) < max(_HEADING_TOLD_RAD, 2.0 * wind.sd_mps / speed) or (off > 0.0) != right:
        return None
    again = fly([Straight(place.time_s - float(states.time_s[0]))], Air(speed, wind.to_north_mps, wind.to_east_mps), heading)
    if abs(float(again.across_m(course)[-1])) > _HELD_M:
        return None
    variation = charted.variation.east_rad
    into = f", {degrees(abs(correction), 0)} into the wind" if abs(correction) > 0.5 * DEG else ""
    seconds = float(states.time_s[-1] - states.time_s[0])
    return Lesson(
        f"{_held(states, flown, variation)} in the {seconds:.0f} s before; in this wind the course "
        f"takes {bearing_text(heading - variation)}{into}.",
        f"Hold {bearing_text(heading - variation)} once on the course.",
    )


def _held(states: States, mean_rad: float, variation_rad: float) -> str:
    """Which heading was held, or between which ones was steered, magnetic."""
    off = wrap(states.heading_rad - mean_rad)
    if float(np.std(off)) < _STEERED_RAD:
        return f"Heading {bearing_text(mean_rad - variation_rad)} was held"
    ends = (bearing_text(mean_rad + float(end) - variation_rad) for end in (off.min(), off.max()))
    return f"Headings from {' to '.join(ends)} were steered"


def learn_established(context: Context, finding: Finding) -> Lesson | None:  # noqa: ARG001 (one signature for all)
    """The cut that would have met the inbound course before the fix from where the reversing turn came out."""
    back, passage = context.reversal.last_part("reversal_turn"), context.reversal.passage("inbound")
    if back is None or passage is None:
        return None
    states = context.motion.states.between(back.end_s, passage.time_s)
    if not len(states):
        return None
    course = context.motion.charted.inbound_true_rad
    across, to_go = float(states.cross_track_m(course)[0]), -float(states.along_m(course)[0])
    cut = float(np.median(-math.copysign(1.0, across) * wrap(states.track_rad - course)))
    side = "right" if across > 0.0 else "left"
    cause = (
        f"The turn came out {miles(abs(across), 1)} {side} of the course with {miles(to_go, 1)} to go, and the course was then "
        f"cut towards by {degrees(max(cut, 0.0), 0)}."
    )
    room = to_go - _SETTLED_M
    if room <= 0.0 or math.atan2(abs(across), room) > _WIDEST_CUT_RAD:
        return Lesson(cause, "Go round again: from there the course cannot be met before the fix.")
    needed = _next_cut(math.atan2(abs(across), room))
    return Lesson(cause, f"Cut it by {degrees(needed, 0)}: that meets it a mile before the fix.")


def _next_cut(angle: float) -> float:
    """The next cut that is flown by the compass: whole tens of degrees."""
    return math.ceil(angle / _CUT_STEP_RAD) * _CUT_STEP_RAD


def learn_step_down(context: Context, finding: Finding) -> Lesson | None:
    """How much of the way there was for the descent after being established: seldom is it needed before."""
    established, inbound = context.reversal.first_established_s, context.reversal.part("inbound")
    floors, measured = context.motion.charted.floors_m, finding.measured
    high, low = floors.get("reversal"), floors.get("inbound")
    if finding.place is None or established is None or inbound is None or not isinstance(measured, float):
        return None
    if high is None or low is None or high <= low:
        return None
    before = context.reversal.part_at(finding.place.time_s)
    if before is None or measured >= 0.0 or before.leg not in ("outbound", "reversal"):
        return None
    return Lesson(
        f"The altitude was left {part_where(before.name)}, {-measured:.0f} s before being established.",
        wait_until_established(context, established),
    )


def learn_glide(context: Context, finding: Finding) -> Lesson | None:
    """The rate of descent that the glide path takes at the ground speed flown, against that flown."""
    charted, place = context.motion.charted, finding.place
    last: Part | None = context.reversal.last_part("final") or context.reversal.last_part("inbound")
    if charted.glide_path_rad is None or place is None or last is None:
        return None
    states = context.motion.states.between(place.time_s - 30.0, place.time_s)
    if len(states) < 10:
        return None
    takes = float(states.ground_speed_mps.mean()) * math.tan(charted.glide_path_rad)
    flown = -float(states.vertical_speed_mps.mean())
    too_high = finding.details.get("departure_ft", 0.0) > 0.0
    if (takes - flown) * (1.0 if too_high else -1.0) < 50.0 * FPM:
        return None
    return Lesson(
        f"At {knots(float(states.ground_speed_mps.mean()))} over the ground the path takes {takes / FPM:.0f} ft/min; in the "
        f"half minute before, {flown / FPM:.0f} ft/min were flown.",
        None,
    )
