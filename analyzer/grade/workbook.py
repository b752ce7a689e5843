"""The tables of a class as a workbook (Office Open XML), with a sheet of grades and one of details. Needs the extra ``xlsx``.

Rows go to a temporary file as they come, so memory is bounded. Equal rows give equal bytes.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from typing import IO, Any

from analyzer.errors import GradeError
from analyzer.grade.grades_table import GRADES
from analyzer.gradebook.rows import COLUMNS, DATE, INTEGER, NUMBER, TIME, Column

__all__ = ["Workbook", "check_workbook"]

Row = Mapping[str, Any]
_MOST_ROWS = 1_048_576  # rows of a sheet, with the header: the limit of the format
_LONGEST = 32_767  # letters of a cell: the limit of the format
_CREATED = dt.datetime(2000, 1, 1)
_WIDTHS = {
    "name": 20, "log": 28, "date": 11, "aircraft": 12, "procedure": 18, "result": 18, "mark_percent": 13, "mark": 38,
    "reasons": 70, "note": 40, "instructor_remark": 40, "file": 28, "pilot": 20,
}  # fmt: skip
_WIDTH = 16  # the width of all other columns, in letters
_WRAPPED = ("mark", "reasons", "note", "instructor_remark")


def check_workbook() -> None:
    """Raise `GradeError` if the package `xlsxwriter` is missing."""
    try:
        import xlsxwriter  # noqa: F401
    except ImportError as error:
        raise GradeError(
            "--format xlsx needs XlsxWriter: install approach-analyzer with the extra xlsx, or leave the format out"
        ) from error


class Workbook:
    """Two sheets with filters and a fixed header. Numbers and dates are typed, and text is never a formula."""

    def __init__(self, file: IO[bytes]) -> None:
        import xlsxwriter

        self._book = xlsxwriter.Workbook(file, {"constant_memory": True, "default_date_format": "yyyy-mm-dd"})
        self._book.set_properties({"created": _CREATED})
        self._formats = {
            "": self._book.add_format({"valign": "top"}),
            "wrapped": self._book.add_format({"valign": "top", "text_wrap": True}),
            "header": self._book.add_format({"bold": True, "bottom": 1}),
            DATE: self._book.add_format({"valign": "top", "num_format": "yyyy-mm-dd"}),
            TIME: self._book.add_format({"valign": "top", "num_format": "yyyy-mm-dd hh:mm:ss"}),
        }
        self._rows = 0
        self._sheets = [(self._begun(name, columns, fixed), columns) for name, columns, fixed in _SHEETS]

    def _begun(self, name: str, columns: Sequence[Column], fixed: int) -> Any:
        sheet = self._book.add_worksheet(name)
        sheet.freeze_panes(1, fixed)
        for k, column in enumerate(columns):
            sheet.set_column(k, k, _WIDTHS.get(column.name, _WIDTH))
            sheet.write_string(0, k, column.name, self._formats["header"])
        return sheet

    def add(self, grade: Row, row: Row) -> None:
        """Write a row of each sheet. Raises `GradeError` if the sheet is full."""
        self._rows += 1
        if self._rows >= _MOST_ROWS:
            self._book.close()
            raise GradeError(f"--format xlsx: a sheet takes {_MOST_ROWS - 1:,} rows, and there are more; choose csv or parquet")
        for (sheet, columns), values in zip(self._sheets, (grade, row), strict=True):
            for k, column in enumerate(columns):
                if values[column.name] is not None:
                    self._write(sheet, k, column, values[column.name])

    def _write(self, sheet: Any, k: int, column: Column, value: Any) -> None:
        if column.type in (NUMBER, INTEGER):
            sheet.write_number(self._rows, k, value, self._formats[""])
        elif column.type == DATE:
            sheet.write_datetime(self._rows, k, dt.date.fromisoformat(value), self._formats[DATE])
        elif column.type == TIME:
            instant = dt.datetime.fromisoformat(value).astimezone(dt.UTC).replace(tzinfo=None)  # UTC: the format has no zone
            sheet.write_datetime(self._rows, k, instant, self._formats[TIME])
        else:
            style = self._formats["wrapped" if column.name in _WRAPPED else ""]
            sheet.write_string(self._rows, k, value[:_LONGEST], style)

    def end(self) -> None:
        """Set the filters and write the file."""
        for sheet, columns in self._sheets:
            sheet.autofilter(0, 0, self._rows, len(columns) - 1)
        self._book.close()


_SHEETS: tuple[tuple[str, tuple[Column, ...], int], ...] = (("grades", GRADES, 1), ("details", COLUMNS, 2))
