"""Comparison of debriefed flights, in one call."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from analyzer.comparison.comparing import ComparisonData, side_by_side
from analyzer.frozen import dataclass

if TYPE_CHECKING:
    from analyzer.debriefs.data import DebriefData

__all__ = ["Comparison", "compare"]


@dataclass(frozen=True, eq=False)
class Comparison(ComparisonData):
    """Attempts at one procedure with their figures side by side; `left_out` names the logs without such an attempt."""

    def to_dict(self) -> dict[str, Any]:
        """The comparison as JSON values; ``analyzer/report/compare.schema.json`` is their schema."""
        from analyzer.report.documents.compare_document import compare_document

        return compare_document(self)


def compare(debriefs: Sequence[DebriefData]) -> Comparison:
    """Compare the approaches of several flights, in the order flown; or flights of a hold, where there are fewer than two.

    Raises
    ------
    AnalyzerError
        There are fewer than two of either, or they were debriefed by different procedures or standards.

    Examples
    --------
    >>> import analyzer
    >>> procedure = analyzer.read_procedure("sample_tracks/wendle_island_vor24.toml")
    >>> logs = ("sample_tracks/clean.csv", "sample_tracks/strong_wind.csv")
    >>> comparison = compare([analyzer.debrief(analyzer.read_track(log), procedure) for log in logs])
    >>> farthest = next(row for row in comparison.rows if row.figure.key == "farthest_nm")
    >>> [round(value.value, 2) for value in farthest.values]
    [7.17, 11.48]
    """
    compared = side_by_side(debriefs)
    return Comparison(compared.attempts, compared.rows, compared.left_out)
