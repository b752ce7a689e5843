"""Lessons on an inbound course that was overshot: a turn stopped short, a bank too shallow, or the leg before the turn.

The bank or the leg is the cause only where the simulation overshoots as much as the flight.
"""

from __future__ import annotations

import math

import numpy as np

from analyzer.checks.finding import Context, Finding, Lesson
from analyzer.checks.phrases import clock, degrees, knots, miles
from analyzer.frozen import dataclass
from analyzer.lessons.charted_legs import beyond_charted_s
from analyzer.lessons.holds import learn_circuit
from analyzer.lessons.reflight import Reflight, begun_earlier_m, reflight
from analyzer.lessons.usual_bank import shallow, usual_bank
from analyzer.nominal.solve import solve
from analyzer.physics import turning
from analyzer.physics.units import DEG, KT, NM, wrap

__all__ = ["learn_leg_time", "leg_to_roll_out"]

_ON_COURSE_M = 0.1 * NM
_LONGEST_LEG_S = 240.0
_EXPLAINED_M = 0.3 * NM  # largest difference between the simulated and the flown overshoot
_STOPPED_RAD = 20.0 * DEG  # still to turn: the turn was stopped, not rolled out early
_ROLL_OUT_S = 10.0
_HELD_RAD, _BEGUN_RAD = 10.0 * DEG, 2.0 * DEG  # changes of track that show a turn, and its beginning
_SAME_S = 3.0  # a smaller error of the leg needs no advice
_USUAL_LEG_S = 30.0  # from which an offset leg is not short: with 38 s the turn rolls out on the course in still air at 3°/s
_NEARLY_SHARE = 0.7  # of the overshoot allowed
_NEAR_M = 0.3 * NM  # from the course, where a turn at a bank of whole degrees may roll out
_RESERVE_M = 0.5 * NM  # to the distance limit; common practice, no source
_NOTED_M = 0.3 * NM  # a smaller wind effect is not reported
_LONGEST_PAUSE_S = 45.0  # between the two turns of an 80/260
_CALM_MPS = 2.0 * KT


def learn_leg_time(context: Context, finding: Finding) -> Lesson | None:
    """Why the inbound course was overshot: a turn stopped short of it, at too little bank, or after a leg too long or short."""
    stopped = _stopped_short(context, finding)
    if stopped is not None and stopped.crossed_s >= stopped.turn_s:
        return Lesson(_stopped_words(stopped), "Keep turning as the course comes alive.")
    if sum(part.name == "reversal_turn" for part in context.reversal.parts) > 1:
        return learn_circuit(context, finding)
    simulated = reflight(context)
    if stopped is not None:
        return _stopped_beyond(context, stopped, simulated)
    if simulated is None or not isinstance(finding.measured, float):
        return None
    if abs(simulated.beyond_m() - finding.measured * NM) > _EXPLAINED_M:
        return None
    return _of_turn(context, simulated)


def _of_turn(context: Context, simulated: Reflight) -> Lesson | None:
    """The lesson on a turn that rolls out beyond the course: on its bank, or on the leg before it."""
    beyond, leg = miles(abs(simulated.rolled_out_m()), 1), _leg_name(context)
    by_bank = _more_bank(context, simulated)
    if by_bank is not None and (simulated.leg_s >= _USUAL_LEG_S or simulated.leg_s <= 0.0):
        return Lesson(f"{_rate_words(simulated)} The turn rolls out {beyond} beyond the inbound course.", by_bank)
    if simulated.leg_s <= 0.0:
        return _between_turns(context, simulated)
    cause = f"With {simulated.leg_s:.0f} s on the {leg}, the turn at this bank rolls out {beyond} beyond the inbound course."
    seconds = leg_to_roll_out(simulated)
    if seconds is not None and abs(seconds - simulated.leg_s) < _SAME_S:
        return None
    by_leg = _another_leg(context, simulated, seconds) if seconds is not None else None
    return Lesson(cause, by_leg or by_bank)


def _stopped_beyond(context: Context, stopped: _Stopped, simulated: Reflight | None) -> Lesson | None:
    """The lesson on a turn that was stopped when it had gone through the course, after a leg that may have been too short."""
    if stopped.until_s < stopped.turn_s + 2.0 * _ROLL_OUT_S:
        return None
    cause = (
        f"The turn went through the inbound course at {clock(stopped.crossed_s)} and was stopped "
        f"{degrees(stopped.angle_rad, 0)} short of it; that heading was held until {clock(stopped.until_s)}."
    )
    allowed = context.standard["overshoot"].value * NM
    before = _of_turn(context, simulated) if simulated is not None and simulated.beyond_m() > allowed else None
    if before is not None and before.advice is not None:
        return Lesson(cause, f"{before.advice} And keep turning until the heading leads back to the course.")
    return Lesson(cause, "Keep turning until the heading leads back to the course.")


def _leg_name(context: Context) -> str:
    return "offset leg" if context.reversal.part("offset_leg") is not None else "outbound leg"


def _rate_words(simulated: Reflight) -> str:
    speed = simulated.air.true_airspeed_mps
    rate = float(turning.turn_rate(speed, simulated.back_bank_rad))
    return f"{degrees(simulated.back_bank_rad, 0)} of bank at {knots(speed)} true gives {degrees(rate)}/s."


