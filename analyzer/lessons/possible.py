"""Words for a cause: as a fact where the finding is outside, as a possibility where it is too close to call."""

from __future__ import annotations

from analyzer.checks.finding import CLOSE, Finding

__all__ = ["fact_or_possible"]


def fact_or_possible(finding: Finding, fact: str, possible: str) -> str:
    """The words that a finding's verdict supports.

    A value within its error of the limit may be inside it, so that what put it outside may not have happened.
    """
    return possible if finding.verdict == CLOSE else fact
