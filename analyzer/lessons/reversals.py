"""Lessons of the manoeuvre, from flying it again: where to begin it, how long the leg."""

from __future__ import annotations

import math
from dataclasses import replace

from analyzer.checks.model import Context, Finding, Lesson
from analyzer.checks.words import knots, miles, side_word
from analyzer.lessons.reflight import Reflight, reflight
from analyzer.nominal.solve import solve
from analyzer.physics.units import NM, bearing_text

__all__ = ["learn_distance", "learn_leg_time", "learn_side"]

_KEPT_M = 1.0 * NM  # to stay inside the limit by: common practice, no source
_TOLD_M = 0.3 * NM  # what the wind did by less is not told
_ON_COURSE_M = 0.1 * NM
_LONGEST_LEG_S = 240.0
_SAME_S = 3.0  # a leg that is right within this needs no advice


def learn_distance(context: Context, finding: Finding) -> Lesson | None:
    """Why the reversal reached so far, and how much earlier to begin it to keep a mile inside the limit."""
    again = reflight(context)
    outbound, limit = context.reversal.part("outbound"), finding.limit
    if again is None or outbound is None or not isinstance(limit, float) or again.first is None:
        return None
    course = context.motion.charted.outbound_true_rad
    begun = context.motion.distance_at(outbound.end_s)
    wanted = limit * NM - _KEPT_M
    earlier = solve(lambda metres: again.moved(-metres, course).farthest_m() - wanted, 0.0, begun)
    advice = None
    if earlier is not None and again.moved(-earlier, course).farthest_m() < wanted + 0.05 * NM:
        north, east = again.air.ground_velocity(again.start_heading_rad)
        seconds = earlier / math.hypot(north, east)
        advice = (
            f"Begin the turn off the outbound course {miles(begun - earlier, 1)} from the fix, {miles(earlier, 1)} "
            f"({seconds:.0f} s) earlier: flown again so, the same reversal keeps a mile inside the limit."
        )
    return _lesson(_why_far(again, begun), advice)


def _why_far(again: Reflight, begun_m: float) -> str:
    beyond = again.farthest_m() - begun_m
    carried = again.farthest_m() - again.in_still_air().farthest_m()
    if abs(carried) < _TOLD_M:
        return f"The turn was begun {miles(begun_m, 1)} from the fix; at this speed the reversal takes {miles(beyond, 1)} more."
    what = "less" if carried > 0.0 else "more"
    return (
        f"The turn was begun {miles(begun_m, 1)} from the fix; from there the reversal took {miles(beyond, 1)} more, in still "
        f"air {miles(abs(carried), 1)} {what}."
    )


def _lesson(cause: str | None, advice: str | None) -> Lesson | None:
    return None if cause is None and advice is None else Lesson(cause, advice)


def learn_leg_time(context: Context, finding: Finding) -> Lesson | None:  # noqa: ARG001 (one signature for all)
    """How long the leg before the reversing turn should have been for the turn to come out on the inbound course."""
    again = reflight(context)
    if again is None or again.leg_s <= 0.0:
        return None
    flown, out = again.leg_s, again.rolled_out_m()
    seconds = solve(lambda s: _with_leg(again, s).rolled_out_m(), 0.0, _LONGEST_LEG_S)
    offset = context.reversal.part("offset_leg") is not None
    name = "offset leg" if offset else "outbound leg"
    # a turn back to the right comes from the right of the inbound course
    short = out * again.back_direction > 0.0
    cause = (
        f"With {flown:.0f} s on the {name}, the turn at this bank comes out {miles(abs(out), 1)} "
        f"{'short of' if short else 'beyond'} the inbound course."
    )
    if seconds is None or abs(_with_leg(again, seconds).rolled_out_m()) > _ON_COURSE_M:
        return _lesson(cause if abs(out) > _ON_COURSE_M else None, None)
    if abs(seconds - flown) < _SAME_S:
        return None
    wind = math.hypot(again.air.wind_north_mps, again.air.wind_east_mps)
    return _lesson(
        cause if abs(out) > _ON_COURSE_M else None,
        f"In this wind ({knots(wind)}) and at this bank, {seconds:.0f} s on the {name}, not {flown:.0f} s, would have rolled "
        f"out on the inbound course.",
    )


def _with_leg(again: Reflight, seconds: float) -> Reflight:
    return replace(again, leg_s=seconds)


def learn_side(context: Context, finding: Finding) -> Lesson | None:  # noqa: ARG001
    """The first turn that leads to the charted side."""
    charted = context.motion.charted
    if charted.side is None or charted.offset_true_rad is None:
        return None
    heading = bearing_text(charted.offset_true_rad - charted.variation.east_rad)
    to = f", to {heading} as charted" if charted.offset_charted else ""
    return Lesson(None, f"Turn {side_word(charted.side)} off the outbound course{to}.")
