"""The laps of an attempt at a hold: the timed leg and the altitude held in each."""

from __future__ import annotations

from analyzer.checks.finding import Finding
from analyzer.comparison.attempt import Attempt
from analyzer.comparison.measuring import greatest, measured
from analyzer.frozen import dataclass

__all__ = ["Lap", "laps_flown"]


@dataclass(frozen=True)
class Lap:
    """A lap, numbered from 1: the leg that is timed or measured, its value and the charted one in `unit`.

    `off_level_ft` is the greatest deviation from the altitude held. All but the number are None if unknown.
    """

    number: int
    part: str | None
    timed: float | None
    charted: float | None
    unit: str | None
    off_level_ft: float | None


def laps_flown(attempt: Attempt) -> tuple[Lap, ...]:
    """The laps of an attempt in order."""
    return tuple(_lap(number, attempt.hold_findings) for number in range(1, len(attempt.laps) + 1))


def _lap(number: int, findings: tuple[Finding, ...]) -> Lap:
    own = [finding for finding in findings if finding.lap == number]
    level = greatest(measured(own, "hold_altitude"))
    off = None if level is None else level.value
    timing = next((f for f in own if f.check == "hold_timing" and isinstance(f.measured, float)), None)
    if timing is None or not isinstance(timing.measured, float):
        return Lap(number, None, None, None, None, off)
    charted = timing.limit if isinstance(timing.limit, float) else None
    return Lap(number, timing.part, timing.measured, charted, timing.unit, off)
