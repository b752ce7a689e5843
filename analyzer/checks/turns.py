"""Checks of the manoeuvre: heading and time of the offset leg, bank and rate of every turn."""

from __future__ import annotations

import math

import numpy as np

from analyzer.checks.check import Check
from analyzer.checks.figures import TurnFigures
from analyzer.checks.limits import FROM_TURN
from analyzer.checks.model import NOT_ASSESSED, Context, Finding, judge
from analyzer.checks.words import clock, degrees, knots, miles
from analyzer.legs.model import Part
from analyzer.motion.uncertainty import POSITION_SD_M
from analyzer.physics.units import DEG, KT, NM, bearing_text, wrap

__all__ = ["CHECKS", "offset_heading", "offset_time", "outbound_length", "turn_bank", "turn_rate"]

_HEADING_SD_RAD = 1.0 * DEG  # of a mean heading, beside what the wind adds: turbulence and the compass are not in it
_PILOTS_CHOICE = "left to the pilot; for information only"


def offset_heading(context: Context) -> tuple[Finding, ...]:
    """Mean heading of the offset leg against the charted one."""
    part, charted = context.reversal.part("offset_leg"), context.motion.charted
    if part is None or charted.offset_true_rad is None:
        return ()
    given, wind, flown = context.standard["heading"], context.figures.wind, context.figures.offset_heading_rad
    if wind is None or flown is None:
        reason = "no wind could be estimated, and a track is no heading" if wind is None else "the leg is too short"
        sentence = "Heading of the offset leg."
        return (Finding("offset_heading", "reversal", "offset_leg", sentence, NOT_ASSESSED, unit="deg", source=given.source,
                        reason=reason, basis="estimate"),)  # fmt: skip
    off = float(wrap(np.float64(flown - charted.offset_true_rad)))
    states = context.motion.states.between(part.start_s, part.end_s)
    sd = math.hypot(_HEADING_SD_RAD, wind.sd_mps / float(states.true_airspeed_mps.mean()))
    margin = given.value * DEG - abs(off)
    verdict, reason_text = judge(margin, sd, context.incomplete(part.start_s, part.end_s, part.name))
    variation = charted.variation.east_rad
    return (
        Finding(
            check="offset_heading",
            leg="reversal",
            part="offset_leg",
            sentence=(
                f"Offset leg on heading {bearing_text(flown - variation)} (± {degrees(sd, 0)}), "
                f"charted {bearing_text(charted.offset_true_rad - variation)}."
            ),
            verdict=verdict,
            measured=abs(off) / DEG,
            limit=given.value,
            unit="deg",
            margin=margin / DEG,
            sd=sd / DEG,
            source=given.source,
            basis="estimate",
            reason=reason_text,
            details={"heading_deg_magnetic": (flown - variation) / DEG % 360.0},
            place=context.place((part.start_s + part.end_s) / 2.0),
        ),
    )


def offset_time(context: Context) -> tuple[Finding, ...]:
    """Time on the offset leg, wings level, beside the standard's. The time is the pilot's choice, so no verdict."""
    part, given = context.reversal.part("offset_leg"), context.standard["offset_time"]
    if part is None:
        return ()
    first = context.reversal.part("offset_turn")
    from_turn = part.end_s - first.start_s if first is not None else part.duration_s
    compared = given.value
    as_timed = from_turn if given.unit == FROM_TURN else part.duration_s
    return (
        Finding(
            check="offset_time",
            leg="reversal",
            part="offset_leg",
            sentence=(
                f"Offset leg flown {part.duration_s:.0f} s wings level ({from_turn:.0f} s from the start of its turn); "
                f"{given.meaning.replace(', for comparison', '')}: {compared:.0f} {given.unit}."
            ),
            verdict=NOT_ASSESSED,
            measured=as_timed,
            limit=compared,
            unit="s",
            source=given.source,
            reason=_PILOTS_CHOICE,
            details={"from_turn_start_s": from_turn, "wings_level_s": part.duration_s},
            place=context.place(part.start_s),
        ),
    )


