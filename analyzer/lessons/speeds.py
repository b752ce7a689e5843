"""Lessons of speed: where it was gained, whether the fix was passed too fast already, and what to change it by."""

from __future__ import annotations

from analyzer.checks.model import Context, Finding, Lesson
from analyzer.checks.speeds import indicated_of
from analyzer.checks.words import knots
from analyzer.physics.quantiles import median
from analyzer.physics.units import FPM, KT

__all__ = ["learn_speed", "learn_target"]

_END_S = 15.0  # either end of a leg
_SAME_KT = 3.0


def learn_speed(context: Context, finding: Finding) -> Lesson | None:
    """Whether the fix was passed too fast already, or where the speed was gained."""
    passage, limit, place = context.reversal.passage("outbound"), finding.limit, finding.place
    if passage is None or not isinstance(limit, float) or not isinstance(finding.measured, float) or place is None:
        return None
    at_fix = indicated_of(context, context.motion.states.between(passage.time_s - 2.0, passage.time_s + 2.0))
    if at_fix is None:
        return None
    speed = median(at_fix[0])
    if speed / KT > limit:
        advice = f"Slow down before the fix: {speed / KT - limit:.0f} kt less than there."
        return Lesson(f"The fix was passed at {knots(speed)} indicated already.", advice)
    part = context.reversal.part_at(place.time_s)
    where = part.name.replace("_", " ") if part is not None else "reversal"
    climb = float(context.motion.states.between(place.time_s - 10.0, place.time_s).vertical_speed_mps.mean())
    falling = f", descending at {-climb / FPM:.0f} ft/min" if climb < -300.0 * FPM else ""
    over = finding.measured - limit
    keep = f"Keep the {knots(speed)} of the fix until established inbound." if over > 0.0 else None
    return Lesson(f"The fix was passed at {knots(speed)}; it was gained by the time of the {where}{falling}.", keep)


def learn_target(context: Context, finding: Finding) -> Lesson | None:
    """What the speed was at either end of the leg, and by how much to change it."""
    spans, target = context.reversal.leg_spans(finding.leg), finding.limit
    if not spans or not isinstance(target, float) or not isinstance(finding.measured, float):
        return None
    first = indicated_of(context, context.motion.states.between(spans[0][0], spans[0][0] + _END_S))
    if first is None:
        return None
    begun, off = median(first[0]) / KT, finding.measured - target
    word = "less" if off > 0.0 else "more"
    if abs(begun - finding.measured) < _SAME_KT:
        return Lesson(f"The leg was begun at {begun:.0f} kt already.", f"Begin it with {abs(off):.0f} kt {word}.")
    cause = f"The leg was begun at {begun:.0f} kt, and {finding.measured:.0f} kt were flown over most of it."
    return Lesson(cause, f"Fly {abs(off):.0f} kt {word} over it.")
