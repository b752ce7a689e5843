"""Debriefs, briefs and comparisons as JSON text. Equal values give equal bytes."""

from __future__ import annotations

import json
from collections.abc import Mapping
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


def brief_json_text(brief: Brief, asked: Mapping[str, Any] | None = None) -> str:
    """The brief as JSON text, with what was asked for as a form has it, so that it can be asked again."""
    from analyzer.report.documents.brief_document import brief_document

    return _text({**brief_document(brief), **({} if asked is None else {"asked": asked})})


def _text(document: dict[str, Any]) -> str:
    return json.dumps(document, indent=1, ensure_ascii=False, allow_nan=False) + "\n"
