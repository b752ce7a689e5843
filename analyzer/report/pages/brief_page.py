"""The brief as a self-contained HTML page."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import groupby
from typing import TYPE_CHECKING, Any

from analyzer.debriefs.plan import debrief_of_plan
from analyzer.report.pages.page import whole_page
from analyzer.report.pictures.layout import NARROW, WIDE, Layout
from analyzer.report.pictures.page_pictures import draw_brief
from analyzer.report.words.brief_final import missed_sentence, segment_headings, segment_note, segment_rows
from analyzer.report.words.brief_missed_and_holds import (
    HOLD_HEADINGS,
    hold_name,
    hold_note,
    hold_rows,
    hold_sentence,
    missed_headings,
    missed_marks,
    missed_note,
    missed_rows,
)
from analyzer.report.words.brief_text import (
    chances_sentence,
    conditions_sentence,
    entry_sentence,
    number_text,
    part_headings,
    part_rows,
    pattern_words,
    rule_text,
)
from analyzer.report.words.clearance_text import minimum_sentence
from analyzer.report.words.procedure_words import capital

if TYPE_CHECKING:
    from analyzer.brief.briefing import Brief

__all__ = ["brief_content", "brief_page"]


def brief_page(brief: Brief) -> str:
    """The page of a brief."""
    return whole_page("brief", brief_content(brief))


def brief_content(brief: Brief, layouts: Sequence[Layout] = (WIDE, NARROW)) -> dict[str, Any]:
    """The values that the templates of a brief take: what is said, its tables and numbers, and its pictures."""
    pictures = draw_brief(debrief_of_plan(brief), brief.chances.paths_m, missed_marks(brief), layouts)
    groups = [
        {
            "heading": capital(name),
            "numbers": [{"name": n.name, "value": number_text(n), "how": n.how, "rule": rule_text(n)} for n in numbers],
        }
        for name, numbers in groupby(brief.numbers, key=lambda number: number.group)
    ]
    return {
        "title": brief.charted.procedure.title,
        "shape": pattern_words(brief.plan.pattern.shape),
        "conditions": conditions_sentence(brief),
        "minimum": minimum_sentence(brief.charted),
        "chances": chances_sentence(brief),
        "entry": entry_sentence(brief),
        "headings": part_headings(brief),
        "rows": list(part_rows(brief)),
        "segment_headings": segment_headings(brief),
        "segments": list(segment_rows(brief)),
        "segment_note": segment_note(brief),
        "missed": missed_sentence(brief),
        "missed_headings": missed_headings(brief),
        "missed_rows": list(missed_rows(brief)),
        "missed_note": missed_note(brief),
        "hold_headings": HOLD_HEADINGS,
        "holds": [
            {
                "name": hold_name(laps),
                "sentence": capital(hold_sentence(brief, laps)),
                "rows": list(hold_rows(brief, laps)),
                "note": hold_note(laps),
            }
            for laps in brief.holds
        ],
        "pictures": pictures,
        "notes": brief.cautions,
        "undrawn": not pictures,
        "groups": groups,
        "warnings": brief.charted.warnings,
    }
