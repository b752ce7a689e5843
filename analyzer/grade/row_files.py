"""Rows written as CSV (RFC 4180) row by row, and as Parquet part by part, in bounded memory.

In CSV, text that a spreadsheet would take for a formula gets an apostrophe before it, and unknown values are left empty.
Parquet needs the extra ``parquet``.
"""

from __future__ import annotations

import csv
import datetime as dt
import io
from collections.abc import Mapping, Sequence
from typing import IO, TYPE_CHECKING, Any

from analyzer.errors import GradeError
from analyzer.gradebook.rows import COLUMNS, DATE, INTEGER, NUMBER, TEXT, TIME, Column
from analyzer.safe_text import no_formula

if TYPE_CHECKING:
    import pyarrow as pa

__all__ = ["CsvTable", "parquet_part", "parquet_schema"]

Row = Mapping[str, Any]


class CsvTable:
    """A CSV table written to a binary file."""

    def __init__(self, file: IO[bytes], columns: Sequence[Column]) -> None:
        self._names = tuple(column.name for column in columns)
        self._text = io.TextIOWrapper(file, encoding="utf-8", newline="", write_through=False)
        self._writer = csv.writer(self._text)
        self._writer.writerow(self._names)

    def add(self, row: Row) -> None:
        """Write a row."""
        self._writer.writerow([_cell(row[name]) for name in self._names])

    def end(self) -> None:
        """Flush the buffer; the file stays open."""
        self._text.flush()
        self._text.detach()


def _cell(value: Any) -> Any:
    return no_formula(value) if isinstance(value, str) else value


def parquet_schema() -> pa.Schema:
    """The Parquet schema of the columns.

    Raises
    ------
    GradeError
        The package `pyarrow` is missing.
    """
    try:
        import pyarrow as pa
    except ImportError as error:
        raise GradeError(
            "--format parquet needs pyarrow: install approach-analyzer with the extra parquet, or leave the format out"
        ) from error
    types = {TEXT: pa.string(), NUMBER: pa.float64(), INTEGER: pa.int32(), TIME: pa.timestamp("ms", "UTC"), DATE: pa.date32()}
    return pa.schema([(column.name, types[column.type]) for column in COLUMNS])


def parquet_part(schema: pa.Schema, rows: Sequence[Row]) -> bytes:
    """Rows as a Parquet file. Equal rows give equal bytes."""
    import pyarrow as pa
    import pyarrow.parquet as pq

    columns = [[_typed(row[column.name], column.type) for row in rows] for column in COLUMNS]
    table = pa.table([pa.array(values, type=field.type) for values, field in zip(columns, schema, strict=True)], schema=schema)
    content = io.BytesIO()
    pq.write_table(table, content, compression="zstd")
    return content.getvalue()


def _typed(value: Any, kind: str) -> Any:
    if value is None:
        return None
    if kind == TIME:
        return dt.datetime.fromisoformat(value)
    return dt.date.fromisoformat(value) if kind == DATE else value
