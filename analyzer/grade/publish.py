"""From the saved rows to the results: CSV, Parquet, a workbook, the class page, and the tally of all rows."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import ExitStack
from dataclasses import replace
from types import MappingProxyType
from typing import IO, Any
from urllib.parse import quote

from analyzer.checks.excuse import Excuse
from analyzer.errors import GradeError
from analyzer.frozen import dataclass
from analyzer.grade.grades_table import GRADES, grades_row
from analyzer.grade.kept_rows import kept_documents, page_name, sheet_names
from analyzer.grade.output_folder import Folder
from analyzer.grade.row_files import CsvTable, parquet_part, parquet_schema
from analyzer.grade.workbook import Workbook, check_workbook
from analyzer.gradebook.index import Index, index_of
from analyzer.gradebook.review import FlightReview
from analyzer.gradebook.roster import Roster
from analyzer.gradebook.rows import COLUMNS, RowContext, rows_of
from analyzer.gradebook.settings import Settings
from analyzer.gradebook.tally import Tally

__all__ = ["FORMATS", "NO_REVIEWS", "Published", "check_formats", "class_rows", "one_table", "publish"]

FORMATS = ("csv", "html", "parquet", "xlsx")
_GRADES, _DETAILS, _WORKBOOK = "grades.csv", "details.csv", "grades.xlsx"
_PAGE, _PARQUET, _PAGES, _SHEETS = "class.html", "grades.parquet", "pages", "sheets"
Json = dict[str, Any]
Documents = Callable[[], Iterator[tuple[str, Json]]]  # of all logs in order, each with the name of its part
NO_REVIEWS: Mapping[str, FlightReview] = MappingProxyType({})


@dataclass(frozen=True, eq=False)
class Published:
    """The tally and index of all rows, and the files and folders that were written, in order."""

    tally: Tally
    index: Index
    files: tuple[str, ...]


def check_formats(formats: Sequence[str]) -> tuple[str, ...]:
    """The formats to write, in their order.

    Raises
    ------
    GradeError
        A format is unknown, or needs a package that is missing.
    """
    for name in formats:
        if name not in FORMATS:
            raise GradeError(f"--format {name}: not a format of a class; choose from {', '.join(FORMATS)}")
    if "parquet" in formats:
        parquet_schema()
    if "xlsx" in formats:
        check_workbook()
    return tuple(name for name in FORMATS if name in formats)


def publish(
    folder: Folder,
    settings: Settings,
    roster: Roster | None,
    formats: Sequence[str],
    without_log: tuple[Excuse, ...] = (),
    reviews: Mapping[str, FlightReview] = NO_REVIEWS,
) -> Published:
    """Write the tables and the class page from the rows in a folder. Raises `GradeError`.

    `without_log` are the excuses that are used for no log, which the page names. `reviews` is what an instructor said, by log.
    """

    def documents() -> Iterator[tuple[str, Json]]:
        return kept_documents(folder)

    index = replace(index_of((document for _, document in documents()), roster), excuses_without_log=without_log)
    tally, files = Tally(), list[str]()
    with ExitStack() as stack:
        tables = list(_tables(folder, formats, stack, files))
        parquet = _Parquet(folder) if "parquet" in formats else None
        for part, row, approach in class_rows(documents, index, _links, reviews):
            tally.add(row, approach)
            short = grades_row(row, approach.get("reasons", ()))
            for table in tables:
                table.add(short, row)
            if parquet is not None:
                parquet.add(part, row)
        for table in tables:
            table.end()
    if parquet is not None:
        parquet.end()
        files.append(_PARQUET)
    if "html" in formats:
        from analyzer.report.pages.class_page import class_page  # loads drawing, which only the page needs

        folder.write(_PAGE, class_page(tally, index, settings, roster).encode())
        files.insert(0, _PAGE)
    if settings.pages:
        files.append(_PAGES)
    if settings.sheets is not None:
        files.append(_SHEETS)
    return Published(tally, index, tuple(files))


def one_table(name: str, file: IO[bytes], rows: Iterator[tuple[str, Json, Json]]) -> None:
    """Write one of the tables from rows: ``grades.csv``, ``details.csv`` or ``grades.xlsx``. Raises `GradeError`."""
    if name == _WORKBOOK:
        check_workbook()
        book = Workbook(file)
        for _, row, approach in rows:
            book.add(grades_row(row, approach.get("reasons", ())), row)
        book.end()
        return
    table = CsvTable(file, GRADES if name == _GRADES else COLUMNS)
    for _, row, approach in rows:
        table.add(grades_row(row, approach.get("reasons", ())) if name == _GRADES else row)
    table.end()


def _tables(folder: Folder, formats: Sequence[str], stack: ExitStack, files: list[str]) -> Iterator[_Csv | Workbook]:
    """Open the tables, which are written row by row, and add their names to `files`."""
    if "csv" in formats:
        grades, details = (stack.enter_context(folder.writing(name)) for name in (_GRADES, _DETAILS))
        files += [_GRADES, _DETAILS]
        yield _Csv(CsvTable(grades, GRADES), CsvTable(details, COLUMNS))
    if "xlsx" in formats:
        files.append(_WORKBOOK)
        yield Workbook(stack.enter_context(folder.writing(_WORKBOOK)))


@dataclass(frozen=True, eq=False)
class _Csv:
    """Grades and details as CSV."""

    grades: CsvTable
    details: CsvTable

    def add(self, grade: Json, row: Json) -> None:
        self.grades.add(grade)
        self.details.add(row)

    def end(self) -> None:
        self.grades.end()
        self.details.end()


class _Parquet:
    """The table as Parquet, one file per part of the rows. Files of an earlier run are removed first, as it may have more."""

    def __init__(self, folder: Folder) -> None:
        self._folder, self._schema = folder, parquet_schema()
        self._part, self._rows = "", list[Json]()
        for name in folder.names(_PARQUET):
            folder.delete(name)

    def add(self, part: str, row: Json) -> None:
        """Add a row of a part."""
        if part != self._part:
            self.end()
            self._part = part
        self._rows.append(row)

    def end(self) -> None:
        """Write the part that is open."""
        if self._rows:
            stem = self._part.rpartition("/")[2].removesuffix(".jsonl")
            self._folder.write(f"{_PARQUET}/{stem}.parquet", parquet_part(self._schema, self._rows))
            self._rows = []


def class_rows(
    documents: Documents,
    index: Index,
    links: Callable[[Json], tuple[str | None, str | None]],
    reviews: Mapping[str, FlightReview],
) -> Iterator[tuple[str, Json, Json]]:
    """The rows in order, each with the part that it is in and its piece of the log's document.

    `links` gives the addresses of a log's page and sheet. Raises `GradeError`.
    """
    firsts = _originals(documents, index)
    place = 0
    for part, document in documents():
        context = _context(document, place, index, firsts)
        page, sheet = links(document)
        context = replace(context, page=page, sheet=sheet, review=reviews.get(document["file"]))
        for row, approach in rows_of(document, context):
            yield part, row, approach
        place += 1
    if place != index.logs:
        raise GradeError("the rows changed while they were read; run one grading at a time there")


def _originals(documents: Documents, index: Index) -> dict[int, tuple[str, str]]:
    """Digest and name of each log that there are copies of, by its place."""
    wanted = set(index.first_of.values())
    if not wanted:
        return {}
    found = (document for _, document in documents())
    return {place: (one["sha256"], one["file"]) for place, one in enumerate(found) if place in wanted}


def _context(document: Json, place: int, index: Index, firsts: dict[int, tuple[str, str]]) -> RowContext:
    rows = max(1, len(document["approaches"]) + len(document["holds"]))
    original = None
    if place in index.first_of:
        digest, file = firsts.get(index.first_of[place], ("", ""))
        original = file if digest == document["sha256"] else None
    return RowContext(
        entry=index.matches.by_place.get(place) if index.matches is not None else None,
        duplicate_of=original,
        attempts=index.attempts.get(place, (None,) * rows),
        page=None,
    )


def _links(document: Json) -> tuple[str | None, str | None]:
    """The page and the sheet of a log below the output, where it has them."""
    file, start = document["file"], document["start"]
    page = quote(page_name(file, start), errors="surrogateescape") if document["page"] else None
    return page, quote(sheet_names(file, start)[0], errors="surrogateescape") if document["sheet"] else None
