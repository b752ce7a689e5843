"""Lessons on the reversal, from simulating it: where to begin it, and how long to fly the leg."""

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

_RESERVE_M = 1.0 * NM  # to the distance limit; common practice, no source
_NOTED_M = 0.3 * NM  # a smaller wind effect is not reported
_ON_COURSE_M = 0.1 * NM
_LONGEST_LEG_S = 240.0
_EXPLAINED_M = 0.3 * NM  # largest difference between the simulated and the flown overshoot
_STOPPED_RAD = 20.0 * DEG  # still to turn: the turn was stopped, not rolled out early
_LONG_LEG_S, _SHORT_LEG_S = 65.0, 40.0  # of an offset leg; with 38 s the turn rolls out on the course in still air at 3°/s
_ROLL_OUT_S = 10.0
_HELD_RAD, _BEGUN_RAD = 10.0 * DEG, 2.0 * DEG  # changes of track that show a turn, and its beginning
_FAST_MPS, _SLOWER_MPS = 160.0 * KT, 140.0 * KT  # indicated, in a reversal; common practice, no source
_SAME_S = 3.0  # a smaller error of the leg needs no advice


def learn_distance(context: Context, finding: Finding) -> Lesson | None:
    """Why the reversal reached so far, and how to keep it a mile inside the limit: earlier, slower, or with a shorter leg."""
    simulated = reflight(context)
    outbound, limit = context.reversal.part("outbound"), finding.limit
    if simulated is None or outbound is None or simulated.first is None or not isinstance(limit, float):
        return None
    begun = context.motion.distance_at(outbound.end_s)
    cause = _why_far(context, finding, simulated, begun)
    tighter, words = _tighter(context, simulated)
    earlier = _earlier(context, tighter, begun, limit * NM - _RESERVE_M)
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
    north, east = simulated.air.ground_velocity(simulated.start_heading_rad)
    seconds = earlier / math.hypot(north, east)
    return Lesson(
        cause,
        f"Begin {at}, {miles(earlier, 1)} ({seconds:.0f} s) earlier: the same reversal then stays a mile inside the limit.",
    )


def _earlier(context: Context, simulated: Reflight, begun_m: float, wanted_m: float) -> float | None:
    """How much earlier to begin the turn to stay within a distance; None if that is not possible. [m]"""
    course = context.motion.charted.outbound_true_rad
    if simulated.farthest_m() <= wanted_m:
        return 0.0
    earlier = solve(lambda metres: simulated.moved(-metres, course).farthest_m() - wanted_m, 0.0, begun_m)
    if earlier is None or simulated.moved(-earlier, course).farthest_m() > wanted_m + 0.05 * NM:
        return None
    return earlier


def _tighter(context: Context, simulated: Reflight) -> tuple[Reflight, str]:
    """The reversal without a long offset leg or a high speed, and the advice to fly it so, in words."""
    words, tighter = [], simulated
    span = context.reversal.reversal_span_s
    indicated = indicated_of(context.motion, context.motion.states.between(*span)) if span is not None else None
    if indicated is not None and median(indicated[0]) > _FAST_MPS:
        slower = simulated.air.true_airspeed_mps * _SLOWER_MPS / median(indicated[0])
        tighter = replace(tighter, air=replace(tighter.air, true_airspeed_mps=slower))
        words.append(f"slow to {knots(_SLOWER_MPS)} if the aircraft allows")
    if context.reversal.part("offset_leg") is not None and simulated.leg_s > _LONG_LEG_S:
        tighter = _with_leg(tighter, _SHORT_LEG_S)
        words.append(f"fly the offset leg for {_SHORT_LEG_S:.0f} s, not {simulated.leg_s:.0f} s")
    return tighter, ", ".join(words)


def _why_far(context: Context, finding: Finding, simulated: Reflight, begun_m: float) -> str:
    begun = f"The turn was begun {miles(begun_m, 1)} from the fix"
    carried = simulated.farthest_m() - simulated.in_still_air().farthest_m()
    wind = None
    if abs(carried) >= _NOTED_M:
        wind = f"{miles(abs(carried), 1)} {'more' if carried > 0.0 else 'less'} than in still air"
    if not isinstance(finding.measured, float) or _limit_elsewhere(context.motion.charted):
        return f"{begun}; {wind}." if wind is not None else f"{begun}."
    # rounded like the distances shown, so that they add up
    beyond = f"{round(finding.measured, 2) - round(begun_m / NM, 1):.1f} NM"
    if wind is None:
        return f"{begun}; at this speed the reversal takes another {beyond}."
    return f"{begun}; from there the reversal took another {beyond}, {wind}."


