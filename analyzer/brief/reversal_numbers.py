"""The numbers of the reversal, by shape: headings and times, and what rules of thumb give for them."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np

from analyzer.brief.barb_patterns import teardrop_rule
from analyzer.brief.briefed_number import Number, Rule
from analyzer.brief.hold_pattern import hold_numbers
from analyzer.brief.leg_length import read_words
from analyzer.brief.outbound_clock import TimedFrom, outbound_timed
from analyzer.brief.parts import PlannedPart
from analyzer.brief.plan import Plan
from analyzer.nominal.fly import ROLL_RATE_RAD_S, Straight
from analyzer.physics.units import DEG, KT, NM, wrap

__all__ = ["CHARTED_INTERCEPT", "hold_outbound_s", "reversal_numbers"]

CHARTED_INTERCEPT = "intercept heading as charted"

_SLOW_KT = 170.0  # up to which a base turn's divergence is 36/T (ICAO Doc 8168 Vol II, table I-4-3-App C-1)
_SOLVED = "so that the turn back rolls out on the inbound course"
_UNSOLVED = "no heading brings the turn back onto the inbound course: an intercept follows"


def reversal_numbers(plan: Plan) -> Iterator[Number]:
    """The numbers of a reversal other than an arc."""
    if plan.pattern.shape in ("45/180", "80/260"):
        yield from _offset(plan)
    elif plan.pattern.shape == "base-turn":
        yield from _base(plan)
    elif plan.pattern.shape == "racetrack":
        yield from _racetrack(plan)
    elif plan.pattern.shape == "teardrop":
        yield from _teardrop(plan)
    else:
        yield from _hold(plan)


def _part(plan: Plan, name: str) -> PlannedPart:
    return next(part for part in plan.parts if part.part == name)


def _magnetic(plan: Plan, true_rad: float) -> float:
    return (true_rad - plan.charted.variation.east_rad) / DEG % 360.0


def _sided(value: float, unit: str) -> tuple[float, str]:
    """The size of a value that is positive to the right, and its unit with the side."""
    return abs(value), f"{unit} {'left' if value < 0.0 else 'right'}"


def _offset(plan: Plan) -> Iterator[Number]:
    parts = {part.part: part for part in plan.parts}
    around = plan.conditions.leg(plan.charted, "reversal")
    joined = plan.stages[0].part == "outbound_turn"
    out = parts["outbound"]
    how = "with the turn onto the course" if joined else f"{out.length_m / NM:.1f} NM at {out.ground_speed_mps / KT:.0f} kt"
    yield Number("reversal", "outbound time", _outbound_s(plan), "s", f"from abeam the fix, {how}")
    leg = parts.get("offset_leg")
    if leg is None or plan.pattern.solved is None:
        off = _sided(plan.pattern.rolled_out_m / NM, "NM")
        how = "no offset leg brings it onto the inbound course in this wind"
        yield Number("reversal", "the turn back rolls out", *off, how)
        return
    rolls = around.bank_rad / ROLL_RATE_RAD_S
    still = Rule("2/(rate of turn) less the time of a roll, in still air", max(0.0, 2.0 / around.rate_rad_s - rolls))
    rule = still if plan.pattern.shape == "45/180" else None
    yield Number("reversal", "offset leg, wings level", leg.seconds, "s", _SOLVED, rule)
    first = parts["offset_turn"]
    yield Number(
        "reversal", "the same from the start of its turn", leg.seconds + first.seconds, "s", "including the offset turn"
    )
    if plan.pattern.shape == "45/180" and plan.charted.offset_charted:
        yield from _intercept(plan)


def _intercept(plan: Plan) -> Iterator[Number]:
    """The charted intercept: the reciprocal of the offset course, up to the inbound course."""
    offset = plan.charted.offset_true_rad
    if offset is None:
        return
    angle = abs(float(wrap(plan.charted.inbound_true_rad - offset - math.pi))) / DEG
    how = f"the reciprocal of the charted offset course, {angle:.0f}° to the inbound course"
    yield Number("reversal", CHARTED_INTERCEPT, _magnetic(plan, offset + math.pi), "° mag", how)


def _outbound_s(plan: Plan) -> float:
    """Time outbound from abeam the fix, if the turn onto the course comes abeam it; else from the fix. [s]"""
    number = max(k for k, stage in enumerate(plan.stages) if stage.part == "outbound")
    end, out = plan.path.ends[number], plan.charted.outbound_true_rad
    along = plan.path.north_m[: end + 1] * math.cos(out) + plan.path.east_m[: end + 1] * math.sin(out)
    short = np.flatnonzero(along < 0.0)
    if plan.stages[0].part == "outbound_turn" and len(short):
        return float(plan.path.time_s[end] - plan.path.time_s[int(short[-1]) + 1])
    first = plan.pattern.stages[0].segment
    return first.seconds if isinstance(first, Straight) else 0.0


def hold_outbound_s(plan: Plan) -> tuple[float, TimedFrom]:
    """Time of the outbound leg of a hold's entry by the clock, and where that starts. [s]"""
    number = next(k for k, stage in enumerate(plan.stages) if stage.part == "outbound")
    from_over = plan.pattern.shape != "hold-direct"
    return outbound_timed(plan.path, plan.charted.outbound_true_rad, plan.path.ends[number], from_over=from_over)


