"""Checks of the manoeuvre: the length of the outbound leg, and the heading and time of the offset leg."""

from __future__ import annotations

import math

import numpy as np

from analyzer.checks.check import Check
from analyzer.checks.finding import NOT_ASSESSED, Context, Finding, judge
from analyzer.checks.limits import FROM_TURN
from analyzer.checks.phrases import degrees, knots, miles
from analyzer.legs.reversal import Part
from analyzer.physics.units import DEG, KT, NM, bearing_text, wrap

__all__ = ["CHECKS", "offset_heading", "offset_time", "outbound_length"]

_HEADING_SD_RAD = 1.0 * DEG  # of a mean heading, in addition to the error of the wind: turbulence and compass errors
_PILOTS_CHOICE = "left to the pilot; for information only"


def offset_heading(context: Context) -> tuple[Finding, ...]:
    """Mean heading of the offset leg against the charted one; for information where the turn is the pilot's choice.

    References
    ----------
    .. [1] FAA Aeronautical Information Manual 5-4-9 a.1: under a barb the kind of turn is the pilot's choice.
    """
    part, charted = context.reversal.part("offset_leg"), context.motion.charted
    if part is None or charted.offset_true_rad is None:
        return ()
    limit, wind, flown = context.standard["heading"], context.figures.wind, context.figures.offset_heading_rad
    if wind is None or flown is None:
        reason = "no wind could be estimated, and a track is not a heading" if wind is None else "the leg is too short"
        sentence = "Heading of the offset leg."
        return (Finding("offset_heading", "reversal", "offset_leg", sentence, NOT_ASSESSED, unit="deg", source=limit.source,
                        reason=reason, basis="estimate"),)  # fmt: skip
    states = context.motion.states.between(part.start_s, part.end_s)
    sd = math.hypot(_HEADING_SD_RAD, wind.sd_mps / float(states.true_airspeed_mps.mean()))
    if not charted.offset_charted:
        return (_as_flown(context, part, flown, sd),)
    off = float(wrap(np.float64(flown - charted.offset_true_rad)))
    margin = limit.value * DEG - abs(off)
    verdict, reason_text = judge(margin, sd, context.incomplete(part.start_s, part.end_s, part.name))
    variation = charted.variation.east_rad
    return (
        Finding(
            check="offset_heading",
            leg="reversal",
            part="offset_leg",
            sentence=(
                f"Offset leg on heading {bearing_text(flown - variation)} (± {degrees(sd, 0)}), {_off_words(off)} the charted "
                f"{bearing_text(charted.offset_true_rad - variation)}; limit {degrees(limit.value * DEG, 0)}."
            ),
            verdict=verdict,
            measured=abs(off) / DEG,
            limit=limit.value,
            unit="deg",
            margin=margin / DEG,
            sd=sd / DEG,
            source=limit.source,
            basis="estimate",
            reason=reason_text,
            details={"heading_deg_magnetic": (flown - variation) / DEG % 360.0},
            place=context.place((part.start_s + part.end_s) / 2.0),
        ),
    )


def _off_words(off_rad: float) -> str:
    """How far a heading is off another: ``3° right of``, or ``0.2° right of``, which whole degrees would make nought."""
    return f"{degrees(abs(off_rad), 0 if abs(off_rad) >= 0.5 * DEG else 1)} {'right' if off_rad > 0 else 'left'} of"


def _as_flown(context: Context, part: Part, heading_rad: float, sd_rad: float) -> Finding:
    """The finding on an offset leg without a charted heading: its angle from the outbound course."""
    charted = context.motion.charted
    magnetic, away = heading_rad - charted.variation.east_rad, float(wrap(heading_rad - charted.outbound_true_rad))
    return Finding(
        check="offset_heading",
        leg="reversal",
        part="offset_leg",
        sentence=(
            f"Offset leg on heading {bearing_text(magnetic)} (± {degrees(sd_rad, 0)}), {degrees(abs(away), 0)} "
            f"{'right' if away > 0 else 'left'} of the outbound course."
        ),
        verdict=NOT_ASSESSED,
        measured=abs(away) / DEG,
        unit="deg",
        sd=sd_rad / DEG,
        source="AIM 5-4-9 a.1: the kind of turn is the pilot's choice on the charted side",
        basis="estimate",
        reason=_PILOTS_CHOICE,
        details={"heading_deg_magnetic": magnetic / DEG % 360.0},
        place=context.place((part.start_s + part.end_s) / 2.0),
    )


