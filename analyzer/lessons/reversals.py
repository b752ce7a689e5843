"""Lessons of the manoeuvre, from flying it again: where to begin it, how long the leg."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from analyzer.checks.finding import Context, Finding, Lesson
from analyzer.checks.phrases import clock, degrees, knots, miles, side_word
from analyzer.checks.speeds import indicated_of
from analyzer.lessons.holds import learn_circuit
from analyzer.lessons.reflight import Reflight, reflight
from analyzer.nominal.solve import solve
from analyzer.physics.quantiles import median
from analyzer.physics.units import DEG, KT, NM, bearing_text, wrap
from analyzer.procedure.charted import Charted

__all__ = ["learn_distance", "learn_leg_time", "learn_side"]

_KEPT_M = 1.0 * NM  # to stay inside the limit by: common practice, no source
_NOTED_M = 0.3 * NM  # a smaller wind effect is not reported
_ON_COURSE_M = 0.1 * NM
_LONGEST_LEG_S = 240.0
_EXPLAINED_M = 0.3 * NM  # how near to the overshoot flown that of the flight flown again must come
_STOPPED_RAD = 20.0 * DEG  # still to turn: the turn was stopped, not led
_LONG_LEG_S, _SHORT_LEG_S = 65.0, 40.0  # of an offset leg; 38 s roll out on the course in still air at 3°/s
_ROLL_OUT_S = 10.0
_HELD_RAD, _BEGUN_RAD = 10.0 * DEG, 2.0 * DEG  # a change of track by the first is a turn, by the second its beginning
_FAST_MPS, _SLOWER_MPS = 160.0 * KT, 140.0 * KT  # indicated, in a reversal: common practice, no source
_SAME_S = 3.0  # a leg that is right within this needs no advice


def learn_distance(context: Context, finding: Finding) -> Lesson | None:
    """Why the reversal reached so far, and how to fly it a mile inside the limit: begun earlier, a long leg shorter, slower."""
    again = reflight(context)
    outbound, limit = context.reversal.part("outbound"), finding.limit
    if again is None or outbound is None or again.first is None or not isinstance(limit, float):
        return None
    begun = context.motion.distance_at(outbound.end_s)
    cause = _why_far(context, finding, again, begun)
    tighter, words = _tighter(context, again)
    earlier = _earlier(context, tighter, begun, limit * NM - _KEPT_M)
    if earlier is None:
        return _lesson(cause, f"{words[:1].upper()}{words[1:]}." if words else None)
    at = f"the turn off the outbound course {miles(begun - earlier, 1)} from the fix"
    if words:
        return Lesson(
            cause,
            f"{words[:1].upper()}{words[1:]}, and begin {at}: the reversal then stays a mile inside the limit.",
        )
    if earlier <= 0.0:
        return _lesson(cause, None)
    north, east = again.air.ground_velocity(again.start_heading_rad)
    seconds = earlier / math.hypot(north, east)
    return Lesson(
        cause,
        f"Begin {at}, {miles(earlier, 1)} ({seconds:.0f} s) earlier: the same reversal then stays a mile inside the limit.",
    )


def _earlier(context: Context, again: Reflight, begun_m: float, wanted_m: float) -> float | None:
    """How much earlier the turn has to begin to reach no farther than is wanted; None where that is not possible. [m]"""
    course = context.motion.charted.outbound_true_rad
    if again.farthest_m() <= wanted_m:
        return 0.0
    earlier = solve(lambda metres: again.moved(-metres, course).farthest_m() - wanted_m, 0.0, begun_m)
    if earlier is None or again.moved(-earlier, course).farthest_m() > wanted_m + 0.05 * NM:
        return None
    return earlier


def _tighter(context: Context, again: Reflight) -> tuple[Reflight, str]:
    """The reversal without what made it long: a long offset leg, a high speed; and what to do so, in words."""
    words, tighter = [], again
    span = context.reversal.reversal_span_s
    indicated = indicated_of(context, context.motion.states.between(*span)) if span is not None else None
    if indicated is not None and median(indicated[0]) > _FAST_MPS:
        slower = again.air.true_airspeed_mps * _SLOWER_MPS / median(indicated[0])
        tighter = replace(tighter, air=replace(tighter.air, true_airspeed_mps=slower))
        words.append(f"slow to {knots(_SLOWER_MPS)} if the aircraft allows")
    if context.reversal.part("offset_leg") is not None and again.leg_s > _LONG_LEG_S:
        tighter = _with_leg(tighter, _SHORT_LEG_S)
        words.append(f"fly the offset leg for {_SHORT_LEG_S:.0f} s, not {again.leg_s:.0f} s")
    return tighter, ", ".join(words)


def _why_far(context: Context, finding: Finding, again: Reflight, begun_m: float) -> str:
    begun = f"The turn was begun {miles(begun_m, 1)} from the fix"
    carried = again.farthest_m() - again.in_still_air().farthest_m()
    wind = None
    if abs(carried) >= _NOTED_M:
        wind = f"{miles(abs(carried), 1)} {'more' if carried > 0.0 else 'less'} than in still air"
    if not isinstance(finding.measured, float) or _limit_elsewhere(context.motion.charted):
        return f"{begun}; {wind}." if wind is not None else f"{begun}."
    # of the distances as they are shown, so that they add up
    beyond = f"{round(finding.measured, 2) - round(begun_m / NM, 1):.1f} NM"
    if wind is None:
        return f"{begun}; at this speed the reversal takes another {beyond}."
    return f"{begun}; from there the reversal took another {beyond}, {wind}."


def _limit_elsewhere(charted: Charted) -> bool:
    """Whether the limit is measured from elsewhere than the fix."""
    fix, centre = (
        (charted.fix_latitude_rad, charted.fix_longitude_rad),
        (charted.limit_latitude_rad, charted.limit_longitude_rad),
    )
    return fix != centre or charted.within_by_dme


def _lesson(cause: str | None, advice: str | None) -> Lesson | None:
    return None if cause is None and advice is None else Lesson(cause, advice)


def learn_leg_time(context: Context, finding: Finding) -> Lesson | None:
    """Why the inbound course was overshot: the turn stopped short of it and held, or the time of the leg before the turn.

    The time is blamed only where the flight flown again overshoots as the flight did.
    """
    stopped = _stopped_short(context, finding)
    if stopped is not None:
        return stopped
    if sum(part.name == "reversal_turn" for part in context.reversal.parts) > 1:
        return learn_circuit(context, finding)
    again = reflight(context)
    if again is None or again.leg_s <= 0.0 or not isinstance(finding.measured, float):
        return None
    flown, out = again.leg_s, again.rolled_out_m()
    # a turn back to the right comes from the right of the inbound course
    if abs(max(0.0, -out * again.back_direction) - finding.measured * NM) > _EXPLAINED_M:
        return None
    seconds = solve(lambda s: _with_leg(again, s).rolled_out_m(), 0.0, _LONGEST_LEG_S)
    offset = context.reversal.part("offset_leg") is not None
    name = "offset leg" if offset else "outbound leg"
    cause = f"With {flown:.0f} s on the {name}, the turn at this bank rolls out {miles(abs(out), 1)} beyond the inbound course."
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


def _stopped_short(context: Context, finding: Finding) -> Lesson | None:
    """The overshoot of a turn that was stopped at an angle to the course, which was crossed at that angle."""
    if finding.place is None:
        return None
    turns = [part for part in context.reversal.parts if part.name == "reversal_turn" and part.end_s < finding.place.time_s]
    if not turns:
        return None
    turn, direction = turns[-1], turns[-1].turn or 0
    course = context.motion.charted.inbound_true_rad
    states = context.motion.states.between(turn.start_s, finding.place.time_s)
    across = states.cross_track_m(course)
    crossed = np.flatnonzero(across[1:] * across[:-1] <= 0.0)
    if not len(crossed):
        return None
    left = wrap(course - states.track_rad) * direction  # to turn, in the direction of the turn
    stopped, k = int(np.searchsorted(states.time_s, turn.end_s)), int(crossed[-1]) + 1
    angle = float(left[stopped])
    if min(angle, float(left[k])) < _STOPPED_RAD or states.time_s[k] < turn.end_s - _ROLL_OUT_S:
        return None  # the course was crossed in the turn, or when the aircraft had turned on
    turned_on = np.flatnonzero(left[stopped:] < angle - _HELD_RAD)
    before = left[: stopped + int(turned_on[0])] if len(turned_on) else left
    until = float(states.time_s[np.flatnonzero(before >= angle - _BEGUN_RAD)[-1]])
    return Lesson(
        f"The turn was stopped {degrees(angle, 0)} short of the inbound course, which was crossed at "
        f"{clock(float(states.time_s[k]))}; that heading was held until {clock(until)}.",
        "Keep turning as the course comes alive.",
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
