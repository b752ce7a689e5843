"""Checks of the reversal as a whole: how far it reached, on which side it lay and how fast it was flown."""

from __future__ import annotations

import math

from analyzer.checks.check import Check
from analyzer.checks.figures import Airspeed, Farthest
from analyzer.checks.model import INSIDE, NOT_ASSESSED, OUTSIDE, Context, Finding, judge
from analyzer.checks.words import clock, feet, knots, miles, side_word
from analyzer.physics.units import KT, NM

__all__ = ["CHECKS", "distance_limit", "no_reversal", "reversal_side", "speed_limit"]


def distance_limit(context: Context) -> tuple[Finding, ...]:
    """Greatest geodesic distance from the fix or charted centre, from outbound passage until established, against the limit."""
    farthest, charted = context.figures.farthest_from_limit, context.motion.charted
    if farthest is None:
        return ()
    given = context.standard["reversal_distance"]
    limit = charted.limit_m if charted.limit_m is not None else given.value * NM
    margin = limit - farthest.distance_m
    span = context.reversal.reversal_span_s
    incomplete = context.not_established or (context.incomplete(*span) if span is not None else None)
    verdict, reason = judge(margin, farthest.sd_m, incomplete)
    part = context.reversal.part_at(farthest.time_s)
    return (
        Finding(
            check="distance_limit",
            leg=part.leg if part is not None else "reversal",
            part=part.name if part is not None else None,
            sentence=_distance_sentence(context, farthest, limit),
            verdict=verdict,
            measured=farthest.distance_m / NM,
            limit=limit / NM,
            unit="NM",
            margin=margin / NM,
            sd=farthest.sd_m / NM,
            source="charted; AIM 5-4-9 a.3: complete within the distance of the profile view"
            if charted.limit_m
            else given.source,
            reason=reason,
            details={"slant_nm": farthest.slant_m / NM} if _dme_tells(context, farthest) else {},
            place=context.place(farthest.time_s),
        ),
    )


def _distance_sentence(context: Context, farthest: Farthest, limit: float) -> str:
    charted = context.motion.charted
    at_fix = charted.procedure.reversal.within_from is None
    fix = charted.procedure.fix.name if at_fix else "the point that the limit is measured from"
    beyond = farthest.distance_m - limit
    against = f"{miles(abs(beyond))} {'beyond' if beyond > 0 else 'inside'} the limit of {miles(limit, 1)}"
    slant = f" A DME there reads {miles(farthest.slant_m, 1)}." if _dme_tells(context, farthest) else ""
    return f"Farthest from {fix}: {miles(farthest.distance_m)} at {clock(farthest.time_s)}, {against}.{slant}"


def _dme_tells(context: Context, farthest: Farthest) -> bool:
    """Whether the line of sight to the fix's elevation is that to the point which the limit is measured from."""
    return context.motion.charted.procedure.reversal.within_from is None and math.isfinite(farthest.slant_m)


def reversal_side(context: Context) -> tuple[Finding, ...]:
    """The side of the outbound course that the reversal was flown on, against the charted side."""
    flown, charted = context.reversal.side, context.motion.charted.side
    if flown is None or charted is None:
        return ()
    first = context.reversal.part("offset_turn") or context.reversal.part("reversal_turn")
    word, wanted = side_word(flown), side_word(charted)
    agree = flown == charted
    return (
        Finding(
            check="reversal_side",
            leg="reversal",
            part=first.name if first is not None else None,
            sentence=f"Reversal flown {word} of the outbound course, {'as charted' if agree else f'but charted {wanted}'}.",
            verdict=INSIDE if agree else OUTSIDE,
            measured=word,
            limit=wanted,
            source="charted; AIM 5-4-9 a.1: the charted side is the one to manoeuvre on",
            place=context.place(first.start_s) if first is not None else None,
        ),
    )


