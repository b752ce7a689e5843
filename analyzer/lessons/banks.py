"""Lessons of bank: what the bank flown made of the turn, and one that the standard and the distance limit allow."""

from __future__ import annotations

import math

from analyzer.checks.banks import bank_asked_for
from analyzer.checks.finding import Context, Finding, Lesson
from analyzer.checks.phrases import degrees, knots, miles
from analyzer.lessons.reflight import Reflight, reflight
from analyzer.nominal.solve import solve
from analyzer.physics import turning
from analyzer.physics.units import DEG, KT, NM

__all__ = ["learn_average_bank", "learn_bank"]

_LEAST_BANK_RAD = 5.0 * DEG  # a smaller bank is not advised
_SPARE_RAD = 5.0 * DEG  # below the greatest bank, so that a gust does not exceed it; common practice, no source
_KEPT_M = 0.5 * NM  # to stay inside the limit by: common practice, no source
_SAME_RATE = 0.06  # a whole degree of bank is this close to a rate
_TURNS = 4.0  # radii by which a reversal of two turns may reach farther, each turn coming out within two of where it began


def learn_bank(context: Context, finding: Finding) -> Lesson | None:
    """The bank of a standard-rate turn at this airspeed, or the most with some to spare, and where it takes the reversal.

    Never less than the standard asks for on average, nor one that the distance limit has no room for.
    """
    speed, limit = _speed(context, finding), finding.limit
    if speed is None or not isinstance(limit, float) or not isinstance(finding.measured, float):
        return None
    cause = _cause(speed, finding.measured * DEG)
    asked = bank_asked_for(context, speed) or 0.0
    standard = float(turning.bank_for_rate(speed, turning.STANDARD_RATE_RADPS))
    bank = _whole(max(asked, min(standard, limit * DEG - _SPARE_RAD)), asked)
    if not _LEAST_BANK_RAD <= bank <= limit * DEG:
        return Lesson(cause, None)
    mean = finding.details.get("mean_deg", finding.measured) * DEG
    room = _room(context, speed, mean, bank)
    if room is None:
        return Lesson(cause, None)
    return Lesson(cause, f"{_bank_words(speed, bank)}{room}.")


def learn_average_bank(context: Context, finding: Finding) -> Lesson | None:
    """How much wider the turn was than the area is designed for, and the bank that makes it so."""
    speed, asked = _speed(context, finding), finding.limit
    if speed is None or not isinstance(asked, float) or not isinstance(finding.measured, float) or finding.measured < 1.0:
        return None
    shown_deg = round(finding.measured)  # the radius goes with the bank and the speed as they are shown
    flown, designed = (float(turning.turn_radius(_shown(speed), bank * DEG)) for bank in (shown_deg, asked))
    cause = (
        f"{_cause(speed, finding.measured * DEG)[:-1]}, a radius of {miles(flown)}; the area is designed for {miles(designed)}."
    )
    return Lesson(cause, f"{_bank_words(speed, _whole(asked * DEG, asked * DEG))}.")


def _whole(bank: float, asked: float) -> float:
    """A bank to the nearest degree that is not below what is asked for. [rad]"""
    return max(round(bank / DEG), math.ceil(round(asked / DEG, 3))) * DEG


def _speed(context: Context, finding: Finding) -> float | None:
    """Mean true airspeed of the turn; None if no wind is known. [m/s]"""
    turns = [figures.part for figures in context.figures.parts if figures.turn is not None]
    part = next((part for part in turns if (part.name, part.lap) == (finding.part, finding.lap)), None)
    if part is None or context.figures.wind is None:
        return None
    states = context.motion.states.between(part.start_s, part.end_s)
    return float(states.true_airspeed_mps.mean()) if len(states) else None


def _shown(speed_mps: float) -> float:
    """A speed in the whole knots that it is shown in. [m/s]"""
    return round(speed_mps / KT) * KT


def _cause(speed_mps: float, bank_rad: float) -> str:
    """The rate that a bank gives at a speed, both as they are shown."""
    rate = float(turning.turn_rate(_shown(speed_mps), round(bank_rad / DEG) * DEG))
    return f"{degrees(bank_rad, 0)} of bank at {knots(speed_mps)} true gives {degrees(rate)}/s."


def _bank_words(speed_mps: float, bank_rad: float) -> str:
    rate = float(turning.turn_rate(speed_mps, bank_rad))
    standard = abs(rate / turning.STANDARD_RATE_RADPS - 1.0) < _SAME_RATE
    return f"Bank {degrees(bank_rad, 0)}{' for standard rate' if standard else ''}"


def _flown_again(context: Context, again: Reflight, limit_m: float) -> str | None:
    """What is said of the distance that a reversal flown again reaches, begun earlier where that takes it inside the limit."""
    outbound, reaches = context.reversal.part("outbound"), again.farthest_m()
    if reaches <= limit_m:
        return f"; the reversal would then reach {miles(reaches, 1)}"
    if outbound is None or again.first is None:
        return None
    course, begun = context.motion.charted.outbound_true_rad, context.motion.distance_at(outbound.end_s)
    wanted = limit_m - _KEPT_M
    earlier = solve(lambda metres: again.moved(-metres, course).farthest_m() - wanted, 0.0, begun)
    if earlier is None or again.moved(-earlier, course).farthest_m() > limit_m:
        return None
    return f"; that takes more room, so begin the turn off the outbound course {miles(earlier, 1)} earlier"


def _room(context: Context, speed: float, flown: float, bank: float) -> str | None:
    """What is said of the distance with another bank, nothing where none limits it; None where it would not be kept.

    Flown again where that reproduces the flight. Elsewhere by how much farther wider turns may reach at the most, and the wind
    carry in the time that they take longer.
    """
    charted, farthest = context.motion.charted, context.figures.farthest_from_limit
    if charted.limit_m is None or charted.within_by_dme:
        return "" if charted.limit_m is None or bank >= flown else None
    again = reflight(context)
    if again is not None:
        return _flown_again(context, again.banked(bank), charted.limit_m)
    if farthest is None or context.figures.wind is None:
        return None
    wider = float(turning.turn_radius(speed, bank)) - float(turning.turn_radius(speed, max(flown, _LEAST_BANK_RAD)))
    slower = 1.0 / float(turning.turn_rate(speed, bank)) - 1.0 / float(turning.turn_rate(speed, max(flown, _LEAST_BANK_RAD)))
    carried = context.figures.wind.speed_mps * max(0.0, slower) * math.tau
    reaches = farthest.distance_m + _TURNS * max(0.0, wider) + carried
    if reaches > charted.limit_m:
        return None
    return f": the wider turn still stays within {miles(reaches, 1)}"
