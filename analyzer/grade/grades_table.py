"""The table for instructors: the student, the result, the mark, and the reasons in sentences."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from analyzer.gradebook.rows import DATE, NUMBER, TEXT, Column
from analyzer.report.words.class_words import mark_words, procedure_words, result_words, row_name, why_words

__all__ = ["GRADES", "grades_row"]

Row = Mapping[str, Any]
GRADES: tuple[Column, ...] = (
    *(Column(name, TEXT) for name in ("name", "log")),
    Column("date", DATE),
    *(Column(name, TEXT) for name in ("aircraft", "procedure", "result")),
    Column("mark_percent", NUMBER),
    *(Column(name, TEXT) for name in ("mark", "reasons", "note", "excused", "instructor_remark")),
)


def grades_row(row: Row, reasons: Sequence[str]) -> dict[str, Any]:
    """A row of the table. `reasons` are the sentences of the findings that decide the result."""
    return {
        "name": row["pilot"],
        "log": row_name(row),
        "date": row["date"],
        "aircraft": row["aircraft"],
        "procedure": procedure_words(row) or None,
        "result": result_words(row),
        "mark_percent": row["mark_percent"],
        "mark": mark_words(row) or None,
        "reasons": " ".join(reasons) or why_words(row) or None,
        "note": row["remark"],
        "excused": row["excused"],
        "instructor_remark": row["instructor_remark"],
    }
