"""Debriefs, briefs and comparisons as JSON text. Equal values give equal bytes."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from analyzer.brief.briefing import Brief
    from analyzer.comparison.comparing import ComparisonData
    from analyzer.debriefs.data import DebriefData

__all__ = ["brief_json_text", "compare_json_text", "json_text"]


def json_text(debrief: DebriefData) -> str:
    """The debrief as JSON text."""
    from analyzer.report.documents.debrief_document import debrief_document

    return _text(debrief_document(debrief))


def compare_json_text(comparison: ComparisonData) -> str:
    """The comparison as JSON text."""
    from analyzer.report.documents.compare_document import compare_document

    return _text(compare_document(comparison))


def brief_json_text(brief: Brief) -> str:
    """The brief as JSON text."""
    from analyzer.report.documents.brief_document import brief_document

    return _text(brief_document(brief))


def _text(document: dict[str, Any]) -> str:
    return json.dumps(document, indent=1, ensure_ascii=False, allow_nan=False) + "\n"
