"""The work behind the list of classes, and behind the page of one."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from analyzer.desk.asked import Choice
from analyzer.desk.class_asked import ClassCount, ClassListed, ClassSeen, Plan
from analyzer.desk.class_files import ClassCard, ClassFiles, class_names
from analyzer.desk.class_graded import Graded, graded_class
from analyzer.desk.class_words import in_class, list_in_class
from analyzer.desk.listing import chart_titles
from analyzer.desk.store import CHART, Store
from analyzer.errors import AnalyzerError, GradeError
from analyzer.grade.workbook import check_workbook
from analyzer.gradebook.rubric import built_in_rubrics, read_rubric
from analyzer.gradebook.tally import Tally
from analyzer.report.pages.class_page import class_parts

__all__ = ["count_class", "list_classes", "see_class"]

_CODED_INDEX = ".approach-index"
_PAPERS = (Choice("a4", "A4"), Choice("letter", "Letter"))


def list_classes(folder: str) -> tuple[ClassListed, ...]:
    """The classes of a folder, each with how far it is graded."""
    store = Store(Path(folder))
    return tuple(_listed(ClassFiles(store, name)) for name in class_names(store))


def _listed(files: ClassFiles) -> ClassListed:
    try:
        title = files.card().title or files.name
        logs = sum(1 for _ in files.logs())
    except AnalyzerError as error:
        return ClassListed(files.name, files.name, ClassCount(), str(error))
    try:
        return ClassListed(files.name, title, graded_class(files)[0].count)
    except AnalyzerError as error:
        return ClassListed(files.name, title, ClassCount(logs), str(error))


def count_class(folder: str, name: str) -> ClassCount:
    """How far a class is graded. Raises `AnalyzerError`."""
    return graded_class(ClassFiles(Store(Path(folder)), name))[0].count


def see_class(folder: str, name: str) -> ClassSeen:
    """A class for its page; what keeps it from being graded is said on it. Raises `AnalyzerError` where it cannot be read."""
    files = ClassFiles(Store(Path(folder)), name)
    place, card = str(files.folder), files.card()
    title, plan, logs = card.title or name, _plan(files, card), sum(1 for _ in files.logs())
    try:
        graded, notes = graded_class(files)
        listed, shown, rules = _shown(graded)
    except AnalyzerError as error:
        return ClassSeen(name, title, place, ClassCount(logs), plan, fault=in_class(str(error)))
    roster = files.roster_file()
    return ClassSeen(
        name,
        title,
        place,
        graded.count,
        plan,
        roster.name if roster is not None else "",
        len(graded.roster.entries) if graded.roster is not None else 0,
        (*notes, *_of_missing_logs(graded)),
        "",
        listed,
        shown,
        rules,
        graded.sheets(),
        _has_workbook(),
    )


def _shown(graded: Graded) -> tuple[Mapping[str, Any], str, str]:
    """The values of the list; what follows it, and the rules, as HTML, from the rows that there are."""
    if not graded.documents:
        return {}, "", ""
    tally = Tally()
    for _, row, approach in graded.rows():
        tally.add(row, approach)
    offered = {candidate.name for candidate in graded.settings.candidates}
    if graded.settings.country is None:  # rows of an earlier choice of charts
        for name in [name for name in tally.tracks if name not in offered]:
            del tally.tracks[name]
    listed, shown, rules = class_parts(tally, graded.index, graded.settings, graded.roster)
    return list_in_class(listed), shown, rules


def _of_missing_logs(graded: Graded) -> tuple[str, ...]:
    """What was said of logs that are not there any more."""
    missing = [log for log in graded.reviews if log not in graded.logs]
    if not missing:
        return ()
    return (f"In remarks.toml, but not a log of this class any more: {', '.join(missing[:5])}.",)


def _plan(files: ClassFiles, card: ClassCard) -> Plan:
    names = sorted(entry.name for entry in files.store.entries("procedures"))
    charts = chart_titles(files.store)
    alike = Counter(charts.values())
    coded = [name for name in names if not name.endswith((CHART, _CODED_INDEX))]
    given = {key: str(getattr(card, key)) for key in ("title", "chart", "rubric", "paper", "by")}
    rubrics = files.rubrics()
    return Plan(
        (
            Choice("", "The one that each flight fits best"),
            *(Choice(name, title if alike[title] == 1 else f"{title} ({name})") for name, title in sorted(charts.items())),
            *(Choice(name, f"Those of {name}, by fit") for name in coded),
            *(Choice(name, f"{name} (not there any more)") for name in {card.chart} - {"", *charts, *coded}),
        ),
        (
            *(Choice(name, read_rubric(name).title if name in built_in_rubrics() else name) for name in rubrics),
            *(Choice(name, f"{name} (not there any more)") for name in {card.rubric} - {*rubrics}),
        ),
        _PAPERS,
        given,
    )


def _has_workbook() -> bool:
    try:
        check_workbook()
    except GradeError:
        return False
    return True