def offset_time(context: Context) -> tuple[Finding, ...]:
    """Time on the offset leg compared with that of the standard; no verdict, as the time is the pilot's choice."""
    part, limit = context.reversal.part("offset_leg"), context.standard["offset_time"]
    if part is None:
        return ()
    first = context.reversal.part("offset_turn")
    from_turn = part.end_s - first.start_s if first is not None else part.duration_s
    as_timed = from_turn if limit.unit == FROM_TURN else part.duration_s
    return (
        Finding(
            check="offset_time",
            leg="reversal",
            part="offset_leg",
            sentence=(
                f"Offset leg flown {part.duration_s:.0f} s wings level ({from_turn:.0f} s from the start of its turn); "
                f"{limit.meaning.replace(', for comparison', '')}: {limit.value:.0f} {limit.unit}."
            ),
            verdict=NOT_ASSESSED,
            measured=as_timed,
            limit=limit.value,
            unit="s",
            source=limit.source,
            reason=_PILOTS_CHOICE,
            details={"from_turn_start_s": from_turn, "wings_level_s": part.duration_s},
            place=context.place(part.start_s),
        ),
    )


def outbound_length(context: Context) -> tuple[Finding, ...]:
    """Distance from the fix where the outbound part ends, its time and ground speed; no verdict: the pilot's choice.

    Not in a charted hold, whose leg has its own time or length.
    """
    if context.motion.charted.kind == "hold" and context.reversal.flown.startswith("hold"):
        return ()
    part, length = context.reversal.part("outbound"), context.figures.outbound_length_m
    passage = context.reversal.passage("outbound")
    if part is None or length is None or passage is None:
        return ()
    figures = next(figures for figures in context.figures.parts if figures.part is part)
    timed = part.end_s - passage.time_s
    speed = figures.ground_speed_mps
    flown = f"; ground speed on the outbound part {knots(speed)}" if math.isfinite(speed) else ""
    return (
        Finding(
            check="outbound_length",
            leg="outbound",
            part="outbound",
            sentence=f"Outbound to {miles(length)} from the fix, {timed:.0f} s after passing it{flown}.",
            verdict=NOT_ASSESSED,
            measured=length / NM,
            unit="NM",
            sd=context.motion.position_sd_m / NM,
            source="AIM 5-4-9 a.1: where to begin the turn is the pilot's choice, within the limit of distance",
            reason=_PILOTS_CHOICE,
            details={"from_passage_s": timed} | ({"ground_speed_kt": speed / KT} if flown else {}),
            place=context.place(part.end_s),
        ),
    )


CHECKS = (
    Check(
        "outbound_length",
        outbound_length,
        "Distance from the fix where the outbound part ends, with its time from the fix and its ground speed. Not for a hold.",
        "Geodesic distance at the start of the roll into the next turn. Where to turn is the pilot's choice.",
    ),
    Check(
        "offset_heading",
        offset_heading,
        "Mean heading of the offset leg against the charted one, where the chart has one; else how far it led off the outbound "
        "course, for information.",
        "Heading = direction of ground velocity less the estimated wind; its error grows with that of the wind.",
        limits={"heading": ("deg",)},
        weight=3.0,
        all_lost_by={"deg": 20.0},
    ),
    Check(
        "offset_time",
        offset_time,
        "Time on the offset leg, wings level, and from the start of its turn. The time is the pilot's choice.",
        "In still air 2/(rate of turn) seconds, 38 s at 3°/s, roll the turn back onto the course at any speed.",
        limits={"offset_time": ("s", FROM_TURN)},
    ),
)
