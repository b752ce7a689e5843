"""From the rows that are kept to what people read: the table as CSV and Parquet, the class page, and the tally of all rows."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from contextlib import ExitStack
from dataclasses import dataclass
from typing import Any
from urllib.parse import quote

from analyzer.errors import GradeError
from analyzer.grade.folder import Folder
from analyzer.grade.index import Index, index_of
from analyzer.grade.keep import kept_documents, page_name
from analyzer.grade.roster import Roster
from analyzer.grade.settings import Settings
from analyzer.grade.table import RowContext, rows_of
from analyzer.grade.tables import CsvTable, parquet_part, parquet_schema
from analyzer.grade.tally import Tally

__all__ = ["FORMATS", "Published", "check_formats", "publish"]

FORMATS = ("csv", "html", "parquet")
_CSV, _PAGE, _PARQUET, _PAGES = "grades.csv", "class.html", "grades.parquet", "pages"
Json = dict[str, Any]


@dataclass(frozen=True, eq=False)
class Published:
    """What was made of all rows, and the files and folders that were written, in order."""

    tally: Tally
    index: Index
    files: tuple[str, ...]


def check_formats(formats: Sequence[str]) -> tuple[str, ...]:
    """The formats to write, in their order.

    Raises
    ------
    GradeError
        One is none, or needs a package that is missing.
    """
    for name in formats:
        if name not in FORMATS:
            raise GradeError(f"--format {name}: not a format of a class; choose from {', '.join(FORMATS)}")
    if "parquet" in formats:
        parquet_schema()
    return tuple(name for name in FORMATS if name in formats)


def publish(folder: Folder, settings: Settings, roster: Roster | None, formats: Sequence[str]) -> Published:
    """Write the tables and the class page from the rows in a folder. Raises `GradeError`."""
    index = index_of((document for _, documents in kept_documents(folder) for document in documents), roster)
    tally, files = Tally(), []
    with ExitStack() as stack:
        table = None
        if "csv" in formats:
            table = CsvTable(stack.enter_context(folder.writing(_CSV)))
            files.append(_CSV)
        part = _parquet_writer(folder) if "parquet" in formats else None
        for name, rows in _parts(folder, index):
            for row, approach in rows:
                tally.add(row, approach)
                if table is not None:
                    table.add(row)
            if part is not None:
                part(name, [row for row, _ in rows])
        if table is not None:
            table.end()
    if part is not None:
        files.append(_PARQUET)
    if "html" in formats:
        from analyzer.grade.class_page import class_page  # draws: loaded for a page only

        folder.write(_PAGE, class_page(tally, index, settings, roster).encode())
        files.insert(0, _PAGE)
    if settings.pages:
        files.append(_PAGES)
    return Published(tally, index, tuple(files))


def _parquet_writer(folder: Folder) -> Callable[[str, Sequence[Json]], None]:
    """What writes a part of the rows; those of an earlier run that had more parts are taken away first."""
    schema = parquet_schema()
    for name in folder.names(_PARQUET):
        folder.delete(name)

    def write(part: str, rows: Sequence[Json]) -> None:
        stem = part.rpartition("/")[2].removesuffix(".jsonl")
        folder.write(f"{_PARQUET}/{stem}.parquet", parquet_part(schema, rows))

    return write


def _parts(folder: Folder, index: Index) -> Iterator[tuple[str, list[tuple[Json, Json]]]]:
    """The rows part by part, each with its piece of the log's document."""
    firsts = dict.fromkeys(index.first_of.values(), ("", ""))
    place = 0
    for name, documents in kept_documents(folder):
        rows: list[tuple[Json, Json]] = []
        for document in documents:
            if place in firsts:
                firsts[place] = document["sha256"], document["file"]
            rows += rows_of(document, _context(document, place, index, firsts))
            place += 1
        yield name, rows
    if place != index.logs:
        raise GradeError(f"{folder.place}: the rows changed while they were read; run one grading at a time there")


def _context(document: Json, place: int, index: Index, firsts: dict[int, tuple[str, str]]) -> RowContext:
    approaches = max(1, len(document["approaches"]))
    original = None
    if place in index.first_of:
        digest, file = firsts[index.first_of[place]]
        original = file if digest == document["sha256"] else None
    return RowContext(
        entry=index.matches.by_place.get(place) if index.matches is not None else None,
        duplicate_of=original,
        attempts=index.attempts.get(place, (None,) * approaches)[:approaches],
        page=quote(page_name(document["file"]), errors="surrogateescape") if document["page"] else None,
    )
