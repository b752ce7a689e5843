"""From the end of the reversing turn to the runway: onto the inbound course, to the fix or once round again, and final."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import replace

from analyzer.brief.conditions import Conditions
from analyzer.brief.holds import circuit
from analyzer.brief.patterns import Pattern
from analyzer.brief.stages import Stage
from analyzer.errors import BriefError
from analyzer.nominal.fly import Straight, Turn
from analyzer.nominal.solve import solve
from analyzer.physics import geodesy
from analyzer.physics.units import DEG, NM
from analyzer.procedure.charted import Charted

__all__ = ["final_leg", "to_established", "to_runway"]

_ASIDE_M = 1.0 * NM  # of the course: farther off it the course does not lead to the runway
_LEAST_INBOUND_M = 0.3 * NM
# Angles that the inbound course is met at where the turn does not come out on it, the first that can be.
_CUTS_RAD = (30.0 * DEG, 45.0 * DEG, 20.0 * DEG, 10.0 * DEG, 5.0 * DEG, 2.0 * DEG)
_ON_COURSE_M = 0.02 * NM


def _threshold(charted: Charted) -> tuple[float, float, float] | None:
    """Distance and bearing of the threshold from the fix, and how far it is beyond the fix along the inbound course."""
    if charted.runway is None:
        return None
    metres, bearing = geodesy.inverse(
        charted.fix_latitude_rad, charted.fix_longitude_rad, charted.runway.latitude_rad, charted.runway.longitude_rad
    )
    return float(metres), float(bearing), float(metres) * math.cos(float(bearing) - charted.inbound_true_rad)


def final_leg(charted: Charted) -> bool:
    """Whether the inbound course leads to the runway: ahead of the fix, or past it where the facility is on the field."""
    threshold = _threshold(charted)
    if threshold is None:
        return False
    metres, bearing, _ = threshold
    aside = abs(metres * math.sin(bearing - charted.inbound_true_rad))
    return aside <= _ASIDE_M if charted.on_field else math.cos(bearing - charted.inbound_true_rad) > 0.5


def to_established(charted: Charted, pattern: Pattern) -> tuple[Stage, ...]:
    """The pattern's stages, and an intercept where its turn does not come out on the inbound course.

    Raises
    ------
    BriefError
        The course is met only at the fix or beyond; where the facility is on the field, at the threshold or beyond.
    """
    stages = pattern.stages if abs(pattern.rolled_out_m) <= _ON_COURSE_M else _with_intercept(charted, pattern)
    threshold = _threshold(charted)
    goal, named = 0.0, "the fix"
    if threshold is not None and charted.on_field and final_leg(charted) and threshold[2] < 0.0:
        goal, named = threshold[2], "the threshold"
    if goal - _along(charted, pattern, stages) <= _LEAST_INBOUND_M:
        raise BriefError(f"the inbound course is met only at {named} or beyond; choose a longer outbound leg")
    return stages


def to_runway(charted: Charted, conditions: Conditions, pattern: Pattern, rounds: int) -> tuple[Stage, ...]:
    """All stages: established, so many further circuits of a hold, inbound to the fix, and final to a runway.

    Where the facility is on the field, final begins when established inbound and ends abeam the threshold.
    """
    stages, inward = to_established(charted, pattern), conditions.leg(charted, "inbound")
    course, threshold = charted.inbound_true_rad, _threshold(charted)
    speed = inward.hold_course(course)[1]
    for _ in range(rounds):
        to_fix = Stage("inbound", "inbound", Straight(-_along(charted, pattern, stages) / speed), inward, course)
        stages = (*stages, to_fix, *circuit(charted, conditions))
    along = _along(charted, pattern, stages)
    ends = threshold is not None and final_leg(charted)
    if threshold is None or not ends or not charted.on_field:
        stages = (*stages, Stage("inbound", "inbound", Straight(-along / speed), inward, course))
    if threshold is None or not ends:
        return stages
    last = conditions.leg(charted, "final")
    length, final = (threshold[2] - along, course) if charted.on_field else threshold[:2]
    return (*stages, Stage("final", "final", Straight(length / last.hold_course(final)[1]), last, final))


def _along(charted: Charted, pattern: Pattern, stages: Sequence[Stage]) -> float:
    """How far beyond the fix along the inbound course some stages end."""
    path, course = pattern.fly(stages), charted.inbound_true_rad
    return float(path.north_m[-1]) * math.cos(course) + float(path.east_m[-1]) * math.sin(course)


def _with_intercept(charted: Charted, pattern: Pattern) -> tuple[Stage, ...]:
    """The stages with the turn ended short of the inbound course, or past it, and the course met from there."""
    back = pattern.stages[-1]
    if not isinstance(back.segment, Turn):
        raise TypeError(f"{pattern.shape}: a pattern that does not end in a turn")
    air, direction, course = back.air, back.segment.direction, charted.inbound_true_rad
    home = air.hold_course(course)[0]
    for cut in (size * sign for size in _CUTS_RAD for sign in (-direction, direction)):
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
    raise BriefError("the inbound course cannot be met from where the reversing turn comes out; choose a longer outbound leg")
