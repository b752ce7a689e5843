"""The table of lessons by check, and adding them to the findings that are outside or too close to call."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace

from analyzer.checks.finding import CLOSE, OUTSIDE, Context, Finding, Lesson
from analyzer.lessons.altitudes import learn_ceiling, learn_floor, learn_minimum, learn_step_down_fix
from analyzer.lessons.arcs import learn_arc
from analyzer.lessons.banks import learn_average_bank, learn_bank
from analyzer.lessons.finals import learn_stabilised
from analyzer.lessons.flying import learn_course, learn_established, learn_glide, learn_step_down
from analyzer.lessons.hold_courses import learn_hold_course
from analyzer.lessons.hold_entries import learn_entry, learn_hold_turn
from analyzer.lessons.holds import learn_leg
from analyzer.lessons.levels import learn_level
from analyzer.lessons.missed import (
    learn_missed_altitude,
    learn_missed_climb,
    learn_missed_course,
    learn_missed_point,
    learn_missed_turn,
)
from analyzer.lessons.overshoots import learn_leg_time
from analyzer.lessons.reversals import learn_distance, learn_side
from analyzer.lessons.routes import learn_route, learn_sector, learn_shape
from analyzer.lessons.speeds import learn_speed, learn_target
from analyzer.vocabulary import CheckName

__all__ = ["LESSONS", "teach"]

LESSONS: Mapping[CheckName, Callable[[Context, Finding], Lesson | None]] = {
    "distance_limit": learn_distance,
    "reversal_side": learn_side,
    "no_reversal": learn_route,
    "reversal_shape": learn_shape,
    "entry_sector": learn_sector,
    "established": learn_established,
    "minimum_altitude": learn_minimum,
    "step_down": learn_step_down_fix,
    "altitude_floor": learn_floor,
    "maximum_altitude": learn_ceiling,
    "missed_point": learn_missed_point,
    "missed_climb": learn_missed_climb,
    "missed_turn": learn_missed_turn,
    "missed_course": learn_missed_course,
    "missed_altitude": learn_missed_altitude,
    "descent_timing": learn_step_down,
    "outbound_course": learn_course,
    "inbound_course": learn_course,
    "final_course": learn_course,
    "turn_bank": learn_bank,
    "average_bank": learn_average_bank,
    "intercept": learn_leg_time,
    "leg_limit": learn_leg,
    "hold_timing": learn_leg,
    "hold_entry": learn_entry,
    "hold_turn": learn_hold_turn,
    "hold_course": learn_hold_course,
    "hold_altitude": learn_level,
    "altitude_hold": learn_level,
    "arc_radius": learn_arc,
    "stabilised_descent": learn_stabilised,
    "speed_limit": learn_speed,
    "target_speed": learn_target,
    "glide_path": learn_glide,
}


def teach(context: Context, findings: tuple[Finding, ...]) -> tuple[Finding, ...]:
    """The findings, with a lesson added to those outside or too close to call where there is one."""
    return tuple(
        replace(finding, lesson=LESSONS[finding.check](context, finding))
        if finding.check in LESSONS and finding.verdict in (OUTSIDE, CLOSE)
        else finding
        for finding in findings
    )
