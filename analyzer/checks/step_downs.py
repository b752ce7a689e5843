"""Check of the step-downs: whether each altitude was maintained until the next leg allowed descent."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace
from itertools import pairwise

import numpy as np

from analyzer.checks.check import Check
from analyzer.checks.descent import first_below
from analyzer.checks.finding import GAP, NOT_ASSESSED, Context, Finding, judge
from analyzer.checks.first_passage import MAY_BE_ENTRY, first_passed_s, perhaps_the_reversal
from analyzer.checks.minimum_begins import hardly_begun
from analyzer.checks.phrases import clock
from analyzer.motion.knots import LONG_HOLE_S
from analyzer.motion.states import States
from analyzer.physics.units import FPM, FT
from analyzer.vocabulary import LEGS, Leg

__all__ = ["CHECKS", "descent_timing"]

_LEFT_M = 100.0 * FT  # the altitude of a leg is left once the aircraft is this far below it
_SOON_S = 15.0  # after a gap, in which the smoothed track is hardly known yet; no source
_SLOWEST_MPS = 100.0 * FPM  # slowest rate used to convert an error of altitude to one of time
_BEGINS: Mapping[Leg, str] = {"outbound": "passing the fix", "inbound": "being established inbound"}
_SOURCE: Mapping[Leg, str] = {
    "outbound": "AIM 5-4-9 a.2: descent after crossing the fix and proceeding outbound",
    "inbound": "AIM 5-4-9 a: the altitude of the procedure turn is a minimum until established inbound",
}


def descent_timing(context: Context) -> tuple[Finding, ...]:
    """When the aircraft left the altitude before each step-down by more than 100 ft, against the start of the next leg."""
    floors = list(context.motion.charted.levels_m.items())
    findings = []
    for (before, high), (leg, low) in pairwise(floors):
        if high - low > _LEFT_M:
            # descent is allowed on legs between the two that have no minimum
            allowed = LEGS[LEGS.index(before) + 1]
            finding = _step_down(context, before, high, leg, allowed)
            if finding is not None:
                findings.append(finding)
    return tuple(findings)


def _begins(context: Context, leg: Leg, level_m: float) -> float | None:
    """When a leg begins: the outbound leg at the fix passage, even if its turn began earlier. [s]

    In circuits of a hold it is the leg of the lap in which the level was left, or of the last one.
    """
    if leg == "outbound":
        passage = context.reversal.passage("outbound")
        return passage.time_s if passage is not None else None
    spans = context.reversal.leg_spans(leg)
    again = [start for start, _ in context.reversal.leg_spans("outbound")]
    states = context.motion.states.between(context.reversal.parts[0].start_s, context.reversal.parts[-1].end_s)
    for start, _ in spans[:-1]:
        left, out_again = _left(states, level_m, start), next((out for out in again if out > start), math.inf)
        if left is None or not left > out_again:
            return start
    return spans[-1][0] if spans else None


def _step_down(context: Context, before: Leg, high: float, leg: Leg, allowed: Leg) -> Finding | None:
    height = context.height
    allowed_from = _begins(context, allowed, high - _LEFT_M)
    if allowed_from is None or not context.reversal.leg_spans(before):
        return None
    source = _SOURCE.get(allowed, "charted") if context.motion.charted.kind == "procedure-turn" else "charted"
    states = context.motion.states.between(context.reversal.parts[0].start_s, context.reversal.parts[-1].end_s)
    left = _left(states, high - _LEFT_M, allowed_from)
    whole = bool(np.isfinite(states.altitude_m).all())
    if left is None and whole and (states.altitude_m[states.time_s <= allowed_from] >= high - _LEFT_M).any():
        return None  # maintained to the end
    if left is None and whole:
        return _not_assessed(leg, source, f"{height.text(high)} was never reached, so there was no descent from it")
    if left is None or not math.isfinite(left):
        return _not_assessed(leg, source, "the log has no altitude there")
    margin = left - allowed_from
    passed = first_passed_s(context) if allowed == "outbound" and left < allowed_from else None
    if _in_gap(context, left):  # it tells nothing of the instant
        hidden = _not_assessed(leg, source, "the log has a gap where the descent began")
        return replace(hidden, sentence=f"Descent to the {leg} altitude from {height.text(high)}.")
    # established so soon after a gap, where the track is hardly known, the aircraft may have been so in it
    late = left < allowed_from and bool(context.motion.holes_between(allowed_from - _SOON_S, allowed_from, LONG_HOLE_S))
    gap = GAP if late and allowed == "inbound" else None
    if passed is not None and passed < left:
        gap = perhaps_the_reversal(context, passed)
    elif before == "arrival" and context.reversal.begins_on is not None:
        gap = MAY_BE_ENTRY
    elif before == "arrival" and hardly_begun(context, context.reversal.leg_spans("arrival")):
        gap = "the log holds too little of the arrival"
    sd = _instant_sd(context, states, left)
    verdict, reason = (NOT_ASSESSED, gap) if gap is not None else judge(margin, sd)
    part = context.reversal.part_at(left)
    return Finding(
        check="descent_timing",
        leg=part.leg if part is not None else leg,
        part=part.name if part is not None else None,
        sentence=(
            f"Descent to the {leg} altitude{_begun(context, leg, left)}: more than {height.text(_LEFT_M)} "
            f"below {height.text(high)} from {clock(left)}, {abs(margin):.0f} s "
            f"{'after' if margin >= 0 else 'before'} {_BEGINS.get(allowed, f'{context.leg_words(allowed)} began')}."
        ),
        verdict=verdict,
        measured=margin,
        limit=0.0,
        unit="s",
        margin=margin,
        sd=sd,
        source=source,
        basis="altitude",
        reason=reason,
        details={"left_ft": high / FT},
        place=context.place(left),
    )


def _instant_sd(context: Context, states: States, left_s: float) -> float:
    """Standard deviation of when a level was left: that of the altitude over the rate of descent then. [s]"""
    rate = -float(np.interp(left_s, states.time_s, states.vertical_speed_mps))
    return context.motion.level_sd_m / max(rate, _SLOWEST_MPS)


def _not_assessed(leg: Leg, source: str, reason: str) -> Finding:
    sentence = f"Descent to the {leg} altitude."
    return Finding("descent_timing", leg, None, sentence, NOT_ASSESSED, unit="s", source=source, reason=reason)


def _left(states: States, level_m: float, allowed_from_s: float) -> float | None:
    """When a level was last left before the next leg began, or else first left after that. [s]

    None if it was never left or never reached, NaN if altitudes are missing then.
    """
    high = np.flatnonzero(states.altitude_m >= level_m)
    before = high[states.time_s[high] <= allowed_from_s]
    if not len(before):
        return None
    last = int(before[-1])
    return first_below(states, level_m, last)


def _begun(context: Context, leg: Leg, left_s: float) -> str:
    """When the inbound step-down began, in words, which is before the aircraft is below the minimum."""
    descent = context.figures.descent
    return f", begun {clock(descent.start_s)}" if leg == "inbound" and descent is not None and descent.start_s < left_s else ""


def _in_gap(context: Context, time_s: float) -> bool:
    holes = (*context.motion.position_holes, *context.motion.altitude_holes)
    return any(begin < time_s < end for begin, end in holes)


CHECKS = (
    Check(
        "descent_timing",
        descent_timing,
        "When the aircraft descended more than 100 ft below the minimum of a leg, against the start of the leg that allows "
        "it: passing the fix, being established inbound, passing the fix inbound.",
        "Margin = instant left - instant allowed. Standard deviation = that of the height, as measured on the "
        "log, over the rate of descent then.",
        weight=10.0,
        all_lost_by={"s": 30.0},
    ),
)
