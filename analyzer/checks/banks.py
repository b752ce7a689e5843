"""Checks of the turns: peak bank, average bank, and rate."""

from __future__ import annotations

import math
from itertools import groupby

from analyzer.checks.check import Check
from analyzer.checks.figures import PartFigures
from analyzer.checks.finding import GAP, INSIDE, NOT_ASSESSED, OUTSIDE, TOO_LITTLE, Context, Finding, judge
from analyzer.checks.phrases import clock, degrees, knots, part_words
from analyzer.checks.turn_figures import TurnFigures, mostly_hidden, turns_between
from analyzer.legs.reversal import Part
from analyzer.motion.uncertainty import mean_bank_sd
from analyzer.physics import turning
from analyzer.physics.units import DEG, GRAVITY, KT
from analyzer.vocabulary import PartName

__all__ = ["CHECKS", "average_bank", "required_bank", "turn_bank", "turn_rate"]

_PILOTS_CHOICE = "left to the pilot; for information only"
_OF_A_HOLD = (
    "the turns of a hold are flown at 3°/s, at 30° of bank or with a flight director at 25°, whichever takes the least bank; "
    "for information only"
)
_HOLD_TURNS = "AIM 5-3-8 j.8(b)"
# The turns that the area is designed for, unlike turns onto or off an arc, or onto a course.
_LEG_WORDS = {"outbound": "outbound leg", "inbound": "inbound leg", "offset_leg": "offset leg"}
_MAY_TURN: tuple[PartName, ...] = ("outbound", "offset_leg", "arc", "intercept", "inbound")
_OF_THE_REVERSAL = ("offset_turn", "reversal_turn")
# A turn shows its bank where it lasts for so many steps of the log, rolls included: found with turns of known bank, logged at
# any phase. One that is over within a step changes the direction from one step to the next by half of itself at least.
_STEPS_TO_SHOW, _QUICK_ROLL_RAD_S = 1.5, 10.0 * DEG
_LEAST_OF_CORNER = 0.95


def _turns(context: Context) -> list[tuple[Part, TurnFigures]]:
    """The turns whose bank is known."""
    return [(figures.part, figures.turn) for figures in context.figures.parts if figures.turn is not None]


def _mostly_in_gaps(context: Context) -> list[tuple[Part, TurnFigures]]:
    """The turns that gaps hide most of, with what shows of them."""
    return [
        (figures.part, figures.turn_seen)
        for figures in context.figures.parts
        if figures.turn is None and figures.turn_seen is not None
    ]


def _within_parts(context: Context) -> list[tuple[Part, TurnFigures]]:
    """The turns within parts that are no turns by name, such as onto a course, up to the final leg."""
    found = []
    for joined, parts in groupby(context.reversal.parts, key=lambda part: part.turn is None and part.name in _MAY_TURN):
        stretch = list(parts)
        if joined:
            for turn in turns_between(context.motion, stretch[0].start_s, stretch[-1].end_s):
                part = next((one for one in stretch if turn.peak_time_s < one.end_s), stretch[-1])
                found.append((part, turn))
    return found


def _unknown(context: Context, figures: PartFigures) -> str:
    """Why the bank of a turn is unknown."""
    if figures.turn_seen is not None:
        return GAP
    if context.motion.track.turns_hidden:
        return "most samples were interpolated, and bank was not recorded throughout"
    return TOO_LITTLE


def _hidden(context: Context, part: Part, turn: TurnFigures, bank_rad: float) -> str | None:
    """Why a turn may have been as steep as a bank though it shows less: it was then over before the log shows it; else None."""
    interval_s = context.motion.track.interval_s
    if turn.recorded:
        return None
    states = context.motion.states.between(part.start_s, part.end_s)
    speed = float(states.true_airspeed_mps.mean())
    least_s = turn.turned_rad / float(turning.turn_rate(speed, bank_rad)) + bank_rad / _QUICK_ROLL_RAD_S
    corner_rad = float(turning.bank_for_rate(speed, turn.turned_rad / (2.0 * interval_s)))
    if least_s >= _STEPS_TO_SHOW * interval_s or turn.bank_peak_rad < _LEAST_OF_CORNER * corner_rad:
        return None
    return f"a turn of {degrees(turn.turned_rad, 0)} does not show its bank in positions {interval_s:.0f} s apart"


