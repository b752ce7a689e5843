"""The numbers beside the parts, each with how it is worked out, and rules of thumb with what they give."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np

from analyzer.brief.arcs import arc_numbers
from analyzer.brief.conditions import Conditions, LegAir
from analyzer.brief.holds import hold_numbers
from analyzer.brief.number import Number, Rule
from analyzer.brief.plan import Plan
from analyzer.nominal.fly import ROLL_RATE_RAD_S, Straight, Turn
from analyzer.physics import turning
from analyzer.physics.units import DEG, FPM, FT, KT, NM, wrap
from analyzer.procedure.charted import Charted

__all__ = ["plan_numbers"]

_SLOW_KT = 170.0  # up to which a base turn's divergence is 36/T (ICAO Doc 8168 Vol II, table I-4-3-App C-1)
_GLIDE_RULE = 5.0  # ft/min for each knot over the ground, for 3 degrees


def plan_numbers(plan: Plan) -> tuple[Number, ...]:
    """All numbers of a plan, group by group."""
    if plan.pattern.shape == "arc":
        return (*arc_numbers(plan), *_turns(plan), *_descents(plan))
    return (*_distance(plan), *_reversal(plan), *_turns(plan), *_descents(plan))


def _distance(plan: Plan) -> Iterator[Number]:
    limit, charted = plan.charted.limit_m, plan.charted
    yield Number(
        "distance",
        "greatest distance",
        plan.farthest_m / NM,
        "NM",
        "the path flown in the wind, from the fix or limit's centre",
    )
    if limit is not None:
        yield Number(
            "distance", "margin to the limit", (limit - plan.farthest_m) / NM, "NM", f"limit {limit / NM:g} NM less that"
        )
    if plan.longest_outbound_m is not None:
        keep = plan.conditions.keep_m / NM
        how = f"solved so that the reversal stays {keep:g} NM inside the limit"
        yield Number("distance", "longest outbound leg", plan.longest_outbound_m / NM, "NM", how)
    height = plan.conditions.leg(charted, "reversal").altitude_m - charted.fix_elevation_m
    if charted.procedure.fix.kind == "vor":
        reading = math.hypot(plan.farthest_m, height) / NM
        yield Number("distance", "DME there", reading, "NM", "slant range: root of distance squared plus height squared")


def _reversal(plan: Plan) -> Iterator[Number]:
    if plan.pattern.shape in ("45/180", "80/260"):
        yield from _offset(plan)
    elif plan.pattern.shape == "base-turn":
        yield from _base(plan)
    else:
        yield from _hold(plan.charted, plan.conditions)


def _offset(plan: Plan) -> Iterator[Number]:
    parts = {part.part: part for part in plan.parts}
    around = plan.conditions.leg(plan.charted, "reversal")
    joined = plan.stages[0].part == "outbound_turn"
    how = "the path, with its turn onto the course" if joined else "outbound length over ground speed"
    yield Number("reversal", "outbound time", _outbound_s(plan), "s", f"from abeam the fix: {how}")
    leg = parts.get("offset_leg")
    if leg is None or plan.pattern.solved is None:
        off = abs(plan.pattern.rolled_out_m) / NM
        yield Number(
            "reversal",
            "turn to the inbound heading comes out off by",
            off,
            "NM",
            "no leg before it brings it onto the course in this wind",
        )
        return
    rolls = around.bank_rad / ROLL_RATE_RAD_S
    still = Rule("2/(rate of turn) in still air, less a roll's time", max(0.0, 2.0 / around.rate_rad_s - rolls))
    rule = still if plan.pattern.shape == "45/180" else None
    how = "solved in the wind: the turn back rolls out on the inbound course"
    yield Number("reversal", "offset leg, wings level", leg.seconds, "s", how, rule)
    first = parts["offset_turn"]
    yield Number("reversal", "the same from the start of its turn", leg.seconds + first.seconds, "s", "with the offset turn")


def _outbound_s(plan: Plan) -> float:
    """Seconds outbound from abeam the fix: by the path where its turn onto the course comes abeam, else as from the fix."""
    number = max(k for k, stage in enumerate(plan.stages) if stage.part == "outbound")
    end, out = plan.path.ends[number], plan.charted.outbound_true_rad
    along = plan.path.north_m[: end + 1] * math.cos(out) + plan.path.east_m[: end + 1] * math.sin(out)
    short = np.flatnonzero(along < 0.0)
    if plan.stages[0].part == "outbound_turn" and len(short):
        return float(plan.path.time_s[end] - plan.path.time_s[int(short[-1]) + 1])
    first = plan.pattern.stages[0].segment
    return first.seconds if isinstance(first, Straight) else 0.0


def _base(plan: Plan) -> Iterator[Number]:
    outbound_s, charted = _outbound_s(plan), plan.charted
    divergence = abs(float(wrap(charted.outbound_true_rad + math.pi - charted.inbound_true_rad))) / DEG
    speed = plan.conditions.leg(charted, "outbound").true_airspeed_mps / KT
    minutes = outbound_s / 60.0
    words, value = ("36/T", 36.0 / minutes) if speed <= _SLOW_KT else ("0.215 V/T", 0.215 * speed / minutes)
    yield Number(
        "reversal", "outbound time", outbound_s, "s", f"from abeam the fix, solved: {plan.pattern.solved or 'as asked'}"
    )
    yield Number(
        "reversal", "divergence charted", divergence, "°", "between the courses", Rule(f"{words} for this time", value)
    )
    turn = next(part for part in plan.parts if part.part == "reversal_turn")
    yield Number("reversal", "bank of the turn", (turn.bank_rad or 0.0) / DEG, "°", "as solved, or of the rate asked for")


def _hold(charted: Charted, conditions: Conditions) -> Iterator[Number]:
    numbers = hold_numbers(charted, conditions)
    east = charted.variation.east_rad
    exact, triple = ((angle - east) / DEG % 360.0 for angle in (numbers.outbound_heading_rad, numbers.triple_heading_rad))
    how = f"solved: the turn comes out on the inbound course with {numbers.inbound_s:.0f} s to the fix"
    yield Number("reversal", "outbound heading in circuits", exact, "° mag", how, Rule("three times the inbound drift", triple))
    rule = Rule("the inbound time", numbers.inbound_s)
    yield Number("reversal", "outbound time in circuits", numbers.outbound_s, "s", "the same", rule)
    yield Number("reversal", "drift inbound", numbers.drift_rad / DEG, "°", "right positive, from the wind triangle")
    how = "where three times the drift and the standard time come out, right positive"
    yield Number("reversal", "by the rule off course by", numbers.triple_off_m / NM, "NM", how)


def _turns(plan: Plan) -> Iterator[Number]:
    air = plan.conditions.leg(plan.charted, "reversal")
    back = plan.pattern.stages[-1].segment
    bank = back.bank_rad if isinstance(back, Turn) else air.bank_rad
    speed = air.true_airspeed_mps / KT
    at_rate = plan.conditions.bank_rad is None and plan.pattern.solved != "bank of the turn"
    how = "atan(V rate/g), at most 30°" if at_rate else "as asked" if plan.conditions.bank_rad is not None else "as solved"
    rule = Rule("TAS/10 + 7, of standard rate", speed / 10.0 + 7.0) if at_rate else None
    yield Number("turns", "bank", bank / DEG, "°", how, rule)
    rate = float(turning.turn_rate(air.true_airspeed_mps, bank))
    yield Number("turns", "rate", rate / DEG, "°/s", "g tan(bank)/V")
    radius = float(turning.turn_radius(air.true_airspeed_mps, bank))
    rule = Rule("TAS/180, of standard rate", speed / 180.0) if at_rate else None
    yield Number("turns", "radius", radius / NM, "NM", "V²/(g tan(bank)), in still air", rule)
    yield from _leads(plan, air)


def _leads(plan: Plan, air: LegAir) -> Iterator[Number]:
    arrival = plan.conditions.arrival_rad
    if plan.lead_m is not None and arrival is not None:
        angle = abs(float(wrap(plan.charted.outbound_true_rad - arrival)))
        still = _lead(plan.conditions.leg(plan.charted, "outbound"), angle) / NM
        how = f"solved in the wind: the turn of {angle / DEG:.0f}° comes out on the course"
        rule = Rule("R tan(half the turn) and half a roll, still air", still)
        yield Number("turns", "lead onto the outbound course", plan.lead_m / NM, "NM", how, rule)
    elif plan.stages[0].part == "outbound_turn":
        yield from _closing(plan)
    lead = _lead(air, 30.0 * DEG)
    yield Number("turns", "lead onto the inbound course at 30°", lead / NM, "NM", "R tan 15° and half a roll, along the way in")


def _closing(plan: Plan) -> Iterator[Number]:
    """The turn over the fix that is too great to lead: what it comes out on, how far off the course, and how long it closes."""
    turn, closing = plan.stages[0].segment, plan.parts[1]
    if not isinstance(turn, Turn):
        return
    out, way = plan.charted.outbound_true_rad, "right" if turn.direction > 0 else "left"
    off = abs(float(plan.path.across_m(out)[plan.path.ends[0]])) / NM
    heading = (closing.heading_rad - plan.charted.variation.east_rad) / DEG % 360.0
    yield Number("turns", f"over the fix, {way} to heading", heading, "° mag", "past the outbound course, to close with it")
    yield Number("turns", "that turn comes out off the course by", off, "NM", "the turn flown in the wind")
    yield Number("turns", "closing with the course for", closing.seconds, "s", "solved: then the turn onto it comes out on it")


def _lead(air: LegAir, angle: float) -> float:
    return air.radius_m * math.tan(angle / 2.0) + air.true_airspeed_mps * air.bank_rad / ROLL_RATE_RAD_S / 2.0


def _descents(plan: Plan) -> Iterator[Number]:
    legs: dict[str, list[float]] = {}
    for part in plan.parts:
        figures = legs.setdefault(part.leg, [0.0, 0.0, 0.0])
        figures[0] += part.altitude_start_m - part.altitude_end_m
        figures[1] += part.seconds
        figures[2] += part.length_m
    for leg, (fall, seconds, length) in legs.items():
        if fall > 1.0 and seconds > 0.0:
            rate, gradient = fall / seconds / FPM, fall / FT / (length / NM)
            rule = Rule("5 x ground speed, of 3°", _GLIDE_RULE * length / seconds / KT) if leg == "final" else None
            how = f"{fall / FT:,.0f} ft over the {leg} leg, {gradient:.0f} ft/NM"
            yield Number("descent", f"{leg} leg", rate, "ft/min", how, rule)
    last, minimum = plan.parts[-1], plan.charted.levels_m.get("final")
    if last.leg == "final" and isinstance(plan.stages[-1].segment, Straight):
        yield Number("descent", "final leg to the threshold", last.length_m / NM, "NM", "from the fix, geodesic")
        fall = last.altitude_start_m - last.altitude_end_m
        if minimum is not None and last.altitude_start_m > minimum > last.altitude_end_m:
            before = last.length_m * (minimum - last.altitude_end_m) / fall / NM
            how = f"of {minimum / FT:,.0f} ft, on a steady descent from the fix to the threshold"
            yield Number("descent", "passes the minimum before the threshold", before, "NM", how)
