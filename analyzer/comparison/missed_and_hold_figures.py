"""Figures of the missed approach and of the hold flown."""

from __future__ import annotations

from analyzer.comparison.attempt import Attempt
from analyzer.comparison.measuring import Figure, Measured, greatest, limited, measured

__all__ = ["HOLD_FIGURES", "MISSED_FIGURES"]


def _begun(attempt: Attempt) -> Measured | None:
    """Distance beyond the missed approach point at which the climb was begun, negative before it."""
    return greatest(measured(attempt.approach.findings, "missed_point"))


def _turned(attempt: Attempt) -> Measured | None:
    return greatest(limited(attempt.approach.findings, "missed_climb"))


def _course(attempt: Attempt) -> Measured | None:
    return greatest(measured(attempt.approach.findings, "missed_course"))


def _levelled(attempt: Attempt) -> Measured | None:
    return _off(limited(attempt.approach.findings, "missed_altitude"))


def _laps(attempt: Attempt) -> Measured | None:
    laps = len(attempt.laps)
    return Measured(float(laps), 0.0) if laps else None


def _outbound_time(attempt: Attempt) -> Measured | None:
    return _off(limited(attempt.hold_findings, "hold_timing", "s", "outbound"))


def _inbound_time(attempt: Attempt) -> Measured | None:
    return _off(limited(attempt.hold_findings, "hold_timing", "s", "inbound"))


def _length(attempt: Attempt) -> Measured | None:
    return _off(limited(attempt.hold_findings, "hold_timing", "NM"))


def _level(attempt: Attempt) -> Measured | None:
    return greatest(measured(attempt.hold_findings, "hold_altitude"))


def _off(deviations: list[Measured]) -> Measured | None:
    """The greatest deviation to either side."""
    return greatest(Measured(abs(deviation.value), deviation.sd) for deviation in deviations)


MISSED_FIGURES = (
    Figure("missed_begun_nm", "missed point passed", "NM", 2, 0.25, _begun),
    Figure("missed_turn_above_ft", "turn above climb", "ft", 0, 100.0, _turned),
    Figure("missed_course_deg", "missed course", "°", 0, 5.0, _course, "less", judged_by="missed_course"),
    Figure("missed_altitude_ft", "missed altitude", "ft", 0, 50.0, _levelled, "less", judged_by="missed_altitude"),
)
HOLD_FIGURES = (
    Figure("hold_laps", "laps held", "", 0, 1.0, _laps),
    Figure("hold_outbound_s", "hold outbound error", "s", 0, 10.0, _outbound_time, "less", judged_by="hold_timing"),
    Figure("hold_inbound_s", "hold inbound error", "s", 0, 10.0, _inbound_time, "less", judged_by="hold_timing"),
    Figure("hold_length_nm", "hold length error", "NM", 2, 0.25, _length, "less", judged_by="hold_timing"),
    Figure("hold_altitude_ft", "hold altitude error", "ft", 0, 50.0, _level, "less", judged_by="hold_altitude"),
)
