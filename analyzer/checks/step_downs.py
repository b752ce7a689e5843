"""Check of the step-downs: whether the altitude of each leg was kept until the next leg allowed to leave it."""

from __future__ import annotations

from itertools import pairwise

import numpy as np

from analyzer.checks.altitudes import ALTITUDE_SD_M
from analyzer.checks.descent import first_below
from analyzer.checks.model import NOT_ASSESSED, Context, Finding, judge
from analyzer.checks.words import clock, feet
from analyzer.physics.units import FT
from analyzer.procedure.schema import LEGS

__all__ = ["descent_timing"]

_LEFT_M = 100.0 * FT  # the altitude of a leg is left when it is undershot by this much
_DESCENT_RATE_MPS = 300.0 * FT / 60.0  # slowest descent that timing is judged by: turns an error of height into one of time
_BEGINS = {"outbound": "passing the fix", "inbound": "being established inbound"}
_SOURCE = {
    "outbound": "AIM 5-4-9 a.2: descent after crossing the fix and proceeding outbound",
    "inbound": "AIM 5-4-9 a: the altitude of the procedure turn is a minimum until established inbound",
}


def descent_timing(context: Context) -> tuple[Finding, ...]:
    """When the altitude before each charted step-down was left by more than 100 ft, against the start of the leg after it."""
    floors = [(leg, context.motion.charted.floors_m[leg]) for leg in LEGS if leg in context.motion.charted.floors_m]
    findings = []
    for (before, high), (leg, low) in pairwise(floors):
        if high - low > _LEFT_M:
            # legs without a minimum of their own, between the two, may be descended in
            allowed = LEGS[LEGS.index(before) + 1]
            finding = _step_down(context, before, high, leg, allowed)
            if finding is not None:
                findings.append(finding)
    return tuple(findings)


def _begins(context: Context, leg: str) -> float | None:
    """When a leg begins: the outbound one with the passage of the fix, though its turn may be led."""
    if leg == "outbound":
        passage = context.reversal.passage("outbound")
        return passage.time_s if passage is not None else None
    span = context.reversal.leg(leg)
    return span[0] if span is not None else None


def _step_down(context: Context, before: str, high: float, leg: str, allowed: str) -> Finding | None:
    allowed_from, span = _begins(context, allowed), context.reversal.leg(before)
    if allowed_from is None or span is None:
        return None
    source = _SOURCE.get(allowed, "charted")
    states = context.motion.states.between(span[0], context.reversal.parts[-1].end_s)
    first = int(np.argmax(states.altitude_m >= high - _LEFT_M))  # the climb before an arrival is no descent
    left = first_below(states, high - _LEFT_M, first)
    if left is None and not np.isfinite(states.altitude_m).all():
        sentence = f"Step-down to the {leg} altitude."
        return Finding("descent_timing", leg, None, sentence, NOT_ASSESSED, unit="s", source=source,
                       reason="the log has no altitude there")  # fmt: skip
    if left is None:
        return None
    margin = left - allowed_from
    untold = "the log has a gap where the altitude was left" if _in_gap(context, left) else None
    verdict, reason = (NOT_ASSESSED, untold) if untold is not None else judge(margin, ALTITUDE_SD_M / _DESCENT_RATE_MPS)
    part = context.reversal.part_at(left)
    return Finding(
        check="descent_timing",
        leg=part.leg if part is not None else leg,
        part=part.name if part is not None else None,
        sentence=(
            f"Step-down to the {leg} altitude: {feet(high)} left by more than {feet(_LEFT_M)} at {clock(left)}, "
            f"{abs(margin):.0f} s {'after' if margin >= 0 else 'before'} {_BEGINS.get(allowed, f'the {allowed} leg began')}."
        ),
        verdict=verdict,
        measured=margin,
        limit=0.0,
        unit="s",
        margin=margin,
        sd=ALTITUDE_SD_M / _DESCENT_RATE_MPS,
        source=source,
        basis="altitude",
        reason=reason,
        place=context.place(left),
    )


def _in_gap(context: Context, time_s: float) -> bool:
    return any(gap.start_s <= time_s <= gap.end_s for gap in context.motion.track.gaps)