def no_reversal(context: Context) -> tuple[Finding, ...]:
    """A reversal flown where none is charted, or none flown where one is."""
    charted, reversal = context.motion.charted.kind, context.reversal
    flown, wanted = reversal.side is not None, charted in ("procedure-turn", "base-turn", "hold")
    source = "AIM 5-4-9 a and b: when a reversal is needed, and when it is not allowed"
    if flown == wanted:
        return ()
    if flown:
        sentence = f"A reversal was flown ({reversal.flown}) on a route charted without one."
        return (Finding("no_reversal", "reversal", None, sentence, OUTSIDE, reversal.flown, "none", source=source),)
    reason = "a straight-in clearance, vectors or a NoPT route would excuse it, and a log does not tell"
    sentence = f"The charted reversal was not flown; the approach was flown as {reversal.flown}."
    return (Finding("no_reversal", "arrival", None, sentence, NOT_ASSESSED, "none", charted, source=source, reason=reason),)


def speed_limit(context: Context) -> tuple[Finding, ...]:
    """Greatest indicated airspeed from outbound passage until established, against the charted or published limit."""
    if context.reversal.passage("outbound") is None:
        return ()
    charted, given = context.motion.charted.maximum_speed_mps, context.standard["reversal_speed"]
    limit = charted if charted is not None else given.value * KT
    source = "charted" if charted is not None else given.source
    indicated = context.figures.indicated
    if indicated is None:
        reason = "no wind could be estimated"
        if context.figures.wind is not None:
            reason = f"the log has no {'altitude' if not context.motion.has_altitude else 'usable altitude in a part of it'}"
        return (
            Finding(
                "speed_limit", "reversal", None, "Greatest indicated airspeed.",
                NOT_ASSESSED, limit=limit / KT, unit="kt", source=source, reason=reason, basis="estimate",
            ),
        )  # fmt: skip
    return (_speed_finding(context, indicated, limit, source),)


def _speed_finding(context: Context, indicated: Airspeed, limit: float, source: str) -> Finding:
    margin = limit - indicated.speed_mps
    span = context.reversal.reversal_span_s
    incomplete = context.not_established or (context.incomplete(*span) if span is not None else None)
    verdict, reason = judge(margin, indicated.sd_mps, incomplete)
    altitude = context.motion.altitude_at(indicated.time_s)
    height = f", {feet(altitude)}" if math.isfinite(altitude) else ""
    part = context.reversal.part_at(indicated.time_s)
    return Finding(
        check="speed_limit",
        leg=part.leg if part is not None else "reversal",
        part=part.name if part is not None else None,
        sentence=(
            f"Greatest indicated airspeed {knots(indicated.speed_mps)} "
            f"({'recorded' if indicated.recorded else f'estimated, ± {knots(indicated.sd_mps)}'}) "
            f"at {clock(indicated.time_s)}{height}; limit {knots(limit)}."
        ),
        verdict=verdict,
        measured=indicated.speed_mps / KT,
        limit=limit / KT,
        unit="kt",
        margin=margin / KT,
        sd=indicated.sd_mps / KT,
        source=source,
        basis="recorded" if indicated.recorded else "estimate",
        reason=reason,
        place=context.place(indicated.time_s),
    )


CHECKS = (
    Check(
        "distance_limit",
        distance_limit,
        "Greatest distance from the fix, or the point that the limit is charted from, between passing the fix outbound and"
        " being established inbound; with further circuits of a hold, after the last of them.",
        "Geodesic distance on WGS 84. What a DME reads is the slant range, the root of distance squared plus height above "
        "the station squared.",
        limits={"reversal_distance": ("NM",)},
        weight=20.0,
        fails_outright=True,
    ),
    Check(
        "reversal_side",
        reversal_side,
        "The side of the outbound course, looking outbound, that the reversal was flown on.",
        "The side of the best-fitting shape; a hold with right turns lies left of its outbound course.",
        weight=10.0,
        fails_outright=True,
        in_words=True,
    ),
    Check(
        "no_reversal",
        no_reversal,
        "Whether a reversal was flown where one is charted, and none where none is.",
        "The shape that fits the track best.",
        weight=10.0,
        fails_outright=True,
        in_words=True,
    ),
    Check(
        "speed_limit",
        speed_limit,
        "Greatest indicated airspeed from passing the fix outbound until established.",
        "Recorded; or true airspeed, ground velocity less wind, through the standard atmosphere or the QNH and temperature"
        " given.",
        limits={"reversal_speed": ("kt",)},
        weight=5.0,
    ),
)
