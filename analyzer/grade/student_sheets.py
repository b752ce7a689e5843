"""The sheets of a log's student, a page and a PDF, made in the process that grades the log."""

from __future__ import annotations

from collections.abc import Sequence

from analyzer.debriefs.data import DebriefData
from analyzer.gradebook.mark import Marked
from analyzer.gradebook.review import FlightReview
from analyzer.gradebook.roster import Entry
from analyzer.gradebook.settings import Settings
from analyzer.report.pages.sheet_page import sheet_page
from analyzer.report.pages.student_sheet import sheet_values
from analyzer.report.paper.sizes import SHEETS, paper_named
from analyzer.report.paper.student_paper import student_paper
from analyzer.report.pictures.page_pictures import draw_plan
from analyzer.report.pictures.subject import Subject

__all__ = ["student_sheets"]


def student_sheets(
    settings: Settings,
    debrief: DebriefData,
    marked: Sequence[Marked],
    entry: Entry | None,
    date: str,
    review: FlightReview | None,
) -> tuple[bytes, bytes]:
    """Page and PDF of a debrief with its lessons. `marked` has the marks of its approaches and holds, in the order flown."""
    values = sheet_values(debrief, marked, settings.rubric, entry, date, review)
    subjects = [Subject(section.seen, section.approach) for section in debrief.sections] or [Subject(debrief, None)]
    pictures = [draw_plan(subject, f"s{number}") for number, subject in enumerate(subjects)]
    paper = paper_named(settings.sheets or SHEETS[0].name, SHEETS)
    return sheet_page(values, pictures).encode(), student_paper(values, pictures, paper)
