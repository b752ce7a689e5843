"""The sheets of a log's student: a page and a PDF, made where the log is graded, by what the roster says of it."""

from __future__ import annotations

import json
from collections.abc import Sequence
from hashlib import sha256

from analyzer.debriefs.data import DebriefData
from analyzer.gradebook.roster import Entry
from analyzer.gradebook.settings import Settings
from analyzer.report.pages.sheet_page import sheet_page
from analyzer.report.pages.student_sheet import Marked, sheet_values
from analyzer.report.paper.sizes import SHEETS, paper_named
from analyzer.report.paper.student_paper import student_paper
from analyzer.report.pictures.page_pictures import draw_plan
from analyzer.report.pictures.subject import Subject

__all__ = ["sheet_key", "student_sheets"]


def sheet_key(settings: Settings, entry: Entry | None) -> str | None:
    """Stands for what a sheet follows from besides the row: the roster's words and the paper. None where none is asked for."""
    if settings.sheets is None:
        return None
    said = None if entry is None else [entry.pilot, str(entry.date), entry.aircraft, entry.remark]
    return sha256(json.dumps([settings.sheets, said]).encode()).hexdigest()[:12]


def student_sheets(
    settings: Settings, debrief: DebriefData, marked: Sequence[Marked], entry: Entry | None, date: str
) -> tuple[bytes, bytes]:
    """Page and PDF of a debrief with its lessons. `marked` has the marks of what was flown, in that order."""
    values = sheet_values(debrief, marked, settings.rubric, entry, date)
    subjects = [Subject(one.seen, one.approach) for one in debrief.told] or [Subject(debrief, None)]
    pictures = [draw_plan(subject, f"s{number}") for number, subject in enumerate(subjects)]
    paper = paper_named(settings.sheets or SHEETS[0].name, SHEETS)
    return sheet_page(values, pictures).encode(), student_paper(values, pictures, paper)
