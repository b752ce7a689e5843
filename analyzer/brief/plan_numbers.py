"""The numbers of a plan, each with its derivation, and rules of thumb with their values."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np

from analyzer.brief.arc_numbers import arc_numbers
from analyzer.brief.briefed_number import Number, Rule
from analyzer.brief.conditions import LegAir
from analyzer.brief.missed_timing import missed_time
from analyzer.brief.plan import Plan
from analyzer.brief.reversal_numbers import reversal_numbers
from analyzer.brief.segments import segments
from analyzer.checks.phrases import height_unit
from analyzer.nominal.fly import ROLL_RATE_RAD_S, Turn
from analyzer.physics import turning
from analyzer.physics.units import DEG, FPM, KT, NM, wrap

__all__ = ["plan_numbers"]

_GLIDE_RULE = 5.0  # ft/min for each knot over the ground, for 3 degrees


def plan_numbers(plan: Plan) -> tuple[Number, ...]:
    """All numbers of a plan, by group."""
    if plan.pattern.shape == "arc":
        return (*arc_numbers(plan), *_turns(plan), *_descents(plan), *missed_time(plan))
    return (*_distance(plan), *reversal_numbers(plan), *_turns(plan), *_descents(plan), *missed_time(plan))


def _distance(plan: Plan) -> Iterator[Number]:
    limit, charted = plan.charted.limit_m, plan.charted
    elsewhere = charted.procedure.reversal.within_from is not None
    by_dme = charted.dme if charted.within_by_dme else None
    where = "where the limit is measured from" if elsewhere else by_dme.name if by_dme is not None else "the fix"
    yield Number("distance", "greatest distance", plan.farthest_m / NM, "NM", f"from {where}, in this wind")
    if limit is not None:
        margin = (limit - plan.farthest_m) / NM
        yield Number("distance", "margin to the limit", margin, "NM", f"the limit is {limit / NM:g} NM")
    if plan.longest_outbound_m is not None:
        keep = plan.conditions.keep_m / NM
        how = f"keeps the reversal {keep:g} NM inside the limit"
        yield Number("distance", "longest outbound leg", plan.longest_outbound_m / NM, "NM", how)
    if by_dme is not None or (charted.procedure.fix.kind == "vor" and not elsewhere):
        station_m = by_dme.elevation_m if by_dme is not None else charted.fix_elevation_m
        height = plan.conditions.leg(charted, "reversal").altitude_m - station_m
        reading = math.hypot(plan.farthest_m, height) / NM
        of = f"slant range, of {by_dme.name}" if by_dme is not None else "slant range, of a DME at the VOR"
        yield Number("distance", "DME there", reading, "NM", of)


def _turns(plan: Plan) -> Iterator[Number]:
    air = plan.conditions.leg(plan.charted, "reversal")
    back = plan.pattern.stages[-1].segment
    bank = back.bank_rad if isinstance(back, Turn) else air.bank_rad
    speed = air.true_airspeed_mps / KT
    at_rate = plan.conditions.bank_rad is None and plan.pattern.solved != "bank of the turn"
    how = "for the requested rate, 30° at most" if at_rate else "as requested"
    if plan.pattern.solved == "bank of the turn":
        how = "brings the turn back onto the inbound course"
    rule = Rule("TAS/10 + 7, for standard rate", speed / 10.0 + 7.0) if at_rate else None
    yield Number("turns", "bank", bank / DEG, "°", how, rule)
    rate = float(turning.turn_rate(air.true_airspeed_mps, bank))
    yield Number("turns", "rate", rate / DEG, "°/s", "at that bank and true airspeed")
    radius = float(turning.turn_radius(air.true_airspeed_mps, bank))
    rule = Rule("TAS/180, for standard rate", speed / 180.0) if at_rate else None
    yield Number("turns", "radius", radius / NM, "NM", "in still air", rule)
    yield from _leads(plan, air)


def _leads(plan: Plan, air: LegAir) -> Iterator[Number]:
    arrival = plan.conditions.arrival_rad
    if plan.lead_m is not None and arrival is not None:
        angle = abs(float(wrap(plan.charted.outbound_true_rad - arrival)))
        still = _lead(plan.conditions.leg(plan.charted, "outbound"), angle) / NM
        how = f"so that the turn of {angle / DEG:.0f}° rolls out on the course in this wind"
        rule = Rule("R tan(half the turn) plus half a roll, in still air", still)
        yield Number("turns", "lead onto the outbound course", plan.lead_m / NM, "NM", how, rule)
    elif plan.stages[0].part == "outbound_turn" and plan.pattern.shape != "teardrop":
        yield from _closing(plan)
    lead = _lead(air, 30.0 * DEG)
    yield Number("turns", "lead onto the inbound course at 30°", lead / NM, "NM", "before the course, along a 30° intercept")


def _closing(plan: Plan) -> Iterator[Number]:
    """A turn over the fix too great to lead: its heading, the distance off the course, and the time to intercept it."""
    turn, closing = plan.stages[0].segment, plan.parts[1]
    if not isinstance(turn, Turn):
        return
    out, way = plan.charted.outbound_true_rad, "right" if turn.direction > 0 else "left"
    off = abs(float(plan.path.across_m(out)[plan.path.ends[0]])) / NM
    heading = (closing.heading_rad - plan.charted.variation.east_rad) / DEG % 360.0
    yield Number("turns", f"over the fix, {way} to heading", heading, "° mag", "past the outbound course, to intercept it")
    yield Number("turns", "that turn rolls out off the course by", off, "NM", "in this wind")
    yield Number("turns", "on the intercept heading for", closing.seconds, "s", "then turn onto the outbound course")


def _lead(air: LegAir, angle: float) -> float:
    return air.radius_m * math.tan(angle / 2.0) + air.true_airspeed_mps * air.bank_rad / ROLL_RATE_RAD_S / 2.0


def _level_at_first(plan: Plan) -> tuple[float, float]:
    """How long a plan stays level at its beginning, up to the fix in a turn that leads it, and how far. [s, m]

    Nothing in circuits of a hold, which begin over the fix.
    """
    path, points = plan.path, plan.profile.points
    if plan.rounds or len(points) < 2 or points[0][1] != points[1][1]:
        return 0.0, 0.0
    level = path.time_s <= points[1][0]
    length = float(np.hypot(np.diff(path.north_m[level]), np.diff(path.east_m[level])).sum())
    return points[1][0] - points[0][0], length


def _descents(plan: Plan) -> Iterator[Number]:
    legs: dict[str, list[float]] = {plan.parts[0].leg: [0.0, *(-before for before in _level_at_first(plan))]}
    height = height_unit(plan.charted.altitude_unit)
    for part in plan.parts:
        figures = legs.setdefault(part.leg, [0.0, 0.0, 0.0])
        fall = part.altitude_start_m - part.altitude_end_m
        if fall > 0.0 or not plan.rounds:  # of a hold's circuits the one that descends counts
            figures[0] += fall
            figures[1] += part.seconds
            figures[2] += part.length_m
    for leg, (fall, seconds, length) in legs.items():
        steady = leg != "final" or sum(not segment.visual for segment in segments(plan) if segment.leg == leg) <= 1
        if fall > 1.0 and seconds > 0.0 and steady:
            rate, gradient = fall / seconds / FPM, fall / height.metres / (length / NM)
            rule = Rule("5 x ground speed, for 3°", _GLIDE_RULE * length / seconds / KT) if leg == "final" else None
            how = f"{height.text(fall)} down, {gradient:.0f} {height.name}/NM"
            yield Number("descent", f"{leg} leg", rate, "ft/min", how, rule)
    last, minimum = plan.parts[-1], plan.charted.levels_m.get("final")
    if last.leg == "final":
        yield from _to_threshold(plan, minimum)


def _to_threshold(plan: Plan, minimum: float | None) -> Iterator[Number]:
    finals = [segment for segment in segments(plan) if segment.leg == "final"]
    if not finals or finals[-1].ends != "threshold":
        return
    begins = next((stage.gate for stage in reversed(plan.stages) if stage.leg == "inbound"), None)
    named = f"{begins.name}" if begins is not None and begins.role != "reversal-fix" else "the fix"
    where = "where established inbound" if begins is None else named
    whole = sum(segment.length_m for segment in finals) / NM
    yield Number("descent", "final leg to the threshold", whole, "NM", f"from {where}")
    visual = [segment for segment in finals if segment.visual]
    if minimum is None or not visual or any(short.leg == "final" for short in plan.shorts):
        return
    before = sum(segment.length_m for segment in visual) / NM
    reached = next((segment for segment in finals if segment.ends == "leave"), None)
    how = (
        f"where a steady descent passes {height_unit(plan.charted.altitude_unit).text(minimum)}"
        if reached is None
        else f"along the {reached.to}"
        if "path" in reached.to
        else f"from the {reached.to}"
    )
    yield Number("descent", "from the minimum to the threshold", before, "NM", how)
