"""Which lesson goes with which check, and adding them to the findings that are outside or close."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace

from analyzer.checks.model import CLOSE, OUTSIDE, Context, Finding, Lesson
from analyzer.lessons.altitudes import learn_floor, learn_minimum, learn_step_down_fix
from analyzer.lessons.flying import learn_course, learn_established, learn_glide, learn_speed, learn_step_down
from analyzer.lessons.reversals import learn_bank, learn_distance, learn_leg_time, learn_side
from analyzer.vocabulary import CheckName

__all__ = ["LESSONS", "teach"]

LESSONS: Mapping[CheckName, Callable[[Context, Finding], Lesson | None]] = {
    "distance_limit": learn_distance,
    "reversal_side": learn_side,
    "established": learn_established,
    "minimum_altitude": learn_minimum,
    "step_down": learn_step_down_fix,
    "altitude_floor": learn_floor,
    "descent_timing": learn_step_down,
    "outbound_course": learn_course,
    "inbound_course": learn_course,
    "final_course": learn_course,
    "turn_bank": learn_bank,
    "intercept": learn_leg_time,
    "speed_limit": learn_speed,
    "glide_path": learn_glide,
}


def teach(context: Context, findings: tuple[Finding, ...]) -> tuple[Finding, ...]:
    """The findings, those outside or close with their lesson where one can be told."""
    return tuple(
        replace(finding, lesson=LESSONS[finding.check](context, finding))
        if finding.check in LESSONS and finding.verdict in (OUTSIDE, CLOSE)
        else finding
        for finding in findings
    )
