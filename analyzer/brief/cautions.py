"""Cautions on a plan: where it exceeds the chart or good practice, and what the path leaves out."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace

from analyzer.brief.conditions import GREATEST_BANK_RAD
from analyzer.brief.descent import Short
from analyzer.brief.gates import final_leg
from analyzer.brief.hold_pattern import leg_seconds
from analyzer.brief.leg_length import leg_read
from analyzer.brief.plan import Plan, make_plan
from analyzer.brief.reversal_numbers import hold_outbound_s
from analyzer.brief.steadiest_descent import NORMAL_MPS
from analyzer.brief.way_in_cautions import way_in_cautions
from analyzer.checks.phrases import height_unit
from analyzer.nominal.fly import Straight
from analyzer.physics import holding
from analyzer.physics.units import DEG, FPM, KT, NM, bearing_text, wrap
from analyzer.vocabulary import Leg

__all__ = ["cautions"]

_TURN_KT = 200.0  # maximum in a procedure turn where none is charted; AIM 5-4-9 a.3
_SHALLOW_RAD = 10.0 * DEG  # a third of standard rate at 160 kt; common practice, no source
_STEEPER_RAD = 0.5 * DEG
_LED_RAD = 20.0 * DEG
_LONGER_S, _LONGER_M = 1.0, 0.05 * NM
_FASTER_KT = 0.5
_OFF_TARGET_KT = 10.0  # as the test standards allow


def cautions(plan: Plan) -> tuple[str, ...]:
    """The cautions on a plan, a sentence each."""
    return (
        *_speed(plan),
        *_targets(plan),
        *_bank(plan),
        *_leg(plan),
        *_arrival(plan),
        *_sector(plan),
        *_descents(plan),
        *_runway(plan),
    )


def _speed(plan: Plan) -> Iterator[str]:
    """The leg that exceeds its maximum speed most, charted or published."""
    over = []
    for leg in ("outbound", "reversal"):
        limit_kt, source = _limit_kt(plan, leg)
        speed_kt = plan.conditions.indicated_mps(plan.charted, leg) / KT
        if speed_kt > limit_kt + _FASTER_KT:
            over.append((speed_kt - limit_kt, speed_kt, limit_kt, source))
    for _, speed_kt, limit_kt, source in sorted(over, reverse=True)[:1]:
        yield f"{speed_kt:.0f} kt indicated is faster than the {limit_kt:.0f} kt {source}."


def _targets(plan: Plan) -> Iterator[str]:
    """The legs that are planned at another speed than the chart's target."""
    apart = [
        f"{leg} {target_mps / KT:.0f} kt, planned at {speed_kt:.0f} kt"
        for leg, target_mps in plan.charted.target_speeds_mps.items()
        if abs((speed_kt := plan.conditions.indicated_mps(plan.charted, leg) / KT) - target_mps / KT) > _OFF_TARGET_KT
    ]
    if apart:
        yield f"Target speeds are charted: {'; '.join(apart)}. A debrief finds the difference."


def _sector(plan: Plan) -> Iterator[str]:
    """An arrival from outside the charted sector, from which the reversal is not entered."""
    charted, arrival = plan.charted, plan.conditions.arrival_rad
    within = charted.entry_within_rad
    if arrival is None or within is None or charted.kind not in ("procedure-turn", "base-turn"):
        return
    off = float(wrap(arrival - charted.outbound_true_rad))
    reciprocal = float(wrap(charted.inbound_true_rad + math.pi - charted.outbound_true_rad))
    reaches = max(within, abs(reciprocal)) if charted.kind == "base-turn" and reciprocal * off > 0.0 else within
    if abs(off) > reaches:
        yield (
            f"The arrival is {abs(off) / DEG:.0f}° off the outbound course, and the reversal is entered from within "
            f"{reaches / DEG:.0f}° of it: enter it from a hold at the fix, or by another arrival."
        )


def _limit_kt(plan: Plan, leg: Leg) -> tuple[float, str]:
    charted = plan.charted
    if charted.maximum_speed_mps is not None:
        return charted.maximum_speed_mps / KT, "charted for the reversal"
    if charted.kind == "hold":
        altitude = plan.conditions.leg(charted, leg).altitude_m
        return holding.maximum_speed_kt(altitude), f"for a hold at {_height(plan, altitude)} (AIM 5-3-8 j.2)"
    if charted.kind in ("procedure-turn", "base-turn"):
        return _TURN_KT, "for a procedure turn (AIM 5-4-9 a.3)"
    return math.inf, ""


def _bank(plan: Plan) -> Iterator[str]:
    steepest = max((abs(part.bank_rad) for part in plan.parts if part.bank_rad is not None), default=0.0)
    if steepest > GREATEST_BANK_RAD + _STEEPER_RAD:
        yield (
            f"{steepest / DEG:.0f}° of bank is steeper than the {GREATEST_BANK_RAD / DEG:.0f}° beyond which a debrief finds a "
            "turn outside (FAA-H-8083-15B, ch. 7, Procedure Turn)."
        )
    if plan.pattern.solved != "bank of the turn":
        return
    turn = next(part for part in plan.parts if part.part == "reversal_turn")
    bank = turn.bank_rad or 0.0
    if bank < _SHALLOW_RAD:
        usual = make_plan(plan.charted, replace(plan.conditions, outbound_m=None, outbound_s=None)).pattern.stages[0].segment
        instead = f"; {usual.seconds:.0f} s outbound suits the usual bank" if isinstance(usual, Straight) else ""
        yield f"The turn back needs only {bank / DEG:.0f}° of bank for {turn.seconds:.0f} s, too shallow to fly well{instead}."


