"""What a pilot should notice in a plan: what goes beyond the chart or common sense, and what the path leaves out."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace

from analyzer.brief.holds import leg_seconds
from analyzer.brief.plan import Plan, make_plan
from analyzer.nominal.fly import Straight
from analyzer.physics.units import DEG, FPM, KT, bearing_text, wrap

__all__ = ["cautions"]

_STEEP_MPS = 1000.0 * FPM  # FAA-H-8083-16B ch. 4 of the last thousand feet; a caution elsewhere
_SHALLOW_RAD = 10.0 * DEG  # a third of standard rate at 160 kt; common practice, no source
_LED_RAD = 20.0 * DEG
_LONGER_S = 1.0


def cautions(plan: Plan) -> tuple[str, ...]:
    """A sentence each."""
    return (*_speed(plan), *_bank(plan), *_leg(plan), *_arrival(plan), *_descents(plan), *_runway(plan))


def _speed(plan: Plan) -> Iterator[str]:
    limit, conditions = plan.charted.maximum_speed_mps, plan.conditions
    if limit is None or conditions.speeds_are_true:
        return
    every = conditions.speeds_mps.get("all", 0.0)
    asked = max(conditions.speeds_mps.get(leg, every) for leg in ("outbound", "reversal"))
    if asked > limit:
        yield f"{asked / KT:.0f} kt is faster than the {limit / KT:.0f} kt charted for the reversal."


def _bank(plan: Plan) -> Iterator[str]:
    if plan.pattern.solved != "bank of the turn":
        return
    turn = next(part for part in plan.parts if part.part == "reversal_turn")
    bank = turn.bank_rad or 0.0
    if bank < _SHALLOW_RAD:
        usual = make_plan(plan.charted, replace(plan.conditions, outbound_m=None, outbound_s=None)).pattern.stages[0].segment
        instead = f"; {usual.seconds:.0f} s outbound suits the usual turn" if isinstance(usual, Straight) else ""
        told = f"The turn back takes no more than {bank / DEG:.0f}° of bank for {turn.seconds:.0f} s"
        yield f"{told}, too shallow to hold{instead}."


def _leg(plan: Plan) -> Iterator[str]:
    if not plan.pattern.shape.startswith("hold") or plan.charted.leg_time_s is None or plan.conditions.outbound_s is not None:
        return
    charted = leg_seconds(plan.charted, plan.conditions.leg(plan.charted, "outbound"))
    flown = next(part.seconds for part in plan.parts if part.part == "outbound")
    if flown > charted + _LONGER_S:
        yield (
            f"The outbound leg is {flown:.0f} s instead of the {charted:.0f} s charted: with those the inbound course would be "
            "met only at the fix or beyond."
        )


def _arrival(plan: Plan) -> Iterator[str]:
    arrival = plan.conditions.arrival_rad
    if plan.charted.kind == "arc":
        if arrival is None:
            course = plan.stages[0].course_rad or 0.0
            yield (
                f"No arrival is given: the arc is joined from outside on course "
                f"{bearing_text(course - plan.charted.variation.east_rad)}; --arrival COURSE names another."
            )
        return
    if arrival is None or plan.stages[0].part == "outbound_turn" or plan.pattern.shape.startswith("hold"):
        return
    angle = abs(float(wrap(plan.charted.outbound_true_rad - arrival)))
    if angle > _LED_RAD:
        yield (
            f"The turn of {angle / DEG:.0f}° onto the outbound course does not come out on it within the outbound leg: it is "
            "not in the path, which begins on that course at the fix."
        )


def _descents(plan: Plan) -> Iterator[str]:
    for part in plan.parts:
        if math.isfinite(part.descent_mps) and part.descent_mps > _STEEP_MPS:
            name = part.part.replace("_", " ")
            yield f"The {name} part takes a descent of {part.descent_mps / FPM:,.0f} ft/min, more than 1,000."


def _runway(plan: Plan) -> Iterator[str]:
    if plan.charted.runway is not None and plan.parts[-1].leg != "final":
        yield "The runway does not lie ahead of the fix on the inbound course: there is no final leg in the plan."