def _base(plan: Plan) -> Iterator[Number]:
    outbound_s, charted = _outbound_s(plan), plan.charted
    divergence = abs(float(wrap(charted.outbound_true_rad + math.pi - charted.inbound_true_rad))) / DEG
    speed = plan.conditions.leg(charted, "outbound").true_airspeed_mps / KT
    minutes = outbound_s / 60.0
    words, value = ("36/T", 36.0 / minutes) if speed <= _SLOW_KT else ("0.215 V/T", 0.215 * speed / minutes)
    how = _SOLVED if plan.pattern.solved == "outbound time" else "as requested"
    yield Number("reversal", "outbound time", outbound_s, "s", f"from abeam the fix, {how}")
    yield Number(
        "reversal", "divergence charted", divergence, "°", "between the courses", Rule(f"{words} for this time", value)
    )
    bank = _part(plan, "reversal_turn").bank_rad or 0.0
    how = _SOLVED if plan.pattern.solved == "bank of the turn" else "as the turns below"
    yield Number("reversal", "bank of the turn", bank / DEG, "°", how)


def _racetrack(plan: Plan) -> Iterator[Number]:
    air, inbound = plan.conditions.leg(plan.charted, "outbound"), plan.charted.inbound_true_rad
    out = _part(plan, "outbound")
    drift = float(wrap(inbound - air.hold_course(inbound)[0]))
    triple = Rule("three times the inbound drift", _magnetic(plan, plan.charted.outbound_true_rad + 3.0 * drift))
    how = _SOLVED if plan.pattern.solved else _UNSOLVED
    yield Number("reversal", "outbound heading", _magnetic(plan, out.heading_rad), "° mag", how, triple)
    yield Number("reversal", "outbound time", out.seconds, "s", "from wings level outbound")
    yield Number("reversal", "turn back begins from the fix", out.end_distance_m / NM, "NM", "over the ground")
    yield Number("reversal", "drift inbound", *_sided(drift / DEG, "°"), "where the wind carries you on the inbound heading")


def _teardrop(plan: Plan) -> Iterator[Number]:
    out, charted = _part(plan, "outbound"), plan.charted
    rule = teardrop_rule(charted, plan.conditions, out.seconds)
    by_rule = Rule("30° off for 1 min, 20° for 2, 10° for 3", _magnetic(plan, rule.heading_rad)) if rule is not None else None
    how = _SOLVED if plan.pattern.solved else _UNSOLVED
    yield Number("reversal", "outbound heading", _magnetic(plan, out.heading_rad), "° mag", how, by_rule)
    off = float(wrap((out.course_rad or 0.0) - charted.outbound_true_rad)) / DEG
    yield Number("reversal", "track off the outbound course", *_sided(off, "°"), "over the ground")
    timed = "from the fix" if plan.stages[0].part == "outbound" else "from wings level outbound"
    yield Number("reversal", "outbound time", out.seconds, "s", timed)
    yield Number("reversal", "turn back begins from the fix", out.end_distance_m / NM, "NM", "over the ground")
    if rule is not None:
        how = f"of the inbound course, with {rule.angle_rad / DEG:.0f}° off and no correction for wind"
        yield Number("reversal", "by the rule the turn rolls out", *_sided(rule.off_m / NM, "NM"), how)


def _hold(plan: Plan) -> Iterator[Number]:
    numbers = hold_numbers(plan.charted, plan.conditions)
    exact, triple = (_magnetic(plan, angle) for angle in (numbers.outbound_heading_rad, numbers.triple_heading_rad))
    how = f"so that the turn rolls out on the inbound course {numbers.inbound_s:.0f} s before the fix"
    yield Number("reversal", "outbound heading in circuits", exact, "° mag", how, Rule("three times the inbound drift", triple))
    length = plan.charted.leg_length_m
    if length is None or plan.conditions.outbound_s is not None:
        seconds, timed_from = hold_outbound_s(plan)
        level = f"{_part(plan, 'outbound').seconds:.0f} s of it with wings level"
        yield Number("reversal", "outbound time", seconds, "s", f"from {timed_from}, {level}")
    if length is not None:
        yield Number("reversal", "outbound leg in circuits", length / NM, "NM", f"{read_words(plan.charted)}, as charted")
    rule = Rule("the inbound time", numbers.inbound_s) if length is None else None
    level = f"from over or abeam the fix; {numbers.outbound_s:.0f} s from wings level"
    how = level if length is None else f"{level}, to that length; the length ends the leg"
    yield Number("reversal", "outbound time in circuits", numbers.outbound_timed_s, "s", how, rule)
    drift = _sided(numbers.drift_rad / DEG, "°")
    yield Number("reversal", "drift inbound", *drift, "where the wind carries you on the inbound heading")
    off = _sided(numbers.triple_off_m / NM, "NM")
    leg = "standard time" if length is None else "charted length"
    yield Number("reversal", "by the rule the turn rolls out", *off, f"of the inbound course, with triple drift and {leg}")
