"""A class as far as it is graded: its settings, the rows that are kept, and what follows from them."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace
from functools import cached_property
from typing import Any
from urllib.parse import quote

from analyzer.checks.excuse import Excuse
from analyzer.desk.cards import read_settings as desk_settings
from analyzer.desk.class_asked import ClassCount
from analyzer.desk.class_files import ClassCard, ClassFiles
from analyzer.desk.store import CHART, Store
from analyzer.errors import DeskError, GradeError, ProcedureError
from analyzer.frozen import dataclass
from analyzer.grade.excused_logs import ExcusedLogs, excuses_key, given_to_logs
from analyzer.grade.grading import entries_of
from analyzer.grade.kept_rows import present_documents, sheet_key
from analyzer.grade.publish import class_rows
from analyzer.gradebook.candidate import Candidate
from analyzer.gradebook.index import Index, index_of
from analyzer.gradebook.review import FlightReview, review_by_log
from analyzer.gradebook.roster import Entry, Roster
from analyzer.gradebook.settings import LIMITS, Settings, read_settings
from analyzer.procedure.read import read_procedure

__all__ = ["Graded", "class_settings", "flight_address", "graded_class"]

Json = dict[str, Any]
_TRIES = 5  # a run that ends meanwhile moves the rows


@dataclass(frozen=True, eq=False)
class Graded:
    """What is known of a class: documents of its logs in order of their names, and for each whether it is by the settings.

    `logs` are the names of all logs; those without a document wait to be graded. `entries` are those of the roster, by log.
    """

    files: ClassFiles
    settings: Settings
    roster: Roster | None
    entries: Mapping[str, Entry]
    reviews: Mapping[str, FlightReview]
    without_log: tuple[Excuse, ...]
    logs: tuple[str, ...]
    documents: tuple[Json, ...]
    current: tuple[bool, ...]

    @property
    def count(self) -> ClassCount:
        """How many logs there are, and how many are graded."""
        now = sum(self.current)
        return ClassCount(len(self.logs), now, len(self.documents) - now, any(one["sheet"] for one in self.documents))

    @cached_property
    def index(self) -> Index:
        """What is known across the logs."""
        return replace(index_of(iter(self.documents), self.roster), excuses_without_log=self.without_log)

    def rows(self) -> Iterator[tuple[str, Json, Json]]:
        """The rows of the class with what the instructor said, as tables and page have them."""
        return class_rows(lambda: (("", one) for one in self.documents), self.index, self._links, self.reviews)

    def _links(self, document: Json) -> tuple[str | None, str | None]:
        return flight_address(self.files.name, document["file"]), None

    def sheets(self) -> tuple[int, int]:
        """How many students' sheets hold, and how many are to be made anew because what is on them changed."""
        if not self.count.with_sheets:
            return 0, 0
        settings = replace(self.settings, sheets=self.files.card().paper)
        wanted = {one["file"]: one["sheet"] for one in self.documents if one["procedure"] is not None}
        made = sum(sheet == sheet_key(settings, self.entries.get(log), self.reviews.get(log)) for log, sheet in wanted.items())
        return made, len(wanted) - made


def graded_class(files: ClassFiles) -> tuple[Graded, tuple[str, ...]]:
    """A class as it stands, and what is to be said of its charts.

    Raises
    ------
    AnalyzerError
        Its files cannot be read, or nothing can be graded by them.
    """
    settings, notes = class_settings(files.store, files, files.card())
    names = tuple(log.name for log in files.logs())
    review = files.review()
    given = given_to_logs(tuple(table.excuse() for table in review.excused), names)
    roster = files.roster()
    by_place = entries_of(str(files.folder), settings, roster, files.leave_out()) if roster is not None else {}
    entries = {names[place]: entry for place, entry in by_place.items()}
    known = _known(files, settings, given, entries, frozenset(names))
    documents = tuple(document for document, _ in known)
    current = tuple(now for _, now in known)
    reviews = review_by_log(review)
    return Graded(files, settings, roster, entries, reviews, given.without_log, names, documents, current), notes


def _known(
    files: ClassFiles, settings: Settings, given: ExcusedLogs, entries: Mapping[str, Entry], names: frozenset[str]
) -> list[tuple[Json, bool]]:
    """The documents that are kept of logs that are there."""

    def of_log(log: str) -> Json:
        flown_as = list(entries[log].flown_as) if log in entries else []
        return {"excuses": excuses_key(given.by_log.get(log, ())), "flown_as": flown_as}

    for _ in range(_TRIES):
        try:
            return [(one, now) for one, now in present_documents(files.graded(), settings, of_log) if one["file"] in names]
        except GradeError as error:
            if not isinstance(error.__cause__, FileNotFoundError):
                raise
    raise DeskError(f"{files.name}: its rows are being written; try again")


def class_settings(store: Store, files: ClassFiles, card: ClassCard) -> tuple[Settings, tuple[str, ...]]:
    """What a class is graded by, and which charts are left out because they cannot be read.

    Raises
    ------
    AnalyzerError
        There is no chart to grade by, or the one that was chosen, the rubric or the standard cannot be read.
    """
    standard = desk_settings(store).standard
    rubric = card.rubric if not card.rubric.endswith(CHART) else str(store.there(files.room, card.rubric))
    options = replace(card.reading.options(), limits=LIMITS)
    if card.chart:
        path = store.there("procedures", card.chart)
        if card.chart.endswith(CHART):
            return read_settings(path, None, standard, rubric, options), ()
        return read_settings(None, path, standard, rubric, options), ()
    candidates, left_out = _charts(store)
    if not candidates:
        raise DeskError("no chart to grade by: draw one, or copy procedure files into the folder procedures")
    first = read_settings(store.there("procedures", f"{candidates[0].name}{CHART}"), None, standard, rubric, options)
    return replace(first, candidates=candidates, pick=True), left_out


def _charts(store: Store) -> tuple[tuple[Candidate, ...], tuple[str, ...]]:
    """All charts of the folder, and a sentence on each that cannot be read."""
    candidates, left_out = [], []
    for name in sorted(entry.name for entry in store.entries("procedures") if entry.name.endswith(CHART)):
        try:
            candidates.append(Candidate(name.removesuffix(CHART), read_procedure(store.there("procedures", name))))
        except ProcedureError:
            left_out.append(f"The chart {name} cannot be read and is left out; open it under Charts to see why.")
    return tuple(candidates), tuple(left_out)


def flight_address(name: str, log: str) -> str:
    """The address of the page of a flight of a class."""
    return f"/classes/{quote(name, safe='')}/flights/{quote(log, safe='/', errors='surrogateescape')}"
