"""Lessons on bank: the turn that resulted from the bank flown, and a bank that the standard and distance limit allow."""

from __future__ import annotations

import math

from analyzer.checks.finding import Context, Finding, Lesson
from analyzer.checks.phrases import degrees, knots, miles
from analyzer.lessons.overshoots import leg_to_roll_out
from analyzer.lessons.reflight import Reflight, begun_earlier_m, reflight
from analyzer.lessons.usual_bank import usual_bank
from analyzer.physics import turning
from analyzer.physics.units import DEG, KT, NM

__all__ = ["learn_average_bank", "learn_bank"]

_LEAST_BANK_RAD = 5.0 * DEG  # a smaller bank is not advised
_RESERVE_M = 0.5 * NM  # to the distance limit; common practice, no source
_NEARLY_M = 0.25 * NM  # less than the overshoot allowed: what the simulation may be in error by
_SAME_RATE = 0.06  # how far off standard rate a whole degree of bank may be
_TURNS = 4.0  # times a larger radius, by which a reversal reaches farther at most: each of two turns ends within two radii


def learn_bank(context: Context, finding: Finding) -> Lesson | None:
    """The bank for standard rate at this airspeed, or the most with a reserve, and the distance the reversal then reaches.

    Never less than the average that the standard requires, nor a bank whose turn exceeds the distance limit.
    """
    speed, limit = _speed(context, finding), finding.limit
    if speed is None or not isinstance(limit, float) or not isinstance(finding.measured, float):
        return None
    cause = _cause(speed, finding.measured * DEG)
    bank = usual_bank(context, speed)
    if not _LEAST_BANK_RAD <= bank <= limit * DEG:
        return Lesson(cause, None)
    mean = finding.details.get("mean_deg", finding.measured) * DEG
    simulated = reflight(context)
    again = simulated.banked(bank) if simulated is not None else None
    leg = ""
    if again is not None and again.first is not None and again.leg_s > 0.0 and _overshoots(context, again):
        # the leg was short enough for the steep turn only
        seconds = leg_to_roll_out(again)
        if seconds is None:
            return Lesson(cause, None)
        leg = f", with {seconds:.0f} s on the offset leg, not {again.leg_s:.0f} s"
        again = again.with_leg(seconds)
    room = _room(context, again, speed, mean, bank)
    if room is None:
        return Lesson(cause, None)
    return Lesson(cause, f"{_bank_words(speed, bank)}{leg}{room}.")


def _overshoots(context: Context, simulated: Reflight) -> bool:
    """Whether the simulated turn rolls out beyond the inbound course by nearly what is allowed, or more."""
    return simulated.beyond_m() > context.standard["overshoot"].value * NM - _NEARLY_M


def learn_average_bank(context: Context, finding: Finding) -> Lesson | None:
    """The radius of the turn and the one the area is designed for, and the bank for that."""
    speed, required = _speed(context, finding), finding.limit
    if speed is None or not isinstance(required, float) or not isinstance(finding.measured, float) or finding.measured < 1.0:
        return None
    shown_deg = round(finding.measured)  # so that the radius agrees with the bank and speed shown
    flown, designed = (float(turning.turn_radius(_shown(speed), bank * DEG)) for bank in (shown_deg, required))
    cause = (
        f"{_cause(speed, finding.measured * DEG)[:-1]}, a radius of {miles(flown)}; the area is designed for {miles(designed)}."
    )
    return Lesson(cause, f"{_bank_words(speed, math.ceil(round(required, 3)) * DEG)}.")


def _speed(context: Context, finding: Finding) -> float | None:
    """Mean true airspeed in the turn; None if the wind is unknown. [m/s]"""
    turns = [figures.part for figures in context.figures.parts if figures.turn is not None]
    part = next((part for part in turns if (part.name, part.lap) == (finding.part, finding.lap)), None)
    if part is None or context.figures.wind is None:
        return None
    states = context.motion.states.between(part.start_s, part.end_s)
    return float(states.true_airspeed_mps.mean()) if len(states) else None


def _shown(speed_mps: float) -> float:
    """A speed rounded to the knots shown. [m/s]"""
    return round(speed_mps / KT) * KT


def _cause(speed_mps: float, bank_rad: float) -> str:
    """The rate of turn from a bank and speed as they are shown, as a sentence."""
    rate = float(turning.turn_rate(_shown(speed_mps), round(bank_rad / DEG) * DEG))
    return f"{degrees(bank_rad, 0)} of bank at {knots(speed_mps)} true gives {degrees(rate)}/s."


def _bank_words(speed_mps: float, bank_rad: float) -> str:
    rate = float(turning.turn_rate(speed_mps, bank_rad))
    standard = abs(rate / turning.STANDARD_RATE_RADPS - 1.0) < _SAME_RATE
    return f"Bank {degrees(bank_rad, 0)}{' for standard rate' if standard else ''}"


def _simulated_words(context: Context, simulated: Reflight, limit_m: float) -> str | None:
    """The distance that a simulated reversal reaches, begun earlier if that keeps it inside the limit; None if it cannot."""
    if simulated.farthest_m() <= limit_m:
        return f"; the reversal would then reach {miles(simulated.farthest_m(), 1)}"
    earlier = begun_earlier_m(context, simulated, limit_m - _RESERVE_M)
    if earlier is None:
        return None
    return f"; that takes more room, so begin the turn off the outbound course {miles(earlier, 1)} earlier"


def _room(context: Context, simulated: Reflight | None, speed: float, flown: float, bank: float) -> str | None:
    """The distance reached with another bank, in words; empty without a limit, None where it may be exceeded.

    `simulated` is the reversal as advised, if the simulation reproduces the flight. Without it, an upper bound on how much
    farther wider turns reach, and on the drift in the time they take longer. Where the flight was beyond the limit, the lesson
    on the distance allows for the bank advised here.
    """
    charted, farthest = context.motion.charted, context.figures.farthest_from_limit
    if charted.limit_m is None or charted.within_by_dme:
        return "" if charted.limit_m is None or bank >= flown else None
    if farthest is not None and farthest.distance_m > charted.limit_m:
        return ""
    if simulated is not None:
        return _simulated_words(context, simulated, charted.limit_m)
    if farthest is None or context.figures.wind is None:
        return None
    wider = float(turning.turn_radius(speed, bank)) - float(turning.turn_radius(speed, max(flown, _LEAST_BANK_RAD)))
    slower = 1.0 / float(turning.turn_rate(speed, bank)) - 1.0 / float(turning.turn_rate(speed, max(flown, _LEAST_BANK_RAD)))
    carried = context.figures.wind.speed_mps * max(0.0, slower) * math.tau
    reaches = farthest.distance_m + _TURNS * max(0.0, wider) + carried
    if reaches > charted.limit_m:
        return None
    return f": the wider turn still stays within {miles(reaches, 1)}"
