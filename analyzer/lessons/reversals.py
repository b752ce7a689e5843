"""Lessons on the reversal, from simulating it: where to begin it, and to which side."""

from __future__ import annotations

import math
from dataclasses import replace

from analyzer.checks.finding import Context, Finding, Lesson
from analyzer.checks.phrases import degrees, knots, miles, side_word
from analyzer.checks.speeds import indicated_of
from analyzer.lessons.charted_legs import beyond_charted_s
from analyzer.lessons.reflight import Reflight, begun_earlier_m, reflight
from analyzer.lessons.usual_bank import shallow, usual_bank, without_steep_turns
from analyzer.nominal.solve import solve
from analyzer.physics.quantiles import median
from analyzer.physics.units import KT, NM, bearing_text
from analyzer.procedure.charted import Charted

__all__ = ["learn_distance", "learn_side"]

_RESERVE_M = 1.0 * NM  # to the distance limit; common practice, no source
_SAME_M = 0.05 * NM  # a smaller change of place is not advised
_NOTED_M = 0.3 * NM  # a smaller wind effect is not reported
_LONG_LEG_S, _SHORT_LEG_S = 65.0, 40.0  # of an offset leg; with 38 s the turn rolls out on the course in still air at 3°/s
_FAST_MPS, _SLOWER_MPS = 160.0 * KT, 140.0 * KT  # indicated, in a reversal; common practice, no source


def learn_distance(context: Context, finding: Finding) -> Lesson | None:
    """Why the reversal reached so far, and how to keep it a mile inside the limit: earlier, slower or tighter."""
    simulated = reflight(context)
    outbound, limit = context.reversal.part("outbound"), finding.limit
    if simulated is None or outbound is None or not isinstance(limit, float):
        return None
    begun = context.motion.distance_at(outbound.end_s)
    cause = _why_far(context, finding, simulated, begun)
    if simulated.first is None:
        return Lesson(cause, _turn_back_earlier(context, simulated, begun, limit * NM))
    tighter, words = _tighter(context, simulated)
    earlier = begun_earlier_m(context, tighter, limit * NM - _RESERVE_M)
    if earlier is None:
        return _lesson(cause, f"{_sentence(words)}." if words else None)
    at = f"the turn off the outbound course {miles(begun - earlier, 1)} from the fix"
    if words:
        if earlier >= _SAME_M:
            words.append(f"begin {at}")
        return Lesson(cause, f"{_sentence(words)}: the reversal then stays a mile inside the limit.")
    if earlier <= 0.0:
        return _lesson(cause, None)
    north, east = simulated.air.ground_velocity(simulated.start_heading_rad)
    seconds = earlier / math.hypot(north, east)
    return Lesson(
        cause,
        f"Begin {at}, {miles(earlier, 1)} ({seconds:.0f} s) earlier: {_same(simulated, tighter)} then stays a mile inside the "
        "limit.",
    )


def _sentence(words: list[str]) -> str:
    """What to do, as the beginning of a sentence."""
    joined = ", and ".join([", ".join(words[:-1]), words[-1]]) if len(words) > 1 else words[0]
    return f"{joined[:1].upper()}{joined[1:]}"


def _same(simulated: Reflight, tighter: Reflight) -> str:
    """The reversal that an advice is about, with its bank if another one is advised for it."""
    if tighter.back_bank_rad == simulated.back_bank_rad:
        return "the same reversal"
    return f"the same reversal at {degrees(tighter.back_bank_rad, 0)} of bank"


def _turn_back_earlier(context: Context, simulated: Reflight, begun_m: float, limit_m: float) -> str | None:
    """Advice to shorten the outbound leg of a base turn or hold, never to more than its charted time or length.

    None where no shorter leg stays inside the limit, or where the turn from it would roll out beyond the inbound course.
    """
    as_charted = max(0.0, beyond_charted_s(context) or 0.0)
    wanted, tighter = limit_m - _RESERVE_M, without_steep_turns(context, simulated)
    seconds = solve(lambda s: tighter.with_leg(tighter.leg_s - s).farthest_m() - wanted, 0.0, tighter.leg_s)
    at_chart = tighter.with_leg(tighter.leg_s - as_charted).farthest_m() <= wanted
    if at_chart:
        seconds = as_charted
    if seconds is None:
        return None
    shorter, same = tighter.with_leg(tighter.leg_s - seconds), _same(simulated, tighter)
    if shorter.beyond_m() > max(simulated.beyond_m(), context.standard["overshoot"].value * NM):
        return None
    if at_chart:
        leg = "charted leg" if _leg_charted(context.motion.charted) else "standard leg"
        return (
            f"Begin the turn inbound at the end of the {leg}, {seconds:.0f} s earlier: {same} then reaches "
            f"{miles(shorter.farthest_m(), 1)}."
        )
    speed = math.hypot(*simulated.air.ground_velocity(simulated.start_heading_rad))
    return (
        f"Begin the turn inbound {miles(begun_m - speed * seconds, 1)} from the fix, {miles(speed * seconds, 1)} "
        f"({seconds:.0f} s) earlier: {same} then stays a mile inside the limit."
    )


def _leg_charted(charted: Charted) -> bool:
    return any(one is not None for one in (charted.leg_time_s, charted.maximum_time_s, charted.leg_length_m))


def _tighter(context: Context, simulated: Reflight) -> tuple[Reflight, list[str]]:
    """The reversal without a high speed, a long offset leg or a shallow turn, and what to fly instead, in words."""
    words, tighter = [], without_steep_turns(context, simulated)
    span = context.reversal.reversal_span_s
    indicated = indicated_of(context.motion, context.motion.states.between(*span)) if span is not None else None
    if indicated is not None and median(indicated[0]) > _FAST_MPS:
        slower = simulated.air.true_airspeed_mps * _SLOWER_MPS / median(indicated[0])
        tighter = replace(tighter, air=replace(tighter.air, true_airspeed_mps=slower))
        words.append(f"slow to {knots(_SLOWER_MPS)} if the aircraft allows")
    if context.reversal.part("offset_leg") is not None and simulated.leg_s > _LONG_LEG_S:
        tighter = tighter.with_leg(_SHORT_LEG_S)
        words.append(f"fly the offset leg for {_SHORT_LEG_S:.0f} s, not {simulated.leg_s:.0f} s")
    if shallow(context, tighter):
        bank = usual_bank(context, tighter.air.true_airspeed_mps)
        tighter = tighter.back_banked(bank)
        words.append(f"bank {degrees(bank, 0)} in the turn inbound, not {degrees(simulated.back_bank_rad, 0)}")
    return tighter, words


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


def learn_side(context: Context, finding: Finding) -> Lesson | None:  # noqa: ARG001
    """Advice on the first turn, to the charted side."""
    charted = context.motion.charted
    if charted.side is None or charted.offset_true_rad is None:
        return None
    heading = bearing_text(charted.offset_true_rad - charted.variation.east_rad)
    to = f", to {heading} as charted" if charted.offset_charted else ""
    return Lesson(None, f"Turn {side_word(charted.side)} off the outbound course{to}.")
