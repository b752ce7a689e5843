"""Lessons of legs that are timed or measured, and of the entry into a hold."""

from __future__ import annotations

import numpy as np

from analyzer.checks.model import Context, Finding, Lesson
from analyzer.checks.outbound_legs import leg_reading, length_read_by, timed_from
from analyzer.checks.words import clock, miles, side_word
from analyzer.legs.model import Part
from analyzer.physics.units import DEG, NM, bearing_text

__all__ = ["learn_entry", "learn_leg"]

_NEAR_S = 8.0  # a time from wings level as near as this to the wanted one was begun there
_TEARDROP_RAD = 30.0 * DEG  # AIM 5-3-8 j.3(b)


def learn_leg(context: Context, finding: Finding) -> Lesson | None:
    """When the turn was due, and where a time that was begun too late was begun; of an inbound leg the next outbound one."""
    outbound, limit = context.reversal.part("outbound"), finding.limit
    if not isinstance(limit, float) or not isinstance(finding.measured, float):
        return None
    if finding.part == "inbound":
        return _next_outbound(context, finding, finding.measured, limit)
    if outbound is None:
        return None
    if finding.unit == "NM":
        return _length(context, outbound, finding.measured, limit)
    begun = timed_from(context.motion, context.reversal, outbound)
    from_level = outbound.end_s - outbound.start_s
    over = finding.measured - limit
    if over <= 0.0:
        return None
    late = outbound.start_s - begun.time_s
    cause = None
    if abs(from_level - limit) < _NEAR_S and late > _NEAR_S:
        cause = f"The clock was started {late:.0f} s late, at wings level."
    where = begun.words if begun.words != "wings level" else "at wings level"
    return Lesson(cause, f"Start the clock {where}, here at {clock(begun.time_s)}, and turn at {clock(begun.time_s + limit)}.")


def _length(context: Context, outbound: Part, measured_nm: float, limit_nm: float) -> Lesson | None:
    """Where the leg was as long as charted, and how long before the turn that was."""
    by = length_read_by(context.motion.charted)
    instants = np.arange(outbound.start_s, outbound.end_s, 1.0)
    reached = next((t for t in instants if leg_reading(context.motion, float(t), by).length_m >= limit_nm * NM), None)
    if reached is None:
        return None
    due = leg_reading(context.motion, float(reached), by)
    return Lesson(
        f"The leg was {miles(limit_nm * NM, 1)} long {due.words} at {clock(float(reached))}; the turn was begun "
        f"{outbound.end_s - float(reached):.0f} s and {miles((measured_nm - limit_nm) * NM, 1)} later.",
        f"Begin the turn at {miles(limit_nm * NM, 1)}.",
    )


def _next_outbound(context: Context, finding: Finding, measured: float, wanted: float) -> Lesson | None:
    """By how much the outbound leg has to change for the inbound one to take its time, by the ground speeds of the two."""
    inbound = context.reversal.part_at(finding.place.time_s) if finding.place is not None else None
    if inbound is None:
        return None
    before = [part for part in context.reversal.parts if part.name == "outbound" and part.end_s <= inbound.start_s]
    outbound = before[-1] if before else None
    if outbound is None:
        return None
    home, out = (context.motion.states.between(part.start_s, part.end_s) for part in (inbound, outbound))
    if not len(home) or not len(out):
        return None
    speeds = float(home.ground_speed_mps.mean()), float(out.ground_speed_mps.mean())
    change = (wanted - measured) * speeds[0] / speeds[1]
    return Lesson(
        f"The outbound leg before it took {outbound.duration_s:.0f} s from wings level.",
        f"Fly the outbound leg {abs(change):.0f} s {'longer' if change > 0.0 else 'shorter'}, at the ground speeds flown.",
    )


def learn_entry(context: Context, finding: Finding) -> Lesson | None:
    """The heading to turn to at the fix for the entry that the sector calls for."""
    charted, expected = context.motion.charted, finding.limit
    if charted.turn is None or expected not in ("direct", "teardrop", "parallel"):
        return None
    east, turn = charted.variation.east_rad, side_word(charted.turn)
    out = charted.outbound_true_rad
    if expected == "teardrop":
        offset = out - charted.turn * _TEARDROP_RAD
        return Lesson(None, f"From the fix fly {bearing_text(offset - east)} for the outbound leg, then turn {turn} inbound.")
    if expected == "parallel":
        back = side_word(-charted.turn)
        return Lesson(None, f"From the fix fly {bearing_text(out - east)} parallel to the course, then turn {back} back to it.")
    return Lesson(None, f"At the fix turn {turn} to {bearing_text(out - east)} for the outbound leg.")
