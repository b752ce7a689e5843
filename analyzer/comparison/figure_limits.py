"""The limit of each figure that a check judges, as a value of the figure, and the verdict of that check.

A check states how far its value is inside, with its tolerance (`Finding.margin`): the value and that margin give the
limit in terms of the figure: 30° of bank, 100 ft off a level, 0 ft above a minimum.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping

from analyzer.checks.finding import Finding
from analyzer.comparison.attempt import Attempt
from analyzer.comparison.measuring import Figure, Measured, feet_per_unit
from analyzer.frozen import dataclass
from analyzer.vocabulary import CheckName, PartName

__all__ = ["EXCUSED", "Limited", "limit_of"]

EXCUSED = "excused"
_SAME = 1e-6  # share by which two readings of one value differ at most


@dataclass(frozen=True)
class Limited:
    """The limit of a figure, in its unit, and the verdict on it, or ``excused``."""

    limit: float
    verdict: str


def _value(finding: Finding) -> float:
    return abs(_measured(finding))


def _off(finding: Finding) -> float:
    return abs(_above(finding))


def _above(finding: Finding) -> float:
    limit = finding.limit
    return _measured(finding) - float(limit) * feet_per_unit(finding) if isinstance(limit, float | int) else math.nan


def _measured(finding: Finding) -> float:
    value = finding.measured
    return float(value) * feet_per_unit(finding) if isinstance(value, float | int) else math.nan


@dataclass(frozen=True)
class _Row:
    """The check that limits a figure, how the figure's value is read from a finding, and whether more is better."""

    check: CheckName
    read: Callable[[Finding], float] = _value
    least: bool = False
    part: PartName | None = None


_ROWS: Mapping[str, _Row] = {
    "farthest_nm": _Row("distance_limit"),
    "offset_heading_deg": _Row("offset_heading"),
    "steepest_bank_deg": _Row("turn_bank"),
    "overshoot_nm": _Row("intercept"),
    "outbound_deviation_deg": _Row("outbound_course"),
    "inbound_deviation_deg": _Row("inbound_course"),
    "above_minimum_ft": _Row("altitude_floor", _above, least=True),
    "altitude_hold_ft": _Row("altitude_hold"),
    "greatest_speed_kt": _Row("speed_limit"),
    "missed_turn_above_ft": _Row("missed_climb", _above, least=True),
    "missed_course_deg": _Row("missed_course"),
    "missed_altitude_ft": _Row("missed_altitude", _off),
    "hold_outbound_s": _Row("hold_timing", _off, part="outbound"),
    "hold_inbound_s": _Row("hold_timing", _off, part="inbound"),
    "hold_length_nm": _Row("hold_timing", _off),
    "hold_altitude_ft": _Row("hold_altitude"),
}


def limit_of(figure: Figure, attempt: Attempt, value: Measured) -> Limited | None:
    """The limit of a figure that an attempt has; None where no check judged just that value."""
    row = _ROWS.get(figure.key)
    if row is None:
        return None
    for finding in (*attempt.approach.findings, *attempt.hold_findings):
        if finding.check != row.check or row.part not in (None, finding.part) or finding.margin is None:
            continue
        if math.isclose(row.read(finding), value.value, rel_tol=_SAME, abs_tol=_SAME) and math.isfinite(finding.margin):
            margin = finding.margin * feet_per_unit(finding)
            limit = value.value - margin if row.least else value.value + margin
            return Limited(limit, EXCUSED if finding.excused is not None else finding.verdict)
    return None
