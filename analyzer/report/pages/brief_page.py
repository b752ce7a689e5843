"""The brief as one HTML page that stands by itself, and its card as PDF."""

from __future__ import annotations

from importlib import metadata
from itertools import chain, groupby
from typing import TYPE_CHECKING

from analyzer.debriefs.plan import debrief_of_plan
from analyzer.report.pages.debrief_page import page_environment
from analyzer.report.pages.pdf_pages import pdf, text_pages
from analyzer.report.pictures.page_pictures import draw_plan, hold_figures, plan_figures
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
    brief_text,
    chances_sentence,
    conditions_sentence,
    entry_sentence,
    number_text,
    part_headings,
    part_rows,
    rule_text,
)
from analyzer.report.words.caution import CAUTION
from analyzer.report.words.clearance_text import minimum_sentence
from analyzer.report.words.procedure_words import capital

if TYPE_CHECKING:
    from analyzer.brief.briefing import Brief

__all__ = ["brief_page", "brief_pdf"]


def brief_page(brief: Brief) -> str:
    """The page of a brief."""
    environment = page_environment()
    flown = debrief_of_plan(brief)
    pictures = draw_plan(flown, brief.chances.paths_m, missed_marks(brief))
    groups = [
        {
            "heading": capital(name),
            "numbers": [{"name": n.name, "value": number_text(n), "how": n.how, "rule": rule_text(n)} for n in numbers],
        }
        for name, numbers in groupby(brief.numbers, key=lambda number: number.group)
    ]
    return environment.get_template("brief.html.j2").render(
        title=brief.charted.procedure.title,
        shape=brief.plan.pattern.shape,
        conditions=conditions_sentence(brief),
        minimum=minimum_sentence(brief.charted),
        chances=chances_sentence(brief),
        entry=entry_sentence(brief),
        headings=part_headings(brief),
        rows=list(part_rows(brief)),
        segment_headings=segment_headings(brief),
        segments=list(segment_rows(brief)),
        segment_note=segment_note(brief),
        missed=missed_sentence(brief),
        missed_headings=missed_headings(brief),
        missed_rows=list(missed_rows(brief)),
        missed_note=missed_note(brief),
        hold_headings=HOLD_HEADINGS,
        holds=[
            {
                "name": hold_name(laps),
                "sentence": capital(hold_sentence(brief, laps)),
                "rows": list(hold_rows(brief, laps)),
                "note": hold_note(laps),
            }
            for laps in brief.holds
        ],
        pictures=pictures,
        notes=brief.cautions,
        undrawn=not pictures,
        groups=groups,
        warnings=brief.charted.warnings,
        caution=CAUTION,
        version=metadata.version("approach-analyzer"),
    )


def brief_pdf(brief: Brief) -> bytes:
    """The card as A4 pages of plain text, and the path drawn in plan and profile; the same bytes for the same brief."""
    flown = debrief_of_plan(brief)
    drawings = (figure for _, figure in plan_figures(flown, brief.chances.paths_m, missed_marks(brief)))
    holds = (figure for _, figure in hold_figures(flown))
    return pdf(chain(text_pages(brief_text(brief).splitlines()), drawings, holds))
