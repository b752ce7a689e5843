"""The page of a flight of a class: its debrief, as it is graded, and what the instructor said of it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any

from analyzer.debriefs.data import DebriefData
from analyzer.desk.class_asked import ClassFlight, PartSeen
from analyzer.desk.class_files import ClassFiles
from analyzer.desk.class_graded import Graded, flight_address, graded_class
from analyzer.desk.class_words import in_class
from analyzer.desk.excuse_forms import with_excuse_forms
from analyzer.desk.field_words import with_fields
from analyzer.desk.store import Store
from analyzer.errors import GradeError
from analyzer.grade.excused_logs import given_to_logs
from analyzer.grade.one_log import opened
from analyzer.grade.task import Task
from analyzer.gradebook.mark import Marked
from analyzer.gradebook.review import FlightReview, moved_words
from analyzer.report.pages.debrief_page import debrief_parts
from analyzer.report.pictures.page_pictures import draw_debrief
from analyzer.report.words.class_words import failing_words

__all__ = ["open_class_flight", "task_of"]


def open_class_flight(folder: str, name: str, log: str) -> ClassFlight:
    """A flight of a class. Raises `AnalyzerError` where it is none."""
    files = ClassFiles(Store(Path(folder)), name)
    graded, _ = graded_class(files)
    task = task_of(graded, log)
    review, card = graded.reviews.get(log, FlightReview()), files.card()
    address, by = flight_address(name, log), review.by or card.by

    def worded(content: dict[str, Any]) -> dict[str, Any]:
        return with_excuse_forms(with_fields(content, in_class), address, by)

    fault, head, verdicts, body, parts = "", "", "", "", tuple[PartSeen, ...]()
    try:
        debrief, marked = opened(graded.settings, task)
        head, verdicts, body = debrief_parts(debrief, draw_debrief(debrief), worded)
        parts = tuple(_parts(debrief, marked, review))
    except GradeError as error:
        fault = in_class(str(error), "")
    before, place, after = _neighbours(graded, log)
    return ClassFlight(
        name,
        card.title or name,
        log,
        task.entry.pilot if task.entry is not None else log,
        place,
        head,
        verdicts,
        body,
        parts,
        review.remark,
        review.remark,
        by,
        (task.entry.remark or "") if task.entry is not None else "",
        before,
        after,
        fault,
    )


def task_of(graded: Graded, log: str) -> Task:
    """A log of a class as it is given to be graded, with all that was said of it. Raises `DeskError`."""
    found = graded.files.log(log)
    excuses = given_to_logs([table.excuse() for table in graded.files.review().excused], graded.logs)
    return Task(
        log,
        found.address,
        found.size_bytes,
        leads_out=found.leads_out,
        entry=graded.entries.get(log),
        excuses=excuses.by_log.get(log, ()),
        review=graded.reviews.get(log),
    )


def _parts(debrief: DebriefData, marked: Sequence[Marked], review: FlightReview) -> Iterator[PartSeen]:
    """The approaches and holds of a flight, each with its computed mark and what stands in its place."""
    for section, marks in zip(debrief.sections, marked, strict=True):
        approach = section.of == "reversal"
        percent = None if marks.mark.percent is None else round(marks.mark.percent, 1)
        changed = review.marks.get((section.number, None) if approach else (None, section.number))
        yield PartSeen(
            f"{'approach' if approach else 'hold'} {section.number}",
            section.title,
            "" if percent is None else f"{percent:g}",
            _computed_words(marks),
            "" if changed is None else f"{changed.mark:g}",
            "" if changed is None else changed.reason,
            "" if changed is None else changed.by,
            "" if changed is None else moved_words(changed, percent),
            ("", "") if changed is None else (f"{changed.mark:g}", changed.reason),
        )


def _computed_words(marked: Marked) -> str:
    """A computed mark, and what fails the approach outright: ``0%: the altitude floor fails the approach``."""
    mark = marked.mark
    if mark.failed_outright:
        return f"0%: {failing_words(mark.failed_outright)}"
    if mark.percent is not None:
        return f"{round(mark.percent, 1):g}%"
    return "incomplete" if mark.incomplete is not None else "no mark"


def _neighbours(graded: Graded, log: str) -> tuple[str, str, str]:
    """The logs before and after one in the class, and its place in words.

    The order is by name, which no mark or excuse changes: who goes through the class and marks it misses nobody.
    """
    named = {str(row["file"]): str(row["pilot"] or row["file"]) for _, row, _ in graded.rows()}
    order = sorted(named, key=lambda file: (named[file].casefold(), file))
    if log not in order:
        return "", "not in the list yet", ""
    place = order.index(log)
    near: Mapping[int, str] = dict(enumerate(order))
    return near.get(place - 1, ""), f"{place + 1} of {len(order)}, by name", near.get(place + 1, "")
