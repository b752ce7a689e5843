"""Lessons on courses and paths: the heading that holds a course, the angle that intercepts it, rates of descent."""

from __future__ import annotations

import math

import numpy as np

from analyzer.checks.finding import Context, Finding, Lesson
from analyzer.checks.phrases import degrees, feet, knots, miles, part_where
from analyzer.legs.course_lines import flown_lines
from analyzer.legs.reversal import Part
from analyzer.lessons.descents import NORMAL_MPS, rate_words, wait_until_established
from analyzer.lessons.headings import Steered, steered
from analyzer.lessons.possible import fact_or_possible
from analyzer.motion.states import States
from analyzer.nominal.fly import Air, Straight, fly
from analyzer.physics.units import DEG, FPM, NM, bearing_text, circular_mean, wrap

__all__ = ["bracket", "heading_lesson", "learn_course", "learn_established", "learn_glide", "learn_step_down"]

_LEAST_HEADING_RAD = 2.0 * DEG  # a smaller error of heading is not a cause
_HELD_M = 0.05 * NM  # allowed deviation when the heading that holds the course is simulated
_LOOK_BACK_S, _LEAST_STATES = 90.0, 10
_SETTLED_M = 1.0 * NM  # before the fix, where the course should be intercepted at the latest
_STEERED_RAD = 6.0 * DEG  # standard deviation from which a heading was not held
_PARALLEL_RAD = 3.0 * DEG  # a track this close to the course is parallel to it
_LEAST_RATE_MPS, _CORRECTION_MPS = 50.0 * FPM, 150.0 * FPM  # common practice, no source
_BRACKETS_RAD, _BACK_WITHIN_S = tuple(cut * DEG for cut in (5.0, 10.0, 20.0, 30.0)), 60.0  # common practice, no source
_CUT_STEP_RAD, _WIDEST_CUT_RAD = 10.0 * DEG, 60.0 * DEG


def learn_course(context: Context, finding: Finding) -> Lesson | None:
    """The heading that holds the course in the wind, compared with the one flown; else the angle to intercept it again."""
    place, charted = finding.place, context.motion.charted
    spans = context.reversal.leg_spans(finding.leg)
    span = next((span for span in spans if place is not None and span[0] <= place.time_s <= span[1]), None)
    if place is None or span is None:
        return None
    course = charted.outbound_true_rad if finding.leg == "outbound" else charted.inbound_true_rad
    if finding.leg in ("inbound", "final"):
        leg = context.motion.states.between(span[0], place.time_s)
        course = [line.course_rad for line, along in flown_lines(leg, charted, finding.leg) if along.any()][-1]
    states = context.motion.states.between(max(span[0], place.time_s - _LOOK_BACK_S), place.time_s)
    if len(states) < _LEAST_STATES:
        return None
    return heading_lesson(context, finding, states, course) or bracket(context, finding, states, course)


def _needed(context: Context, states: States, course_rad: float) -> Steered | None:
    """The heading that holds a course at the airspeed flown."""
    return steered(course_rad, float(states.true_airspeed_mps.mean()), context.figures.wind)


def heading_lesson(context: Context, finding: Finding, states: States, course_rad: float) -> Lesson | None:
    """The lesson on the heading that holds the course; None if the heading flown does not explain the deviation."""
    wind, needed, speed = context.figures.wind, _needed(context, states, course_rad), float(states.true_airspeed_mps.mean())
    if wind is None or needed is None:
        return None
    heading, correction = needed.heading_rad, needed.correction_rad
    flown = circular_mean(states.heading_rad)
    off = float(wrap(flown - heading))
    right = finding.details.get("cross_track_nm", 0.0) > 0.0
    if abs(off) < max(_LEAST_HEADING_RAD, 2.0 * wind.sd_mps / speed) or (off > 0.0) != right:
        return None
    seconds = float(states.time_s[-1] - states.time_s[0])
    simulated = fly([Straight(seconds)], Air(speed, wind.to_north_mps, wind.to_east_mps), heading)
    if abs(float(simulated.across_m(course_rad)[-1])) > _HELD_M:
        return None
    variation = context.motion.charted.variation.east_rad
    into = f", {degrees(abs(correction), 0)} into the wind" if abs(correction) > 0.5 * DEG else ""
    return Lesson(
        f"{_headings_flown(states, flown, variation)} in the {seconds:.0f} s before; in this wind the course "
        f"requires {bearing_text(heading - variation)}{into}.",
        f"Hold {bearing_text(heading - variation)} once on the course.",
    )


