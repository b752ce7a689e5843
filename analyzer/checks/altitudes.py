"""Checks of altitude: the charted minimum of each leg, and whether each step-down waited for its leg."""

from __future__ import annotations

from itertools import pairwise

import numpy as np

from analyzer.checks.descent import first_below
from analyzer.checks.model import CLOSE, INSIDE, NOT_ASSESSED, OUTSIDE, Context, Finding, Verdict, judge
from analyzer.checks.words import clock, feet
from analyzer.motion.model import States
from analyzer.physics.units import FT
from analyzer.procedure.schema import LEGS

__all__ = ["altitude_floor", "descent_timing"]

# A satellite receiver's slow error of height; a barometric altitude's is not less. An assumption, no source.
ALTITUDE_SD_M = 20.0 * FT
_LEFT_M = 100.0 * FT  # the altitude of a leg is left when it is undershot by this much
_DESCENT_RATE_MPS = 300.0 * FT / 60.0  # slowest descent that timing is judged by: turns an error of height into one of time


def altitude_floor(context: Context) -> tuple[Finding, ...]:
    """Lowest altitude in each leg that has a charted minimum, against it."""
    findings = []
    for leg in LEGS:
        span = context.reversal.leg(leg)
        floor = context.motion.charted.floors_m.get(leg)
        if span is None or floor is None:
            continue
        states = context.motion.states.between(*span)
        if not context.motion.has_altitude or not len(states) or not np.isfinite(states.altitude_m).any():
            findings.append(_no_altitude(context, leg, floor))
        else:
            findings.append(_floor_finding(context, leg, floor, states, bool(context.motion.gaps_between(*span))))
    return tuple(findings)


def _tolerance(context: Context, leg: str) -> tuple[float, str]:
    limit = context.standard["minimum_descent_altitude" if leg == "final" else "altitude_floor"]
    return limit.value * FT, f"charted; {limit.source}"


def _no_altitude(context: Context, leg: str, floor: float) -> Finding:
    reason = "the log has no altitude"
    sentence = f"Minimum of {feet(floor)} on the {leg} leg."
    return Finding("altitude_floor", leg, None, sentence, NOT_ASSESSED, limit=floor / FT, unit="ft",
                   source=_tolerance(context, leg)[1], reason=reason)  # fmt: skip


def _floor_finding(context: Context, leg: str, floor: float, states: States, gap: bool) -> Finding:
    altitude = states.altitude_m
    if leg == "arrival":
        # what comes before the minimum was first reached is the climb after take-off
        reached = np.flatnonzero(altitude >= floor)
        altitude = np.where(np.arange(len(altitude)) >= (reached[0] if len(reached) else 0), altitude, np.nan)
    k = int(np.nanargmin(altitude))
    lowest = float(altitude[k])
    tolerance, source = _tolerance(context, leg)
    margin = lowest - floor + tolerance
    verdict, reason = judge(margin, ALTITUDE_SD_M, gap)
    if leg == "final" and verdict in (OUTSIDE, CLOSE):
        verdict, reason = (
            NOT_ASSESSED,
            "with the runway in sight the aircraft may descend below it, and a log does not tell what was in sight",
        )
    time = float(states.time_s[k])
    part = context.reversal.part_at(time)
    return Finding(
        check="altitude_floor",
        leg=leg,
        part=part.name if part is not None and part.leg == leg else None,
        sentence=_floor_sentence(leg, lowest, floor, tolerance, time),
        verdict=verdict,
        measured=lowest / FT,
        limit=floor / FT,
        unit="ft",
        tolerance=tolerance / FT,
        margin=margin / FT,
        sd=ALTITUDE_SD_M / FT,
        source=source,
        basis="altitude",
        reason=reason,
        place=context.place(time),
    )


def _floor_sentence(leg: str, lowest: float, floor: float, tolerance: float, time: float) -> str:
    below = floor - lowest
    against = f"{feet(abs(below))} {'below' if below > 0 else 'above'} the minimum of {feet(floor)}"
    allowed = f" ({feet(tolerance)} below it allowed)" if below > 0 and tolerance > 0 else ""
    return f"Lowest on the {leg} leg: {feet(lowest)} at {clock(time)}, {against}{allowed}."


def descent_timing(context: Context) -> tuple[Finding, ...]:
    """When the altitude before each charted step-down was left by more than 100 ft, against the start of the lower leg."""
    floors = [(leg, context.motion.charted.floors_m[leg]) for leg in LEGS if leg in context.motion.charted.floors_m]
    findings = []
    for (before, high), (leg, low) in pairwise(floors):
        if high - low > _LEFT_M:
            finding = _step_down(context, before, high, leg)
            if finding is not None:
                findings.append(finding)
    return tuple(findings)


def _leg_start(context: Context, leg: str) -> float | None:
    """When a leg's altitude may be descended to: from the outbound passage of the fix, or once established inbound."""
    if leg == "outbound":
        passage = context.reversal.passage("outbound")
        return passage.time_s if passage is not None else None
    span = context.reversal.leg(leg)
    return span[0] if span is not None else None


def _step_down(context: Context, before: str, high: float, leg: str) -> Finding | None:
    allowed_from, span = _leg_start(context, leg), context.reversal.leg(before)
    if allowed_from is None or span is None or not context.motion.has_altitude:
        return None
    states = context.motion.states.between(span[0], context.reversal.parts[-1].end_s)
    first = int(np.argmax(states.altitude_m >= high - _LEFT_M))  # the climb before an arrival is no descent
    left = first_below(states, high - _LEFT_M, first)
    if left is None:
        return None
    margin, sd = left - allowed_from, ALTITUDE_SD_M / _DESCENT_RATE_MPS
    verdict: Verdict = CLOSE if abs(margin) < 2.0 * sd else INSIDE if margin > 0.0 else OUTSIDE
    part = context.reversal.part_at(left)
    what = {"outbound": "passing the fix", "inbound": "being established inbound"}.get(leg, f"the {leg} leg began")
    return Finding(
        check="descent_timing",
        leg=part.leg if part is not None else leg,
        part=part.name if part is not None else None,
        sentence=(
            f"Step-down to the {leg} altitude: {feet(high)} left by more than {feet(_LEFT_M)} at {clock(left)}, "
            f"{abs(margin):.0f} s {'after' if margin >= 0 else 'before'} {what}."
        ),
        verdict=verdict,
        measured=margin,
        limit=0.0,
        unit="s",
        margin=margin,
        sd=sd,
        source="AIM 5-4-9 a: the altitude of the procedure turn is a minimum until established inbound"
        if leg == "inbound"
        else "AIM 5-4-9 a.2: descent after crossing the fix and proceeding outbound"
        if leg == "outbound"
        else "charted",
        basis="altitude",
        place=context.place(left),
    )
