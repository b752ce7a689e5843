"""Findings on charted limits that are not assessed because the log lacks the data."""

from __future__ import annotations

from analyzer.checks.finding import ALTITUDE_MISSING, BREAKS_OFF, GAP, NO_ALTITUDE, NOT_ASSESSED, TOO_LITTLE, Finding
from analyzer.vocabulary import CheckName

__all__ = ["lacks"]

# Limits of the chart: an approach cannot pass while one of them is not assessed.
_CHARTED: frozenset[CheckName] = frozenset(
    {"altitude_floor", "distance_limit", "maximum_altitude", "minimum_altitude", "speed_limit", "step_down", "turn_bank"}
)
_LACKING = frozenset({ALTITUDE_MISSING, BREAKS_OFF, GAP, NO_ALTITUDE, TOO_LITTLE})


def lacks(finding: Finding) -> bool:
    """Whether a finding on a charted limit is not assessed because the log lacks the data.

    A speed limit counts only where the chart gives it, not where a general table does. Findings without a limit, those that
    follow from another finding, and descents with the runway in sight are not assessed for other reasons.
    """
    if finding.verdict != NOT_ASSESSED or finding.check not in _CHARTED or finding.limit is None:
        return False
    if finding.check == "speed_limit" and finding.source != "charted":
        return False
    return finding.reason in _LACKING