def _leg(plan: Plan) -> Iterator[str]:
    if _lengthened(plan):
        charted, flown = _leg_charted(plan), _leg_flown(plan)
        unit = "s" if plan.charted.leg_length_m is None else "NM"
        charted_text, flown_text = (f"{value:.0f} s" if unit == "s" else f"{value / NM:.1f} NM" for value in (charted, flown))
        yield (
            f"The outbound leg is {flown_text}, not the {charted_text} charted, from which the inbound course would be met "
            f"only at the fix or beyond. A debrief finds that too long. To keep to {charted_text}, return to the fix from "
            "there and fly a circuit."
        )


def _lengthened(plan: Plan) -> bool:
    """Whether the outbound leg of a hold's entry is longer than charted."""
    charted = plan.charted
    if not plan.pattern.shape.startswith("hold") or plan.conditions.outbound_s is not None:
        return False
    if charted.leg_length_m is not None:
        return _leg_flown(plan) > charted.leg_length_m + _LONGER_M
    return charted.leg_time_s is not None and _leg_flown(plan) > _leg_charted(plan) + _LONGER_S


def _leg_charted(plan: Plan) -> float:
    """Charted length of the outbound leg, or its time where no length is charted. [m or s]"""
    length = plan.charted.leg_length_m
    return length if length is not None else leg_seconds(plan.charted, plan.conditions.leg(plan.charted, "outbound"))


def _leg_flown(plan: Plan) -> float:
    """Planned length of the outbound leg as it is read, or its time where no length is charted. [m or s]"""
    if plan.charted.leg_length_m is None:
        return hold_outbound_s(plan)[0]
    number = next(k for k, part in enumerate(plan.parts) if part.part == "outbound")
    end, altitude = plan.path.ends[number], plan.conditions.leg(plan.charted, "outbound").altitude_m
    return leg_read(plan.charted, float(plan.path.north_m[end]), float(plan.path.east_m[end]), altitude)


def _arrival(plan: Plan) -> Iterator[str]:
    arrival = plan.conditions.arrival_rad
    if plan.charted.kind == "arc":
        if arrival is None:
            course = plan.stages[0].course_rad or 0.0
            yield (
                f"No arrival is given: the arc is joined from outside on course "
                f"{bearing_text(course - plan.charted.variation.east_rad)}. Give another with --arrival COURSE."
            )
        return
    if plan.charted.kind == "hold" and arrival is None:
        yield (
            "No arrival is given: the fix is assumed to be reached on the inbound course, which calls for a direct entry. Give "
            "another with --arrival COURSE."
        )
        return
    led = plan.pattern.shape in ("45/180", "80/260", "base-turn")
    if arrival is None or plan.stages[0].part == "outbound_turn" or not led:
        return
    angle = abs(float(wrap(plan.charted.outbound_true_rad - arrival)))
    if angle > _LED_RAD:
        yield (
            f"The outbound leg is too short for the turn of {angle / DEG:.0f}° onto the outbound course: the path leaves it "
            "out and begins at the fix, on that course."
        )


def _descents(plan: Plan) -> Iterator[str]:
    if plan.entry_short is not None:
        yield _round_again(plan, plan.entry_short)
    for short in plan.shorts:
        yield _too_short(plan, short)
    yield from way_in_cautions(plan)


def _round_again(plan: Plan, short: Short) -> str:
    entry = plan.pattern.shape.removeprefix("hold-")
    instead = "" if _lengthened(plan) else " Or return to the fix from the outbound leg, and go round from there."
    return (
        f"The {short.leg} leg after the {entry} entry is {short.seconds:.0f} s, too short to lose "
        f"{_height(plan, short.fall_m)}. Stay level to the fix, go round once more, as planned here, and descend on the next "
        f"inbound leg; tell ATC of the extra circuit (AIM 5-4-9 a.5).{instead}"
    )


def _too_short(plan: Plan, short: Short) -> str:
    fall = f"The {short.leg} leg of {short.seconds:.0f} s is too short to lose {_height(plan, short.fall_m)}"
    normal = f"{NORMAL_MPS / FPM:,.0f} ft/min"
    fix = plan.charted.procedure.fix.name
    if short.steadily:
        final = plan.parts[-1]
        return (
            f"{fall}: pass {fix} at {_height(plan, final.altitude_start_m)}, above the minimum, and keep descending on final, "
            f"{final.descent_mps / FPM:,.0f} ft/min to the threshold."
        )
    if short.leg == "final":
        turn = plan.charted.kind == "procedure-turn"
        instead = "Begin the turn back farther out" if turn else "Lose the height before the final leg"
        if plan.charted.fixes:
            instead = "Fly slower"
        return (
            f"The final descent is not flyable: {_height(plan, short.fall_m)} in {short.seconds:.0f} s. At {normal} "
            f"the plan is still {_height(plan, short.left_m)} too high at the threshold. {instead}, or plan to go around."
        )
    ahead = [stage.gate.name for stage in plan.stages if stage.leg == "inbound" and stage.gate is not None]
    at = f"at {ahead[-1] if ahead else fix}" if short.leg == "inbound" else "at its end"
    return f"{fall} at {normal}: {_height(plan, short.left_m)} remain to be lost {at}."


def _height(plan: Plan, metres: float) -> str:
    return height_unit(plan.charted.altitude_unit).text(metres)


def _runway(plan: Plan) -> Iterator[str]:
    if plan.charted.runway is not None and not final_leg(plan.charted):
        yield "The inbound course does not lead to the runway: the plan ends at the fix, without a final leg."