def _bank_in(part: Part) -> str:
    """The beginning of a sentence on the bank of a turn, with its lap in a hold."""
    where = part_words(part.name, part.lap) if part.turn is not None else f"turn on the {_LEG_WORDS.get(part.name, part.name)}"
    words = f"ank in the {where}"
    return f"B{words}" if part.lap is None else f"Lap {part.lap}: b{words}"


def turn_bank(context: Context) -> tuple[Finding, ...]:
    """Peak bank of each turn, with the mean over its steady part; of turns within other parts where it is beyond the limit.

    Of a turn that gaps hide most of, no bank is known, but what shows of it may be beyond the limit.
    """
    limit = context.standard["turn_bank"]
    in_gaps = [(part, turn) for part, turn in _mostly_in_gaps(context) if turn.bank_peak_rad > limit.value * DEG]
    too_steep = [part for part, _ in in_gaps]
    findings = [
        Finding("turn_bank", figures.part.leg, figures.part.name, f"{_bank_in(figures.part)}.", NOT_ASSESSED,
                limit=limit.value, unit="deg", source=limit.source, reason=_unknown(context, figures),
                lap=figures.part.lap)
        for figures in context.figures.parts
        if figures.part.turn is not None and figures.turn is None and figures.part not in too_steep
    ]  # fmt: skip
    others = [(part, turn) for part, turn in _within_parts(context) if turn.bank_peak_rad > limit.value * DEG]
    for part, turn in [*_turns(context), *in_gaps, *others]:
        mean = f"{degrees(turn.bank_mean_rad, 0)} mean, " if part not in too_steep else ""
        margin = limit.value * DEG - turn.bank_peak_rad
        # beyond the limit a turn may have been steeper than it shows, which decides nothing
        sd = turn.bank_peak_sd_rad if margin >= 0.0 else turn.bank_peak_seen_sd_rad
        verdict, reason = judge(margin, sd, context.incomplete_turn(part))
        hidden = _hidden(context, part, turn, limit.value * DEG) if verdict == INSIDE else None
        if hidden is not None:
            verdict, reason = NOT_ASSESSED, hidden
        findings.append(
            Finding(
                check="turn_bank",
                leg=part.leg,
                part=part.name,
                lap=part.lap,
                sentence=(
                    f"{_bank_in(part)}: {mean}{degrees(turn.bank_peak_rad, 0)} peak "
                    f"({'recorded' if turn.recorded else 'estimated'}, "
                    f"± {degrees(sd)}) at {clock(turn.peak_time_s)}; limit {limit.value:.0f}°."
                ),
                verdict=verdict,
                measured=turn.bank_peak_rad / DEG,
                limit=limit.value,
                unit="deg",
                margin=margin / DEG,
                sd=sd / DEG,
                source=limit.source,
                basis="recorded" if turn.recorded else "estimate",
                reason=reason,
                details={"mean_deg": turn.bank_mean_rad / DEG} if mean else {},
                place=context.place(turn.peak_time_s),
            )
        )
    return tuple(findings)


def turn_rate(context: Context) -> tuple[Finding, ...]:
    """Mean rate of each turn compared with standard rate; no verdict: under a barb the rate is the pilot's choice.

    In a hold the least of that rate and two banks applies, which no log shows to have been chosen.
    """
    limit, held = context.standard["turn_rate"], context.motion.charted.kind == "hold"
    return tuple(
        Finding(
            check="turn_rate",
            leg=part.leg,
            part=part.name,
            sentence=(
                f"Rate in the {part_words(part.name, part.lap)}: {degrees(turn.rate_mean_rad_s)}/s, "
                f"{turn.rate_mean_rad_s / (limit.value * DEG):.1f} times standard rate."
            ),
            verdict=NOT_ASSESSED,
            measured=turn.rate_mean_rad_s / DEG,
            limit=limit.value,
            unit="deg/s",
            source=_HOLD_TURNS if held else limit.source,
            basis="estimate",
            reason=_OF_A_HOLD if held else _PILOTS_CHOICE,
            place=context.place(part.start_s),
        )
        for part, turn in _turns(context)
    )


def required_bank(context: Context, speed_mps: float) -> float | None:
    """The least average bank that the standard requires at a true airspeed: its own, or that for 3°/s if less. [rad]

    None if it requires none.
    """
    limit = context.standard.get("average_bank")
    if limit is None:
        return None
    return min(limit.value * DEG, float(turning.bank_for_rate(speed_mps, turning.STANDARD_RATE_RADPS)))


