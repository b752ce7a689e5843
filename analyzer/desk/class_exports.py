"""What can be downloaded of a class: its tables, a student's sheet, and all sheets at once, as they stand now."""

from __future__ import annotations

import io
import zipfile
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

from analyzer.desk.class_files import ClassFiles
from analyzer.desk.class_flight import task_of
from analyzer.desk.class_graded import graded_class
from analyzer.desk.class_words import in_class
from analyzer.desk.store import Store
from analyzer.errors import DeskError
from analyzer.grade.kept_rows import sheet_names
from analyzer.grade.one_log import grade_some
from analyzer.grade.output_folder import Folder
from analyzer.grade.publish import one_table
from analyzer.gradebook.rows import Json

__all__ = ["TABLES", "all_sheets", "class_table", "one_sheet"]

TABLES = ("grades.csv", "details.csv", "grades.xlsx")
_EARLIEST = (1980, 1, 1, 0, 0, 0)  # of a file in an archive, the same each time


def class_table(folder: str, name: str, table: str) -> bytes:
    """A table of a class. Raises `AnalyzerError`."""
    graded, _ = graded_class(ClassFiles(Store(Path(folder)), name))
    if table not in TABLES:
        raise DeskError(f"a table of a class is one of {', '.join(TABLES)}")
    if not graded.documents:
        raise DeskError(f"{name}: nothing is graded yet")
    made = io.BytesIO()
    one_table(table, made, _worded(graded.rows()))
    return made.getvalue()


def _worded(rows: Iterator[tuple[str, Json, Json]]) -> Iterator[tuple[str, Json, Json]]:
    """The rows with what grading says of each in the words of the pages, not what was typed about it."""
    for part, row, approach in rows:
        said = {name: in_class(row[name]) for name in ("reason", "doubts") if row[name]}
        reasons = [in_class(reason) for reason in approach.get("reasons", ())]
        yield part, {**row, **said}, {**approach, "reasons": reasons}


def one_sheet(folder: str, name: str, log: str) -> tuple[str, bytes, bytes]:
    """The sheet of a log's student, made now: the stem of its name, page, and PDF. Raises `AnalyzerError`."""
    files = ClassFiles(Store(Path(folder)), name)
    graded, _ = graded_class(files)
    (done,) = grade_some(replace(graded.settings, sheets=files.card().paper), (task_of(graded, log),))
    if len(done.files) != 2:
        raise DeskError(f"{log}: cannot be read or fits no chart, so there is no sheet of it; its page says why")
    (page, html), (_, pdf) = done.files
    return page.rpartition("/")[2].removesuffix(".html"), html, pdf


def all_sheets(folder: str, name: str) -> bytes:
    """All sheets that were made, page and PDF, in a ZIP archive. Raises `AnalyzerError`."""
    graded, _ = graded_class(ClassFiles(Store(Path(folder)), name))
    made, to_make = graded.sheets()
    if not made or to_make:
        raise DeskError(f"{name}: not all sheets are made as they are to be now; press “Make all sheets” first")
    names = [sheet for one in graded.documents if one["sheet"] for sheet in sheet_names(one["file"], one["start"])]
    archive = io.BytesIO()
    with zipfile.ZipFile(archive, "w", zipfile.ZIP_DEFLATED) as file:
        for sheet, content in _contents(graded.files.graded(), names):
            file.writestr(zipfile.ZipInfo(sheet.removeprefix("sheets/"), _EARLIEST), content, zipfile.ZIP_DEFLATED)
    return archive.getvalue()


def _contents(folder: Folder, names: list[str]) -> Iterator[tuple[str, bytes]]:
    return ((name, folder.read(name)) for name in names if folder.exists(name))