def outbound_length(context: Context) -> tuple[Finding, ...]:
    """Distance from the fix where the outbound part ends, and its time and ground speed. The pilot's choice, so no verdict."""
    part, length = context.reversal.part("outbound"), context.figures.outbound_length_m
    passage = context.reversal.passage("outbound")
    if part is None or length is None or passage is None:
        return ()
    figures = next(figures for figures in context.figures.parts if figures.part is part)
    timed = part.end_s - passage.time_s
    return (
        Finding(
            check="outbound_length",
            leg="outbound",
            part="outbound",
            sentence=(
                f"Outbound to {miles(length)} from the fix, {timed:.0f} s after passing it, "
                f"at a ground speed of {knots(figures.ground_speed_mps)}."
            ),
            verdict=NOT_ASSESSED,
            measured=length / NM,
            unit="NM",
            sd=POSITION_SD_M / NM,
            source="AIM 5-4-9 a.1: where to begin the turn is the pilot's choice, within the limit of distance",
            reason=_PILOTS_CHOICE,
            details={"from_passage_s": timed, "ground_speed_kt": figures.ground_speed_mps / KT},
            place=context.place(part.end_s),
        ),
    )


def _turns(context: Context) -> list[tuple[Part, TurnFigures]]:
    return [(figures.part, figures.turn) for figures in context.figures.parts if figures.turn is not None]


def _unknown(context: Context) -> str:
    """Why the bank of a turn cannot be told."""
    if context.motion.track.filled_in:
        return "most samples are filled in on straight lines between the others, and bank was not recorded throughout"
    return "too little of it is there"


def turn_bank(context: Context) -> tuple[Finding, ...]:
    """Peak bank of each turn against the greatest allowed; the mean over the steady part beside it."""
    given = context.standard["turn_bank"]
    findings = [
        Finding("turn_bank", figures.part.leg, figures.part.name, f"Bank in the {figures.part.name.replace('_', ' ')}.",
                NOT_ASSESSED, limit=given.value, unit="deg", source=given.source, reason=_unknown(context))
        for figures in context.figures.parts
        if figures.part.turn is not None and figures.turn is None
    ]  # fmt: skip
    for part, turn in _turns(context):
        margin = given.value * DEG - turn.bank_peak_rad
        verdict, reason = judge(margin, turn.bank_peak_sd_rad, context.incomplete(part.start_s, part.end_s, part.name))
        findings.append(
            Finding(
                check="turn_bank",
                leg=part.leg,
                part=part.name,
                sentence=(
                    f"Bank in the {part.name.replace('_', ' ')}: {degrees(turn.bank_mean_rad, 0)} mean, "
                    f"{degrees(turn.bank_peak_rad, 0)} ({'recorded' if turn.recorded else 'estimated'}, "
                    f"± {degrees(turn.bank_peak_sd_rad)}) at most, at {clock(turn.peak_time_s)}."
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
    """Mean rate of each turn beside standard rate. The rate is the pilot's choice, so no verdict."""
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


CHECKS = (
    Check(
        "outbound_length",
        outbound_length,
        "Distance from the fix where the outbound part ends, with its time from the fix and its ground speed.",
        "Geodesic distance at the start of the roll into the next turn. Where to turn is the pilot's choice.",
    ),
    Check(
        "offset_heading",
        offset_heading,
        "Mean heading of the offset leg against the charted one.",
        "Heading = direction of ground velocity less the estimated wind; its error grows with that of the wind.",
        limits={"heading": ("deg",)},
        weight=3.0,
    ),
    Check(
        "offset_time",
        offset_time,
        "Time on the offset leg, wings level, and from the start of its turn. The time is the pilot's choice.",
        "In still air 2/(rate of turn) seconds, 38 s at 3°/s, roll the turn back onto the course at any speed.",
        limits={"offset_time": ("s", FROM_TURN)},
    ),
    Check(
        "turn_bank",
        turn_bank,
        "Peak bank of each turn; the mean over its steady part beside it.",
        "tan(bank) = acceleration across the motion through the air over the weight of the moment; or as recorded.",
        limits={"turn_bank": ("deg",)},
        weight=5.0,
    ),
    Check(
        "turn_rate",
        turn_rate,
        "Mean rate of each turn over its steady part. The rate is the pilot's choice.",
        "Acceleration across the motion through the air, over true airspeed.",
        limits={"turn_rate": ("deg/s",)},
    ),
)
