"""Checks of the turns: the greatest bank, the average bank that an area is designed for, and the rate."""

from __future__ import annotations

import math

from analyzer.checks.check import Check
from analyzer.checks.figures import TurnFigures
from analyzer.checks.finding import NOT_ASSESSED, TOO_LITTLE, Context, Finding, judge
from analyzer.checks.phrases import clock, degrees, knots
from analyzer.legs.reversal import Part
from analyzer.motion.uncertainty import mean_bank_sd
from analyzer.physics import turning
from analyzer.physics.units import DEG, GRAVITY, KT

__all__ = ["CHECKS", "average_bank", "bank_asked_for", "turn_bank", "turn_rate"]

_PILOTS_CHOICE = "left to the pilot; for information only"
# The turns that an area is designed for; turns onto or off an arc, or onto a course, are not among them.
_OF_THE_REVERSAL = ("offset_turn", "reversal_turn")


def _turns(context: Context) -> list[tuple[Part, TurnFigures]]:
    return [(figures.part, figures.turn) for figures in context.figures.parts if figures.turn is not None]


def _unknown(context: Context) -> str:
    """Why the bank of a turn is not known."""
    if context.motion.track.filled_in:
        return "most samples were interpolated in straight lines, and bank was not recorded throughout"
    return TOO_LITTLE


def _bank_in(part: Part) -> str:
    """How a sentence begins that is about the bank of a turn, in a hold by its lap."""
    words = f"ank in the {part.name.replace('_', ' ')}"
    return f"B{words}" if part.lap is None else f"Lap {part.lap}: b{words}"


def turn_bank(context: Context) -> tuple[Finding, ...]:
    """Peak bank of each turn against the greatest allowed, with the mean over its steady part."""
    given = context.standard["turn_bank"]
    findings = [
        Finding("turn_bank", figures.part.leg, figures.part.name, f"{_bank_in(figures.part)}.", NOT_ASSESSED,
                limit=given.value, unit="deg", source=given.source, reason=_unknown(context), lap=figures.part.lap)
        for figures in context.figures.parts
        if figures.part.turn is not None and figures.turn is None
    ]  # fmt: skip
    for part, turn in _turns(context):
        margin = given.value * DEG - turn.bank_peak_rad
        verdict, reason = judge(margin, turn.bank_peak_sd_rad, context.incomplete_turn(part))
        findings.append(
            Finding(
                check="turn_bank",
                leg=part.leg,
                part=part.name,
                lap=part.lap,
                sentence=(
                    f"{_bank_in(part)}: {degrees(turn.bank_mean_rad, 0)} mean, "
                    f"{degrees(turn.bank_peak_rad, 0)} peak ({'recorded' if turn.recorded else 'estimated'}, "
                    f"± {degrees(turn.bank_peak_sd_rad)}) at {clock(turn.peak_time_s)}; limit {given.value:.0f}°."
                ),
                verdict=verdict,
                measured=turn.bank_peak_rad / DEG,
                limit=given.value,
                unit="deg",
                margin=margin / DEG,
                sd=turn.bank_peak_sd_rad / DEG,
                source=given.source,
                basis="recorded" if turn.recorded else "estimate",
                reason=reason,
                details={"mean_deg": turn.bank_mean_rad / DEG},
                place=context.place(turn.peak_time_s),
            )
        )
    return tuple(findings)


def turn_rate(context: Context) -> tuple[Finding, ...]:
    """Mean rate of each turn next to standard rate. The rate is the pilot's choice, so no verdict."""
    given = context.standard["turn_rate"]
    return tuple(
        Finding(
            check="turn_rate",
            leg=part.leg,
            part=part.name,
            sentence=(
                f"Rate in the {part.name.replace('_', ' ')}: {degrees(turn.rate_mean_rad_s)}/s, "
                f"{turn.rate_mean_rad_s / (given.value * DEG):.1f} of standard rate."
            ),
            verdict=NOT_ASSESSED,
            measured=turn.rate_mean_rad_s / DEG,
            limit=given.value,
            unit="deg/s",
            source=given.source,
            basis="estimate",
            reason=_PILOTS_CHOICE,
            place=context.place(part.start_s),
        )
        for part, turn in _turns(context)
    )


def bank_asked_for(context: Context, speed_mps: float) -> float | None:
    """The least average bank that the standard asks for at a true airspeed: its own, or that of 3°/s if less. [rad]

    None where it asks for none.
    """
    given = context.standard.get("average_bank")
    if given is None:
        return None
    return min(given.value * DEG, float(turning.bank_for_rate(speed_mps, turning.STANDARD_RATE_RADPS)))


def average_bank(context: Context) -> tuple[Finding, ...]:
    """Average bank of the steady part of each turn of a reversal against the least that its area is designed for."""
    given, tolerance = context.standard.get("average_bank"), context.standard.get("average_bank_tolerance")
    if given is None or tolerance is None or context.reversal.flown == "arc":
        return ()
    turns = [(part, turn) for part, turn in _turns(context) if part.name in _OF_THE_REVERSAL]
    return tuple(_average(context, part, turn, given.source, tolerance.value * DEG) for part, turn in turns)


def _average(context: Context, part: Part, turn: TurnFigures, source: str, tolerance: float) -> Finding:
    what = f"Average bank in the {part.name.replace('_', ' ')}"
    if context.figures.wind is None:
        reason = "no wind could be estimated, and the bank for 3°/s depends on airspeed"
        return Finding("average_bank", part.leg, part.name, f"{what}: {degrees(turn.bank_mean_rad, 0)}.", NOT_ASSESSED,
                       unit="deg", source=source, reason=reason)  # fmt: skip
    states = context.motion.states.between(part.start_s, part.end_s)
    speed = float(states.true_airspeed_mps.mean())
    asked = bank_asked_for(context, speed) or 0.0
    by_rate = asked < context.standard["average_bank"].value * DEG
    # where the rate asks for it, a knot of airspeed changes what is asked for: d(bank)/dV = ω cos²(bank)/g
    from_speed = turning.STANDARD_RATE_RADPS * math.cos(asked) ** 2 / GRAVITY * context.figures.wind.sd_mps if by_rate else 0.0
    sd = math.hypot(mean_bank_sd(context.motion, states), from_speed)
    margin = turn.bank_mean_rad - asked + tolerance
    verdict, lacking = judge(margin, sd, context.incomplete_turn(part))
    why = f"for 3°/s at {knots(speed)} true" if by_rate else "as the area is designed for"
    return Finding(
        check="average_bank",
        leg=part.leg,
        part=part.name,
        sentence=f"{what}: {degrees(turn.bank_mean_rad)}; {degrees(asked)} needed {why} ({degrees(tolerance, 0)} tolerance).",
        verdict=verdict,
        measured=turn.bank_mean_rad / DEG,
        limit=asked / DEG,
        unit="deg",
        tolerance=tolerance / DEG,
        margin=margin / DEG,
        sd=sd / DEG,
        source=source,
        basis="recorded" if turn.recorded else "estimate",
        reason=lacking,
        details={"true_airspeed_kt": speed / KT},
        place=context.place((part.start_s + part.end_s) / 2.0),
    )


CHECKS = (
    Check(
        "turn_bank",
        turn_bank,
        "Peak bank of each turn, with the mean over its steady part.",
        "tan(bank) = acceleration across the air path over apparent weight; or as recorded.",
        limits={"turn_bank": ("deg",)},
        weight=5.0,
        of=("approach", "hold"),
    ),
    Check(
        "turn_rate",
        turn_rate,
        "Mean rate of each turn over its steady part. The rate is the pilot's choice.",
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
    ),
)