def _limit_elsewhere(charted: Charted) -> bool:
    """Whether the limit is measured from a point other than the fix, or by DME."""
    fix, centre = (
        (charted.fix_latitude_rad, charted.fix_longitude_rad),
        (charted.limit_latitude_rad, charted.limit_longitude_rad),
    )
    return fix != centre or charted.within_by_dme


def _lesson(cause: str | None, advice: str | None) -> Lesson | None:
    return None if cause is None and advice is None else Lesson(cause, advice)


def learn_leg_time(context: Context, finding: Finding) -> Lesson | None:
    """Why the inbound course was overshot: the turn was stopped short of it, or the leg before the turn was too long or short.

    The leg is the cause only where the simulation overshoots as much as the flight.
    """
    stopped = _stopped_short(context, finding)
    if stopped is not None:
        return stopped
    if sum(part.name == "reversal_turn" for part in context.reversal.parts) > 1:
        return learn_circuit(context, finding)
    simulated = reflight(context)
    if simulated is None or simulated.leg_s <= 0.0 or not isinstance(finding.measured, float):
        return None
    flown_s, out = simulated.leg_s, simulated.rolled_out_m()
    # a right turn back intercepts the inbound course from its right
    if abs(max(0.0, -out * simulated.back_direction) - finding.measured * NM) > _EXPLAINED_M:
        return None
    seconds = solve(lambda s: _with_leg(simulated, s).rolled_out_m(), 0.0, _LONGEST_LEG_S)
    offset = context.reversal.part("offset_leg") is not None
    name = "offset leg" if offset else "outbound leg"
    cause = (
        f"With {flown_s:.0f} s on the {name}, the turn at this bank rolls out {miles(abs(out), 1)} beyond the inbound course."
    )
    if seconds is None or abs(_with_leg(simulated, seconds).rolled_out_m()) > _ON_COURSE_M:
        return _lesson(cause if abs(out) > _ON_COURSE_M else None, None)
    if abs(seconds - flown_s) < _SAME_S:
        return None
    wind = math.hypot(simulated.air.wind_north_mps, simulated.air.wind_east_mps)
    return _lesson(
        cause if abs(out) > _ON_COURSE_M else None,
        f"In this wind ({knots(wind)}) and at this bank, {seconds:.0f} s on the {name}, not {flown_s:.0f} s, would have rolled "
        f"out on the inbound course.",
    )


def _stopped_short(context: Context, finding: Finding) -> Lesson | None:
    """The lesson on a turn that was stopped at an angle to the course, and crossed it at that angle; None if it was not."""
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
        return None  # the course was crossed in the turn, or after it was resumed
    turned_on = np.flatnonzero(left[stopped:] < angle - _HELD_RAD)
    before = left[: stopped + int(turned_on[0])] if len(turned_on) else left
    until = float(states.time_s[np.flatnonzero(before >= angle - _BEGUN_RAD)[-1]])
    return Lesson(
        f"The turn was stopped {degrees(angle, 0)} short of the inbound course, which was crossed at "
        f"{clock(float(states.time_s[k]))}; that heading was held until {clock(until)}.",
        "Keep turning as the course comes alive.",
    )


def _with_leg(simulated: Reflight, seconds: float) -> Reflight:
    return replace(simulated, leg_s=seconds)


def learn_side(context: Context, finding: Finding) -> Lesson | None:  # noqa: ARG001
    """Advice on the first turn, to the charted side."""
    charted = context.motion.charted
    if charted.side is None or charted.offset_true_rad is None:
        return None
    heading = bearing_text(charted.offset_true_rad - charted.variation.east_rad)
    to = f", to {heading} as charted" if charted.offset_charted else ""
    return Lesson(None, f"Turn {side_word(charted.side)} off the outbound course{to}.")