def _between_turns(context: Context, simulated: Reflight) -> Lesson:
    """How far the wind carried two turns that followed each other at once, and a leg between them that allows for it."""
    still = simulated.in_still_air()
    carried, wind = (
        simulated.beyond_m() - still.beyond_m(),
        math.hypot(simulated.air.wind_north_mps, simulated.air.wind_east_mps),
    )
    cause = f"The turn at this bank rolls out {miles(simulated.beyond_m(), 1)} beyond the inbound course"
    if carried >= _NOTED_M:
        cause = f"{cause}, {miles(carried, 1)} more than in still air: the wind is {knots(wind)}"
    seconds = leg_to_roll_out(simulated)
    if seconds is None or not _SAME_S <= seconds <= _LONGEST_PAUSE_S:
        return Lesson(f"{cause}.", None)
    sooner = _sooner(context, simulated.with_leg(seconds))
    if sooner is None:
        return Lesson(f"{cause}.", None)
    return Lesson(f"{cause}.", f"Hold the heading between the two turns for {seconds:.0f} s{sooner}.")


def _sooner(context: Context, simulated: Reflight) -> str | None:
    """Words on beginning a reversal earlier where it would exceed the limit; None where that does not keep it inside."""
    limit = context.motion.charted.limit_m
    if limit is None or simulated.farthest_m() <= limit - _RESERVE_M:
        return ""
    earlier = begun_earlier_m(context, simulated, limit - _RESERVE_M)
    if earlier is None:
        return None
    return f"; that takes more room, so begin the turn off the outbound course {miles(earlier, 1)} earlier"


def leg_to_roll_out(simulated: Reflight) -> float | None:
    """Seconds of the leg before the turn from which it rolls out on the inbound course; None if there are none."""
    seconds = solve(lambda s: simulated.with_leg(s).rolled_out_m(), 0.0, _LONGEST_LEG_S)
    if seconds is None or abs(simulated.with_leg(seconds).rolled_out_m()) > _ON_COURSE_M:
        return None
    return seconds


def _another_leg(context: Context, simulated: Reflight, seconds: float) -> str | None:
    """Advice on the duration of the leg; None where it would exceed the distance limit, or the charted outbound leg."""
    sooner = _room_for_leg(context, simulated, seconds)
    if sooner is None:
        return None
    wind = math.hypot(simulated.air.wind_north_mps, simulated.air.wind_east_mps)
    begin = f"In this wind ({knots(wind)}) and at this bank" if wind >= _CALM_MPS else "At this bank"
    return (
        f"{begin}, {seconds:.0f} s on the {_leg_name(context)}, not {simulated.leg_s:.0f} s, would have rolled out on the "
        f"inbound course{sooner}."
    )


def _room_for_leg(context: Context, simulated: Reflight, seconds: float) -> str | None:
    """Words on the room that a leg of another duration takes; None where it exceeds the limit or the charted outbound leg."""
    if seconds <= simulated.leg_s:
        return ""
    if simulated.first is None:
        beyond = beyond_charted_s(context)
        if beyond is not None and beyond + seconds - simulated.leg_s > 0.0:
            return None
    return _sooner(context, simulated.with_leg(seconds))


def _more_bank(context: Context, simulated: Reflight) -> str | None:
    """Advice on the bank of the reversing turn; None where it was not shallow, or more bank does not lead to the course."""
    if not shallow(context, simulated):
        return None
    flown, usual = simulated.back_bank_rad, usual_bank(context, simulated.air.true_airspeed_mps)
    exact = solve(lambda bank: simulated.back_banked(bank).rolled_out_m(), flown, usual)
    bank = round((exact if exact is not None else usual) / DEG) * DEG
    again = simulated.back_banked(bank)
    advice = f"Bank {degrees(bank, 0)} in the turn inbound, not {degrees(flown, 0)}"
    if again.beyond_m() > _NEARLY_SHARE * context.standard["overshoot"].value * NM:
        seconds = leg_to_roll_out(again) if again.leg_s > 0.0 else None
        sooner = _room_for_leg(context, again, seconds) if seconds is not None else None
        if seconds is None or sooner is None:
            return None
        return f"{advice}, after {seconds:.0f} s on the {_leg_name(context)}, not {again.leg_s:.0f} s{sooner}."
    where = "on" if again.beyond_m() <= _NEAR_M else f"{miles(again.beyond_m(), 1)} beyond"
    return f"{advice}: from the same leg it then rolls out {where} the inbound course."


@dataclass(frozen=True)
class _Stopped:
    """A turn that was stopped at an angle to the course: when it was, when the course was crossed, and until when. [rad, s]"""

    angle_rad: float
    turn_s: float
    crossed_s: float
    until_s: float


def _stopped_words(stopped: _Stopped) -> str:
    return (
        f"The turn was stopped {degrees(stopped.angle_rad, 0)} short of the inbound course, which was crossed at "
        f"{clock(stopped.crossed_s)}; that heading was held until {clock(stopped.until_s)}."
    )


def _stopped_short(context: Context, finding: Finding) -> _Stopped | None:
    """A turn that was stopped at an angle to the course and crossed it before or then; None if it was not.

    `turn_s` is the end of the turn without the seconds in which it is rolled out.
    """
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
    if min(angle, float(left[k])) < _STOPPED_RAD:
        return None  # the course was crossed after the turn was resumed
    turned_on = np.flatnonzero(left[stopped:] < angle - _HELD_RAD)
    before = left[: stopped + int(turned_on[0])] if len(turned_on) else left
    until = float(states.time_s[np.flatnonzero(before >= angle - _BEGUN_RAD)[-1]])
    return _Stopped(angle, turn.end_s - _ROLL_OUT_S, float(states.time_s[k]), until)