def bracket(context: Context, finding: Finding, states: States, course_rad: float) -> Lesson | None:
    """The intercept angle that regains the course within a minute; None if the track led back to it."""
    across = finding.details.get("cross_track_nm", 0.0) * NM
    closing = float(np.median(-math.copysign(1.0, across) * wrap(states.track_rad - course_rad)))
    speed = float(states.ground_speed_mps[-1])
    if closing >= _PARALLEL_RAD or speed <= 0.0:
        return None
    led = f"led away from the course by {degrees(-closing, 0)}" if closing <= -_PARALLEL_RAD else "ran parallel to the course"
    seconds = [abs(across) / (speed * math.sin(cut)) for cut in _BRACKETS_RAD]
    number = next((number for number, duration in enumerate(seconds) if duration <= _BACK_WITHIN_S), len(seconds) - 1)
    needed = _needed(context, states, course_rad)
    distance = miles(abs(across)) if abs(across) >= NM else feet(abs(across))
    then = ""
    if needed is not None:
        then = f", then hold {bearing_text(needed.heading_rad - context.motion.charted.variation.east_rad)}"
    return Lesson(
        f"In the {float(states.time_s[-1] - states.time_s[0]):.0f} s before, the track {led}.",
        f"Intercept at {degrees(_BRACKETS_RAD[number], 0)} from the {'right' if across > 0.0 else 'left'}: that closes "
        f"{distance} in {seconds[number]:.0f} s{then}.",
    )


def _headings_flown(states: States, mean_rad: float, variation_rad: float) -> str:
    """The magnetic heading that was held, or the range of headings steered, in words."""
    off = wrap(states.heading_rad - mean_rad)
    if float(np.std(off)) < _STEERED_RAD:
        return f"Heading {bearing_text(mean_rad - variation_rad)} was held"
    ends = (bearing_text(mean_rad + float(end) - variation_rad) for end in (off.min(), off.max()))
    return f"Headings from {' to '.join(ends)} were steered"


def learn_established(context: Context, finding: Finding) -> Lesson | None:  # noqa: ARG001 (one signature for all)
    """The angle to intercept the inbound course before the fix from where the reversing turn rolled out."""
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
    came_out = f"The turn rolled out {miles(abs(across))} {side} of the course with {miles(to_go, 1)} to go"
    cause = f"{came_out}; {_cut_words(states, course, cut)}."
    room = to_go - _SETTLED_M
    if room <= 0.0 or math.atan2(abs(across), room) > _WIDEST_CUT_RAD:
        return Lesson(cause, "Fly another circuit: from there the course cannot be intercepted before the fix.")
    needed = max(_CUT_STEP_RAD, math.ceil(math.atan2(abs(across), room) / _CUT_STEP_RAD) * _CUT_STEP_RAD)
    meets = to_go - abs(across) / math.tan(needed)
    return Lesson(cause, f"Intercept at {degrees(needed, 0)}: that meets the course {miles(meets, 1)} before the fix.")


def _cut_words(states: States, course_rad: float, cut_rad: float) -> str:
    """How the track converged on a course or led away from it, or how far off it ran parallel, in words."""
    if cut_rad >= _PARALLEL_RAD:
        return f"the track then closed with the course at {degrees(cut_rad, 0)}"
    if cut_rad <= -_PARALLEL_RAD:
        return f"the track then led away from the course by {degrees(-cut_rad, 0)}"
    across = float(np.median(states.cross_track_m(course_rad)))
    return f"the track then ran parallel to the course, {miles(abs(across))} {'right' if across > 0.0 else 'left'} of it"


def learn_step_down(context: Context, finding: Finding) -> Lesson | None:
    """How early an altitude was left, and the descent that was possible once established."""
    at_s = finding.place.time_s if finding.place is not None else -math.inf
    established, inbound = context.reversal.established_after(at_s), context.reversal.part("inbound")
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
        f"The altitude {fact_or_possible(finding, 'was', 'may have been')} left {part_where(before.name)}, {-measured:.0f} s "
        "before being established.",
        wait_until_established(context, established),
    )


def learn_glide(context: Context, finding: Finding) -> Lesson | None:
    """The rate of descent for the glide path at the ground speed flown, compared with that flown."""
    charted, place = context.motion.charted, finding.place
    last: Part | None = context.reversal.last_part("final") or context.reversal.last_part("inbound")
    if charted.glide_path_rad is None or place is None or last is None:
        return None
    states = context.motion.states.between(place.time_s - 30.0, place.time_s)
    if len(states) < 10:
        return None
    needed = float(states.ground_speed_mps.mean()) * math.tan(charted.glide_path_rad)
    flown = -float(states.vertical_speed_mps.mean())
    too_high = finding.details.get("departure_ft", 0.0) > 0.0
    speed, path = knots(float(states.ground_speed_mps.mean())), rate_words(needed)
    cause = None
    if (needed - flown) * (1.0 if too_high else -1.0) >= _LEAST_RATE_MPS:
        down = f"{rate_words(flown)} was flown" if flown >= 0.0 else "the aircraft climbed"
        cause = f"At {speed} over the ground the path requires {path}; in the half minute before, {down}."
    back = needed + (_CORRECTION_MPS if too_high else -_CORRECTION_MPS)
    if back > NORMAL_MPS:
        return _lesson_or_none(cause)
    return Lesson(
        cause,
        f"When {'high' if too_high else 'low'} by half the limit, fly {rate_words(back)} until back on the path, then {path}.",
    )


def _lesson_or_none(cause: str | None) -> Lesson | None:
    return None if cause is None else Lesson(cause, None)
