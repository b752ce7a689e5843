"""Checks of the legs of a base turn or procedure turn: time and length of the outbound leg, and rates of descent."""

from __future__ import annotations

import math
from typing import Literal

from analyzer.checks.check import Check
from analyzer.checks.finding import NOT_ASSESSED, Context, Finding, judge
from analyzer.checks.outbound_legs import TIMING_SD_S, TimedFrom, leg_reading, length_read_by, timed_from
from analyzer.checks.phrases import clock, miles
from analyzer.legs.course_left import orbiting
from analyzer.legs.reversal import Part
from analyzer.physics.units import FPM, FT, NM

__all__ = ["CHECKS", "descent_rate", "leg_limit"]

_LEAST_LEG_S = 20.0  # a rate over less is meaningless


def leg_limit(context: Context) -> tuple[Finding, ...]:
    """The outbound leg against its charted nominal time, maximum time and length."""
    charted, outbound = context.motion.charted, context.reversal.part("outbound")
    if charted.kind not in ("base-turn", "procedure-turn") or outbound is None or context.reversal.side is None:
        return ()
    begun = timed_from(context.motion, context.reversal, outbound)
    findings = []
    if charted.leg_time_s is not None:
        findings.append(_nominal(context, outbound, begun, charted.leg_time_s))
    if charted.maximum_time_s is not None:
        what = f"at most {charted.maximum_time_s:.0f} s charted"
        findings.append(_time(context, outbound, begun, charted.maximum_time_s, 0.0, what))
    if charted.leg_length_m is not None:
        findings.append(_length(context, outbound, charted.leg_length_m))
    return tuple(findings)


def _nominal(context: Context, outbound: Part, begun: TimedFrom, wanted: float) -> Finding:
    """The finding on a nominal time; for information if the leg is shorter."""
    tolerance = context.standard["hold_timing"].value
    what = f"{wanted:.0f} s charted (+{tolerance:.0f} s)"
    if outbound.end_s - begun.time_s < wanted - tolerance:
        reason = "a leg shorter than the nominal time exceeds no limit; for information only"
        return _time(context, outbound, begun, wanted, tolerance, what, reason)
    return _time(context, outbound, begun, wanted, tolerance, what)


def _time(
    context: Context, outbound: Part, begun: TimedFrom, limit: float, tolerance: float, what: str, informs: str | None = None
) -> Finding:
    flown = outbound.end_s - begun.time_s
    margin = limit + tolerance - flown
    judged = judge(margin, TIMING_SD_S, context.incomplete(begun.time_s, outbound.end_s, "outbound"))
    verdict, reason = judged if informs is None else (NOT_ASSESSED, informs)
    states = context.motion.states.between(begun.time_s, outbound.end_s)
    if orbiting(states, context.motion.charted.outbound_true_rad).any():
        verdict, reason = NOT_ASSESSED, "an orbit was flown on it, which the time includes"
    return Finding(
        check="leg_limit",
        leg="outbound",
        part="outbound",
        sentence=f"Outbound leg flown {flown:.0f} s, timed from {begun.words} at {clock(begun.time_s)}; {what}.",
        verdict=verdict,
        measured=flown,
        limit=limit,
        unit="s",
        tolerance=tolerance,
        margin=margin,
        sd=TIMING_SD_S,
        source=f"charted; {context.standard['hold_timing'].source}",
        reason=reason,
        place=context.place(outbound.end_s),
    )


def _length(context: Context, outbound: Part, limit: float) -> Finding:
    tolerance = context.standard["hold_length"].value * NM
    flown = leg_reading(context.motion, outbound.end_s, length_read_by(context.motion.charted))
    states = context.motion.states.between(outbound.start_s, outbound.end_s)
    sd = TIMING_SD_S * (float(states.ground_speed_mps.mean()) if len(states) else math.nan)
    margin = limit + tolerance - flown.length_m
    verdict, reason = judge(margin, sd, context.incomplete(outbound.start_s, outbound.end_s, "outbound"))
    return Finding(
        check="leg_limit",
        leg="outbound",
        part="outbound",
        sentence=(
            f"Outbound leg of {miles(flown.length_m)} {flown.words}; {miles(limit, 1)} charted (+{miles(tolerance, 1)})."
        ),
        verdict=verdict,
        measured=flown.length_m / NM,
        limit=limit / NM,
        unit="NM",
        tolerance=tolerance / NM,
        margin=margin / NM,
        sd=sd / NM,
        source=f"charted; {context.standard['hold_length'].source}",
        reason=reason,
        place=context.place(outbound.end_s),
    )


def descent_rate(context: Context) -> tuple[Finding, ...]:
    """Rate of descent on the outbound and inbound legs compared with the design maximum, if the standard has one."""
    reversal, findings = context.reversal, []
    outbound, inbound = reversal.part("outbound"), reversal.last_part("inbound")
    if reversal.side is None:
        return ()
    if outbound is not None:
        begun = timed_from(context.motion, reversal, outbound).time_s
        findings.append(_descent(context, "outbound", begun, outbound.end_s))
    if inbound is not None:
        findings.append(_descent(context, "inbound", inbound.start_s, inbound.end_s))
    return tuple(finding for finding in findings if finding is not None)


def _descent(context: Context, leg: Literal["outbound", "inbound"], start_s: float, end_s: float) -> Finding | None:
    limit = context.standard.get(f"{leg}_descent")
    down = context.motion.altitude_at(start_s) - context.motion.altitude_at(end_s)
    if limit is None or end_s - start_s < _LEAST_LEG_S or not math.isfinite(down) or down <= 0.0:
        return None
    rate = down / (end_s - start_s)
    return Finding(
        check="descent_rate",
        leg=leg,
        part=leg,
        sentence=(
            f"Descended {context.height.text(down)} in the {end_s - start_s:.0f} s of {context.leg_words(leg)}, "
            f"{rate / FPM:.0f} ft/min; "
            f"charts are designed for {limit.value:,.0f} ft/min at most."
        ),
        verdict=NOT_ASSESSED,
        measured=rate / FPM,
        limit=limit.value,
        unit="fpm",
        sd=math.sqrt(2.0) * context.motion.height_noise_sd_m / (end_s - start_s) / FPM,
        source=limit.source,
        basis="altitude",
        reason="a chart design criterion, not a limit on flying; for information only",
        details={"descent_ft": down / FT},
        place=context.place(end_s),
    )


CHECKS = (
    Check(
        "leg_limit",
        leg_limit,
        "Time and length of the outbound leg of a base turn or procedure turn, against what is charted.",
        "From over or abeam the fix, whichever is later, to the start of the turn. A time is nominal, a shorter one is for"
        " information; a maximum time is a limit. A length along the course for RNAV, by DME from a VOR, else from the fix.",
        limits={"hold_timing": ("s",), "hold_length": ("NM",)},
        weight=5.0,
        all_lost_by={"s": 30.0, "NM": 1.0},
    ),
    Check(
        "descent_rate",
        descent_rate,
        "Rate of descent on the outbound and inbound legs, next to what charts are designed for.",
        "Altitude lost from the beginning of the leg to its end, over its time.",
        limits={"outbound_descent": ("fpm",), "inbound_descent": ("fpm",)},
        optional=frozenset({"outbound_descent", "inbound_descent"}),
    ),
)
