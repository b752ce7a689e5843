"""A comparison as a self-contained HTML page."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import TYPE_CHECKING, Any

from analyzer.report.pages.page import filled, inline_script, whole_page
from analyzer.report.pictures.attempt_lines import attempt_name
from analyzer.report.pictures.compare_pictures import compare_pictures
from analyzer.report.words.clearance_text import settled_sentences
from analyzer.report.words.compare_text import (
    BEST_NOTE,
    OWN_NOTE,
    attempt_heads,
    attempt_words,
    change_words,
    figure_words,
    lap_words,
    sentences,
    spread_words,
    title_words,
    value_words,
)

if TYPE_CHECKING:
    from analyzer.comparison.comparing import ComparisonData

__all__ = ["compare_body", "compare_page"]

NO_PAGES: Mapping[int, str] = MappingProxyType({})


def compare_page(comparison: ComparisonData, pages: Mapping[int, str] = NO_PAGES) -> str:
    """The page of a comparison. `pages` maps the number of an attempt to the address of its debrief."""
    return whole_page("compare", _content(comparison, pages), inline_script("attempts.js"))


def compare_body(comparison: ComparisonData, pages: Mapping[int, str]) -> str:
    """What stands in that page, for a page with a head and a foot of its own."""
    return filled("compare_body", _content(comparison, pages))


def _content(comparison: ComparisonData, pages: Mapping[int, str]) -> dict[str, Any]:
    """The values for the template of the body."""
    first = comparison.attempts[0].debrief
    own = [OWN_NOTE] if any(row.figure.own for row in comparison.rows) else []
    numbers = [attempt.number for attempt in comparison.attempts]
    return {
        "title": title_words(comparison),
        "standard": first.standard.title,
        "settled": list(settled_sentences(first.motion.charted)),
        "sentences": list(sentences(comparison)),
        "heads": attempt_heads(comparison),
        "attempts": [
            {
                "id": attempt_name(attempt.number),
                "number": attempt.number,
                "cells": attempt_words(comparison, attempt),
                "page": pages.get(attempt.number, ""),
                "laps": lap_words(attempt),
            }
            for attempt in comparison.attempts
        ],
        "numbers": numbers,
        "pictures": compare_pictures(comparison),
        "rows": [
            {
                "name": figure_words(row),
                "own": row.figure.own,
                "values": [{"text": value_words(row, n).rstrip("*"), "best": n in row.best} for n in numbers],
                "spread": spread_words(row),
                "change": change_words(row),
            }
            for row in comparison.rows_as_charted
        ],
        "notes": [f"Bold: {BEST_NOTE}", *own],
    }
