"""Required items that could not be assessed because the log lacks the data."""

from __future__ import annotations

from analyzer.checks.finding import ALTITUDE_MISSING, BREAKS_OFF, GAP, NO_ALTITUDE, NOT_ASSESSED, TOO_LITTLE, Finding
from analyzer.vocabulary import CheckName

__all__ = ["lacks"]

# What a chart limits on the legs flown: without it, whether the approach was inside is not known.
_CHARTED: frozenset[CheckName] = frozenset(
    {"altitude_floor", "distance_limit", "maximum_altitude", "minimum_altitude", "speed_limit", "step_down", "turn_bank"}
)
_LACKING = frozenset({ALTITUDE_MISSING, BREAKS_OFF, GAP, NO_ALTITUDE, TOO_LITTLE})


def lacks(finding: Finding) -> bool:
    """Whether what the chart limits could not be assessed for data that the log does not hold.

    The speed counts where the chart itself limits it, not where a table by altitude does. What nothing limits, what follows
    from another finding and what the runway in sight allows have other reasons.
    """
    if finding.verdict != NOT_ASSESSED or finding.check not in _CHARTED or finding.limit is None:
        return False
    if finding.check == "speed_limit" and finding.source != "charted":
        return False
    return finding.reason in _LACKING
