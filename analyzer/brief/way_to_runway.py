"""From the end of the reversing turn to the runway: onto the inbound course, further circuits of a hold, and final."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from typing import Literal

from analyzer.brief.conditions import Conditions
from analyzer.brief.gates import Gate, final_begins_at, final_leg, gates, threshold_place
from analyzer.brief.hold_pattern import circuit
from analyzer.brief.patterns import Pattern
from analyzer.brief.stages import Stage
from analyzer.errors import BriefError
from analyzer.nominal.fly import Straight, Turn
from analyzer.nominal.solve import solve
from analyzer.physics.units import DEG, NM, wrap
from analyzer.procedure.charted import Charted

__all__ = ["CUTS_RAD", "to_established", "to_runway"]

_LEAST_INBOUND_M = 0.3 * NM
# Intercept angles, tried in order if the turn does not roll out on the inbound course.
CUTS_RAD = (30.0 * DEG, 45.0 * DEG, 20.0 * DEG, 10.0 * DEG, 5.0 * DEG, 2.0 * DEG)
_ON_COURSE_M = 0.02 * NM
_ALONG_RAD = 1.0 * DEG
_LEAST_GATE_M = 0.05 * NM  # a gate nearer ahead counts as passed


def to_established(charted: Charted, pattern: Pattern, cuts_rad: Sequence[float] = CUTS_RAD) -> tuple[Stage, ...]:
    """The stages of a pattern, with an intercept if its turn does not roll out on the inbound course.

    The intercept angle is the first of `cuts_rad` at which the course can be met.

    Raises
    ------
    BriefError
        The course is met only at the fix or beyond; if the facility is on the field, at the threshold or beyond.
    """
    stages = pattern.stages if _comes_out_on_course(charted, pattern) else _with_intercept(charted, pattern, cuts_rad)
    threshold = threshold_place(charted)
    goal, named = 0.0, "the fix"
    if threshold is not None and charted.on_field and final_leg(charted) and threshold.along_m < 0.0:
        goal, named = threshold.along_m, "the threshold"
    if goal - _along(charted, pattern, stages) <= _LEAST_INBOUND_M:
        raise BriefError(f"the inbound course is met only at {named} or beyond; choose a longer outbound leg")
    return stages


def _comes_out_on_course(charted: Charted, pattern: Pattern) -> bool:
    """Whether the turn of a pattern ends on the inbound course and along it; that of a parallel entry crosses it."""
    back = pattern.stages[-1]
    if not isinstance(back.segment, Turn):
        return False
    off = float(wrap(back.segment.to_heading_rad - back.air.hold_course(charted.inbound_true_rad)[0]))
    return abs(pattern.rolled_out_m) <= _ON_COURSE_M and abs(off) <= _ALONG_RAD


def to_runway(charted: Charted, conditions: Conditions, pattern: Pattern, rounds: int) -> tuple[Stage, ...]:
    """All stages of an approach: the pattern, `rounds` further circuits of a hold, and the way in from gate to gate.

    The inbound leg leads to the final approach fix, or without one to the reversal fix; the final leg from there to the runway
    or the last fix. If the facility is on the field and no final approach fix is ahead, final begins when established inbound.
    """
    stages, inward = to_established(charted, pattern), conditions.leg(charted, "inbound")
    course = charted.inbound_true_rad
    speed = inward.hold_course(course)[1]
    for _ in range(rounds):
        to_fix = Stage("inbound", "inbound", Straight(-_along(charted, pattern, stages) / speed), inward, course)
        stages = (*stages, to_fix, *circuit(charted, conditions))
    return (*stages, *_way_in(charted, conditions, _along(charted, pattern, stages)))


def _way_in(charted: Charted, conditions: Conditions, along_m: float) -> Iterator[Stage]:
    """The stages from a place on the inbound course, from gate to gate."""
    begins, course = final_begins_at(charted), charted.inbound_true_rad
    here = Gate("", "reversal-fix", along_m * math.cos(course), along_m * math.sin(course), along_m)
    for gate in gates(charted):
        if gate.along_m <= here.along_m + _LEAST_GATE_M:
            continue
        inbound = begins is not None and gate.along_m <= begins + _LEAST_GATE_M
        name: Literal["inbound", "final"] = "inbound" if inbound else "final"
        air, way = conditions.leg(charted, name), gate.course_from(here)
        way = course if abs(gate.apart_m(here) * math.sin(way - course)) <= _ON_COURSE_M else way
        yield Stage(name, name, Straight(gate.apart_m(here) / air.hold_course(way)[1]), air, way, gate)
        here = gate


def _along(charted: Charted, pattern: Pattern, stages: Sequence[Stage]) -> float:
    """End of some stages along the inbound course, positive beyond the fix. [m]"""
    path, course = pattern.fly(stages), charted.inbound_true_rad
    return float(path.north_m[-1]) * math.cos(course) + float(path.east_m[-1]) * math.sin(course)


def _with_intercept(charted: Charted, pattern: Pattern, cuts_rad: Sequence[float]) -> tuple[Stage, ...]:
    """The stages with the turn ended before the inbound course or past it, and an intercept from there."""
    back = pattern.stages[-1]
    if not isinstance(back.segment, Turn):
        raise TypeError(f"{pattern.shape}: the pattern does not end in a turn")
    air, direction, course = back.air, back.segment.direction, charted.inbound_true_rad
    home = air.hold_course(course)[0]
    for cut in (size * sign for size in cuts_rad for sign in (-direction, direction)):
        heading = air.hold_course(course + cut)[0]
        last = 1 if cut < 0.0 else -1
        before = [*pattern.stages[:-1], replace(back, segment=replace(back.segment, to_heading_rad=heading))]

        def stages(seconds: float, before: list[Stage] = before, last: int = last) -> tuple[Stage, ...]:
            return (
                *before,
                Stage("intercept", "reversal", Straight(seconds), air),
                Stage("intercept", "reversal", Turn(home, last, air.bank_rad), air),
            )

        def across(seconds: float, stages: Callable[[float], tuple[Stage, ...]] = stages) -> float:
            return float(pattern.fly(stages(seconds)).across_m(course)[-1])

        seconds = solve(across, 0.0, 600.0)
        if seconds is not None:
            return stages(seconds)
    raise BriefError("the inbound course cannot be met from where the turn back rolls out; choose a longer outbound leg")