def average_bank(context: Context) -> tuple[Finding, ...]:
    """Average bank in the steady part of each turn of a reversal, against the least that the area is designed for."""
    limit, tolerance = context.standard.get("average_bank"), context.standard.get("average_bank_tolerance")
    if limit is None or tolerance is None or context.reversal.flown == "arc":
        return ()
    unknown = [
        Finding("average_bank", part.leg, part.name, f"{_average_bank_in(part)}.", NOT_ASSESSED, unit="deg",
                source=limit.source, reason=GAP)
        for part, _ in _mostly_in_gaps(context)
        if part.name in _OF_THE_REVERSAL
    ]  # fmt: skip
    turns = [(part, turn) for part, turn in _turns(context) if part.name in _OF_THE_REVERSAL]
    known = [_average(context, part, turn, limit.source, tolerance.value * DEG) for part, turn in turns]
    return (*unknown, *known)


def _average_bank_in(part: Part) -> str:
    return f"Average bank in the {part_words(part.name, part.lap)}"


def _average(context: Context, part: Part, turn: TurnFigures, source: str, tolerance: float) -> Finding:
    what = _average_bank_in(part)
    if context.figures.wind is None:
        why = "no wind could be estimated, and the bank for 3°/s depends on airspeed"
        return Finding("average_bank", part.leg, part.name, f"{what}: {degrees(turn.bank_held_rad, 0)}.", NOT_ASSESSED,
                       unit="deg", source=source, reason=why)  # fmt: skip
    states = context.motion.states.between(part.start_s, part.end_s)
    speed = float(states.true_airspeed_mps.mean())
    required = required_bank(context, speed) or 0.0
    by_rate = required < context.standard["average_bank"].value * DEG
    # the bank required for a rate depends on airspeed: d(bank)/dV = ω cos²(bank)/g
    per_speed = turning.STANDARD_RATE_RADPS * math.cos(required) ** 2 / GRAVITY if by_rate else 0.0
    sd = math.hypot(mean_bank_sd(context.motion, states), per_speed * context.figures.wind.sd_mps)
    margin = turn.bank_held_rad - required + tolerance
    verdict, reason = judge(margin, sd, context.incomplete_turn(part))
    in_gap = GAP if mostly_hidden(context.motion, part.start_s, part.end_s) else None
    hidden = in_gap or _hidden(context, part, turn, required) if verdict == OUTSIDE else None
    if hidden is not None:
        verdict, reason = NOT_ASSESSED, hidden
    why = f"for 3°/s at {knots(speed)} true" if by_rate else "as the area is designed for"
    return Finding(
        check="average_bank",
        leg=part.leg,
        part=part.name,
        sentence=(
            f"{what}: {degrees(turn.bank_held_rad)}; {degrees(required)} needed {why} ({degrees(tolerance, 0)} tolerance)."
        ),
        verdict=verdict,
        measured=turn.bank_held_rad / DEG,
        limit=required / DEG,
        unit="deg",
        tolerance=tolerance / DEG,
        margin=margin / DEG,
        sd=sd / DEG,
        source=source,
        basis="recorded" if turn.recorded else "estimate",
        reason=reason,
        details={"true_airspeed_kt": speed / KT},
        place=context.place((part.start_s + part.end_s) / 2.0),
    )


CHECKS = (
    Check(
        "turn_bank",
        turn_bank,
        "Peak bank of each turn, with the mean over its steady part; of a turn onto a course where it is beyond the limit.",
        "tan(bank) = acceleration across the air path over apparent weight; or as recorded.",
        limits={"turn_bank": ("deg",)},
        weight=5.0,
        all_lost_by={"deg": 10.0},
        of=("approach", "hold"),
    ),
    Check(
        "turn_rate",
        turn_rate,
        "Mean rate of each turn over its steady part. The rate is the pilot's choice but in a hold.",
        "Acceleration across the air path, over true airspeed.",
        limits={"turn_rate": ("deg/s",)},
    ),
    Check(
        "average_bank",
        average_bank,
        "Average bank over the steady part of each offset and reversing turn, against the least that the area is designed for;"
        " where the standard asks for one.",
        "The lesser of the standard's bank and atan(V × 3°/s / g) at the true airspeed V of the turn; only a shallower turn is"
        " outside.",
        limits={"average_bank": ("deg",), "average_bank_tolerance": ("deg",)},
        optional=frozenset({"average_bank", "average_bank_tolerance"}),
        weight=5.0,
        all_lost_by={"deg": 10.0},
    ),
)
