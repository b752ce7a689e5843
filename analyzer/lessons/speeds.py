"""Lessons on speed: whether the fix was crossed too fast, where the speed built up, and where to be at a target."""

from __future__ import annotations

import numpy as np

from analyzer.checks.finding import Context, Finding, Lesson
from analyzer.checks.phrases import clock, knots, part_where
from analyzer.checks.speeds import indicated_of
from analyzer.legs.held import laps_of
from analyzer.lessons.descents import rate_words
from analyzer.lessons.possible import fact_or_possible
from analyzer.physics.quantiles import median
from analyzer.physics.units import FPM, KT
from analyzer.vocabulary import Leg

__all__ = ["learn_speed", "learn_target"]

_END_S = 15.0  # at the beginning of a leg
_DESCENDING_MPS = 300.0 * FPM
_AT_LIMIT_KT, _SPARE_KT = 1.0, 5.0  # above a limit, still counted as at it; and a reserve below it: common practice, no source


def learn_speed(context: Context, finding: Finding) -> Lesson | None:
    """Whether the fix was crossed too fast, or where the speed exceeded the limit."""
    span, limit = _span(context, finding), finding.limit
    if span is None or not isinstance(limit, float) or not isinstance(finding.measured, float):
        return None
    if finding.measured <= limit:
        return None
    if finding.measured - limit < _AT_LIMIT_KT:
        return Lesson(None, f"Hold {limit - _SPARE_KT:.0f} kt, so that no gust takes the speed over the limit.")
    at_fix = indicated_of(context.motion, context.motion.states.between(span[0] - 2.0, span[0] + 2.0))
    states = context.motion.states.between(*span)
    indicated = indicated_of(context.motion, states)
    if at_fix is None or indicated is None:
        return None
    speed = median(at_fix[0])
    later_lap = finding.lap is not None and (finding.lap > 1 or context.reversal.begins_on is not None)
    if speed / KT > limit and later_lap:
        return Lesson(
            f"The lap was begun at {knots(speed)} indicated.", f"Slow to {limit:.0f} kt or less, and hold that throughout."
        )
    if speed / KT > limit:
        return Lesson(
            f"The fix was crossed at {knots(speed)} indicated.",
            f"Be at or below {limit:.0f} kt when crossing the fix; slow within 3 minutes before it.",  # AIM 5-3-8 j.2(c)
        )
    over = np.flatnonzero(indicated[0] > limit * KT)
    if not len(over):
        return None
    over_s = float(states.time_s[over[0]])
    part = context.reversal.part_at(over_s)
    where = f" {part_where(part.name)}" if part is not None else ""
    climb = float(context.motion.states.between(over_s - 10.0, over_s).vertical_speed_mps.mean())
    falling = f", descending at {rate_words(-climb)}" if climb < -_DESCENDING_MPS else ""
    begun = "The lap was begun" if later_lap else "The fix was crossed"
    until = "until established inbound" if finding.lap is None else "throughout the hold"
    return Lesson(
        f"{begun} at {knots(speed)}; the speed {fact_or_possible(finding, 'passed', 'may have passed')} {limit:.0f} kt at "
        f"{clock(over_s)}{where}{falling}, and built up to {finding.measured:.0f} kt.",
        f"Hold {knots(speed)} or less {until}.",
    )


def _span(context: Context, finding: Finding) -> tuple[float, float] | None:
    """The stretch of a finding on speed: its lap, or from outbound passage until established. [s]"""
    if finding.lap is None:
        return context.reversal.reversal_span_s
    lap = laps_of(context.reversal)[finding.lap - 1]
    return lap[0].start_s, lap[-1].end_s


def learn_target(context: Context, finding: Finding) -> Lesson | None:
    """The speed at the beginning of the leg, and where to be at its target."""
    spans, target = context.reversal.leg_spans(finding.leg), finding.limit
    if not spans or not isinstance(target, float) or not isinstance(finding.measured, float):
        return None
    first = indicated_of(context.motion, context.motion.states.between(spans[0][0], spans[0][0] + _END_S))
    if first is None:
        return None
    begun = median(first[0]) / KT
    if abs(begun - target) <= finding.tolerance:
        held = fact_or_possible(finding, "was not", "may not have been")
        return Lesson(f"The leg was begun at {begun:.0f} kt, and the speed {held} held.", f"Hold {target:.0f} kt throughout.")
    return Lesson(f"The leg was begun at {begun:.0f} kt.", f"Be at {target:.0f} kt by {_beginning(context, finding.leg)}.")


def _beginning(context: Context, leg: Leg) -> str:
    """Where a leg begins, in words."""
    if leg == "final" and not context.motion.charted.on_field:
        return "the final approach fix"
    return f"the beginning of {context.leg_words(leg)}"
