"""Lessons on the inbound course of a hold: the heading that holds it, or the angle that joins it before the fix."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from analyzer.checks.finding import Context, Finding, Lesson
from analyzer.checks.phrases import degrees, miles
from analyzer.lessons.flying import bracket, heading_lesson
from analyzer.lessons.headings import course_words, steered
from analyzer.physics.units import DEG, NM, wrap

__all__ = ["learn_hold_course"]

_LOOK_BACK_S, _LEAST_STATES = 90.0, 10
_LEVEL_RAD = 5.0 * DEG
_CUT_RAD = 30.0 * DEG  # common practice, no source
_JOINED_SHARE = 0.7  # of the way to the fix, by which the course should be joined


def learn_hold_course(context: Context, finding: Finding) -> Lesson | None:
    """The heading flown on the inbound leg of a lap against the one needed, or the angle at which the course is joined."""
    place = finding.place
    part = context.reversal.part_at(place.time_s) if place is not None else None
    if place is None or part is None:
        return None
    # a course that was never joined is missed on all of the leg
    until = place.time_s if "cross_track_ft" in finding.details else part.end_s
    states = context.motion.states.between(max(part.start_s, until - _LOOK_BACK_S), until)
    states = states.where(np.abs(states.bank_rad) < _LEVEL_RAD)
    if len(states) < _LEAST_STATES:
        return None
    course = context.motion.charted.inbound_true_rad
    across = states.cross_track_m(course)
    placed = replace(finding, details={"cross_track_nm": float(across[-1]) / NM})
    lesson = heading_lesson(context, placed, states, course) or bracket(context, placed, states, course)
    if lesson is not None:
        return lesson
    closing = float(np.median(-math.copysign(1.0, float(across[0])) * wrap(states.track_rad - course)))
    off, to_go = abs(float(across[0])), -float(states.along_m(course)[0])
    if not 0.0 < closing < _CUT_RAD or off / math.tan(_CUT_RAD) > _JOINED_SHARE * to_go:
        return None
    needed = steered(course, float(states.true_airspeed_mps.mean()), context.figures.wind)
    rolled_out = f"The turn inbound rolled out {miles(off)} {'right' if across[0] > 0.0 else 'left'} of the course"
    return Lesson(
        f"{rolled_out}, and the track closed with it at {degrees(closing, 0)} only.",
        f"Intercept at {degrees(_CUT_RAD, 0)} after the turn inbound, then hold {course_words(context, course, needed)}.",
    )
