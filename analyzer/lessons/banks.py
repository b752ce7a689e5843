"""Lessons on bank: the turn that resulted from the bank flown, and a bank that the standard and distance limit allow."""

from __future__ import annotations

import math

from analyzer.checks.banks import required_bank
from analyzer.checks.finding import Context, Finding, Lesson
from analyzer.checks.phrases import degrees, knots, miles
from analyzer.lessons.reflight import Reflight, reflight
from analyzer.nominal.solve import solve
from analyzer.physics import turning
from analyzer.physics.units import DEG, KT, NM

__all__ = ["learn_average_bank", "learn_bank"]

_LEAST_BANK_RAD = 5.0 * DEG  # a smaller bank is not advised
_SPARE_RAD = 5.0 * DEG  # below the maximum bank, as a reserve for gusts; common practice, no source
_RESERVE_M = 0.5 * NM  # to the distance limit; common practice, no source
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
    required = required_bank(context, speed) or 0.0
    standard = float(turning.bank_for_rate(speed, turning.STANDARD_RATE_RADPS))
    bank = _whole(max(required, min(standard, limit * DEG - _SPARE_RAD)), required)
    if not _LEAST_BANK_RAD <= bank <= limit * DEG:
        return Lesson(cause, None)
    mean = finding.details.get("mean_deg", finding.measured) * DEG
    room = _room(context, speed, mean, bank)
    if room is None:
        return Lesson(cause, None)
    return Lesson(cause, f"{_bank_words(speed, bank)}{room}.")


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
    return Lesson(cause, f"{_bank_words(speed, _whole(required * DEG, required * DEG))}.")


def _whole(bank: float, required: float) -> float:
    """A bank rounded to the nearest degree that is not below the required bank. [rad]"""
    return max(round(bank / DEG), math.ceil(round(required / DEG, 3))) * DEG


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
    outbound, reaches = context.reversal.part("outbound"), simulated.farthest_m()
    if reaches <= limit_m:
        return f"; the reversal would then reach {miles(reaches, 1)}"
    if outbound is None or simulated.first is None:
        return None
    course, begun = context.motion.charted.outbound_true_rad, context.motion.distance_at(outbound.end_s)
    wanted = limit_m - _RESERVE_M
    earlier = solve(lambda metres: simulated.moved(-metres, course).farthest_m() - wanted, 0.0, begun)
    if earlier is None or simulated.moved(-earlier, course).farthest_m() > limit_m:
        return None
    return f"; that takes more room, so begin the turn off the outbound course {miles(earlier, 1)} earlier"


def _room(context: Context, speed: float, flown: float, bank: float) -> str | None:
    """The distance reached with another bank, in words; empty without a limit, None where it may be exceeded.

    Simulated where the simulation reproduces the flight; otherwise an upper bound on how much farther wider turns reach, and
    on the drift in the time they take longer.
    """
    charted, farthest = context.motion.charted, context.figures.farthest_from_limit
    if charted.limit_m is None or charted.within_by_dme:
        return "" if charted.limit_m is None or bank >= flown else None
    simulated = reflight(context)
    if simulated is not None:
        return _simulated_words(context, simulated.banked(bank), charted.limit_m)
    if farthest is None or context.figures.wind is None:
        return None
    wider = float(turning.turn_radius(speed, bank)) - float(turning.turn_radius(speed, max(flown, _LEAST_BANK_RAD)))
    slower = 1.0 / float(turning.turn_rate(speed, bank)) - 1.0 / float(turning.turn_rate(speed, max(flown, _LEAST_BANK_RAD)))
    carried = context.figures.wind.speed_mps * max(0.0, slower) * math.tau
    reaches = farthest.distance_m + _TURNS * max(0.0, wider) + carried
    if reaches > charted.limit_m:
        return None
    return f": the wider turn still stays within {miles(reaches, 1)}"
