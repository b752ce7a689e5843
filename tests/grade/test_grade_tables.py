"""The table as CSV and Parquet: read back by others, the same values in both, types as stated."""

import csv
import datetime as dt
import sys

import pytest

from analyzer.errors import GradeError
from analyzer.grade.publish import check_formats
from analyzer.gradebook.rows import COLUMNS, FIGURES

duckdb = pytest.importorskip("duckdb")
pd = pytest.importorskip("pandas")
pytest.importorskip("pyarrow")


@pytest.fixture(scope="module")
def written(mixed_graded):
    with (mixed_graded[1] / "grades.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def test_columns_are_as_stated(written):
    assert list(written[0]) == [column.name for column in COLUMNS]
    assert len(set(written[0])) == len(COLUMNS)
    assert set(FIGURES) <= set(written[0])


def test_pandas_reads_the_parquet_as_the_csv_says(mixed_graded, written):
    table = pd.read_parquet(mixed_graded[1] / "grades.parquet")
    assert list(table.columns) == [column.name for column in COLUMNS]
    assert len(table) == len(written)
    for column in COLUMNS:
        for value, text in zip(table[column.name], (row[column.name] for row in written), strict=True):
            if pd.isna(value):
                assert text == ""
            elif column.type == "time":
                assert value == pd.Timestamp(text)
            elif column.type in ("number", "integer"):
                assert value == float(text)
            elif column.type == "date":
                assert value == dt.date.fromisoformat(text)
            else:
                assert value == text.removeprefix("'")


def test_duckdb_counts_on_the_parquet(mixed_graded, written):
    parts = mixed_graded[1] / "grades.parquet" / "*.parquet"
    table = duckdb.read_parquet(str(parts))
    found = {row[0]: row[1:] for row in table.aggregate("status, count(*), avg(mark_percent)").fetchall()}
    assert {status: count for status, (count, _) in found.items()} == {
        status: sum(row["status"] == status for row in written) for status in {row["status"] for row in written}
    }
    marks = [float(row["mark_percent"]) for row in written if row["status"] == "graded"]
    assert found["graded"][1] == pytest.approx(sum(marks) / len(marks))
    assert str(table.select("start").types[0]) == "TIMESTAMP WITH TIME ZONE"


def test_a_format_that_is_none_is_refused():
    with pytest.raises(GradeError, match="--format pdf: not a format of a class; choose from csv, html, parquet"):
        check_formats(("csv", "pdf"))


def test_without_pyarrow_the_extra_is_named(monkeypatch):
    monkeypatch.setitem(sys.modules, "pyarrow", None)
    with pytest.raises(GradeError, match="install approach-analyzer with the extra parquet"):
        check_formats(("parquet",))
