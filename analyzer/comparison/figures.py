"""The figures that attempts are compared by. To add one, write a function and a row of `FIGURES`."""

from __future__ import annotations

from analyzer.checks.finding import OUTSIDE
from analyzer.comparison.attempt import Attempt
from analyzer.comparison.measuring import Figure, Measured, greatest, limited, measured
from analyzer.comparison.missed_and_hold_figures import HOLD_FIGURES, MISSED_FIGURES
from analyzer.physics import geodesy
from analyzer.physics.units import DEG, KT, NM

__all__ = ["FIGURES"]


def _finding(attempt: Attempt, check: str) -> Measured | None:
    """The value that a check measured, the greatest of several findings."""
    return greatest(measured(attempt.approach.findings, check))


def _outbound_course(attempt: Attempt) -> Measured | None:
    return _finding(attempt, "outbound_course")


def _inbound_course(attempt: Attempt) -> Measured | None:
    return _finding(attempt, "inbound_course")


def _in(value: float | None, unit: float) -> Measured | None:
    return None if value is None else Measured(value / unit)


def _farthest(attempt: Attempt) -> Measured | None:
    farthest = attempt.approach.figures.farthest_from_limit
    return None if farthest is None else Measured(farthest.distance_m / NM, farthest.sd_m / NM)


def _farthest_own(attempt: Attempt) -> Measured | None:
    """The greatest distance minus the part that the simulation attributes to the wind."""
    flown, again = _farthest(attempt), attempt.again
    if flown is None or again is None:
        return None
    return Measured(flown.value - (again.farthest_m() - again.in_still_air().farthest_m()) / NM)


def _rolled_out(attempt: Attempt) -> Measured | None:
    """Distance from the inbound course at the roll-out of the reversing turn."""
    across = _across_m(attempt)
    return None if across is None else Measured(abs(across) / NM)


def _rolled_out_own(attempt: Attempt) -> Measured | None:
    across, again = _across_m(attempt), attempt.again
    if across is None or again is None:
        return None
    return Measured(abs(across - (again.rolled_out_m() - again.in_still_air().rolled_out_m())) / NM)


def _across_m(attempt: Attempt) -> float | None:
    """Cross-track distance from the inbound course at the end of the reversing turn, positive right. [m]"""
    motion, turn = attempt.debrief.motion, attempt.approach.reversal.last_part("reversal_turn")
    if turn is None:
        return None
    charted = motion.charted
    distance, bearing = geodesy.inverse(charted.fix_latitude_rad, charted.fix_longitude_rad, *motion.position_at(turn.end_s))
    return float(geodesy.cross_track(distance, bearing - charted.inbound_true_rad))


def _offset_heading(attempt: Attempt) -> Measured | None:
    if not attempt.debrief.motion.charted.offset_charted:  # what is measured then is the angle that the pilot chose
        return None
    heading = _finding(attempt, "offset_heading")
    return None if heading is None else Measured(abs(heading.value), heading.sd)


def _reversal_bank(attempt: Attempt) -> Measured | None:
    turns = [p.turn for p in attempt.approach.figures.parts if p.part.name == "reversal_turn" and p.turn is not None]
    return Measured(turns[-1].bank_mean_rad / DEG) if turns else None


def _altitude_hold(attempt: Attempt) -> Measured | None:
    return _finding(attempt, "altitude_hold")


def _least_above_minimum(attempt: Attempt) -> Measured | None:
    return min(limited(attempt.approach.findings, "altitude_floor"), key=lambda above: above.value, default=None)


def _outside(attempt: Attempt) -> Measured:
    return Measured(float(sum(finding.verdict == OUTSIDE for finding in attempt.approach.findings)), 0.0)


def _wind(attempt: Attempt) -> Measured | None:
    wind = attempt.approach.figures.wind
    return None if wind is None else Measured(wind.speed_mps / KT, wind.sd_mps / KT)


FIGURES = (
    Figure("outside", "findings outside", "", 0, 1.0, _outside, "less"),
    Figure("farthest_nm", "farthest", "NM", 2, 1.0, _farthest, "less"),
    Figure("farthest_still_air_nm", "in still air", "NM", 2, 1.0, _farthest_own, "less", own=True),
    Figure("outbound_length_nm", "outbound length", "NM", 2, 1.0, lambda a: _in(a.approach.figures.outbound_length_m, NM)),
    Figure("offset_leg_s", "offset leg", "s", 0, 10.0, lambda a: _in(a.approach.figures.offset_leg_s, 1.0)),
    Figure("offset_heading_deg", "offset heading error", "°", 1, 10.0, _offset_heading, "less"),
    Figure("reversal_bank_deg", "bank, turn back", "°", 1, 5.0, _reversal_bank),
    Figure("steepest_bank_deg", "steepest bank", "°", 1, 5.0, lambda a: _finding(a, "turn_bank"), "less"),
    Figure("rolled_out_nm", "roll-out error", "NM", 2, 0.5, _rolled_out, "less"),
    Figure("rolled_out_still_air_nm", "in still air", "NM", 2, 0.5, _rolled_out_own, "less", own=True),
    Figure("overshoot_nm", "overshoot", "NM", 2, 0.5, lambda a: _in(a.approach.figures.overshoot_m, NM), "less"),
    Figure("established_nm", "established at", "NM", 1, 1.0, lambda a: _in(a.approach.figures.established_distance_m, NM)),
    Figure("outbound_deviation_deg", "outbound course", "°", 1, 2.5, _outbound_course, "less", judged_by="outbound_course"),
    Figure("inbound_deviation_deg", "inbound course", "°", 1, 2.5, _inbound_course, "less", judged_by="inbound_course"),
    Figure("above_minimum_ft", "above a minimum", "ft", 0, 100.0, _least_above_minimum, "more"),
    Figure("altitude_hold_ft", "altitude hold", "ft", 0, 50.0, _altitude_hold, "less", judged_by="altitude_hold"),
    Figure("greatest_speed_kt", "greatest speed", "kt", 0, 10.0, lambda a: _finding(a, "speed_limit")),
    *MISSED_FIGURES,
    *HOLD_FIGURES,
    Figure("wind_kt", "wind", "kt", 0, 10.0, _wind),
)
