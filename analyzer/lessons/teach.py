"""Which lesson goes with which check, and adding them to the findings that are outside or close."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace

from analyzer.checks.model import CLOSE, OUTSIDE, Context, Finding, Lesson
from analyzer.lessons.flying import learn_course, learn_glide, learn_speed, learn_step_down
from analyzer.lessons.reversals import learn_bank, learn_distance, learn_leg_time, learn_side

__all__ = ["LESSONS", "teach"]

LESSONS: Mapping[str, Callable[[Context, Finding], Lesson | None]] = {
    "distance_limit": learn_distance,
    "reversal_side": learn_side,
    "descent_timing": learn_step_down,
    "outbound_course": learn_course,
    "inbound_course": learn_course,
    "offset_time": learn_leg_time,
    "turn_bank": learn_bank,
    "intercept": learn_leg_time,
    "speed_limit": learn_speed,
    "glide_path": learn_glide,
}
_ALWAYS = {"offset_time"}  # without a limit of its own: what it should have been is worth knowing


def teach(context: Context, findings: tuple[Finding, ...]) -> tuple[Finding, ...]:
    """The findings, those outside or close with their lesson where one can be told."""
    return tuple(
        replace(finding, lesson=LESSONS[finding.check](context, finding))
        if finding.check in LESSONS and (finding.verdict in (OUTSIDE, CLOSE) or finding.check in _ALWAYS)
        else finding
        for finding in findings
    )
