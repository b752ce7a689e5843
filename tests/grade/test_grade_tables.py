"""The tables as CSV, Parquet and a workbook: read back by others, the same values in both, types as stated."""

import csv
import datetime as dt
import io
import sys

import pytest
from class_logs import LARGEST_BYTES

from analyzer.errors import GradeError
from analyzer.grade.grades_table import GRADES
from analyzer.grade.grading import grade
from analyzer.grade.publish import check_formats
from analyzer.grade.workbook import Workbook
from analyzer.grade.worker_pool import local_pool
from analyzer.gradebook.roster import read_roster
from analyzer.gradebook.rows import COLUMNS, FIGURES
from analyzer.gradebook.settings import read_settings

duckdb = pytest.importorskip("duckdb")
pd = pytest.importorskip("pandas")
openpyxl = pytest.importorskip("openpyxl")
pytest.importorskip("pyarrow")
pytest.importorskip("xlsxwriter")


@pytest.fixture(scope="module")
def written(mixed_graded):
    with (mixed_graded[1] / "details.csv").open(encoding="utf-8", newline="") as file:
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


@pytest.fixture(scope="module")
def workbook(mixed, tmp_path_factory):
    """The class with a roster as a workbook, read by another library, and as CSV; graded twice."""
    folders = [tmp_path_factory.mktemp("xlsx") for _ in range(2)]
    settings = read_settings(mixed / "quorl.toml", largest_bytes=LARGEST_BYTES)
    for folder in folders:
        with local_pool(1) as pool:
            grade(str(mixed / "logs"), settings, pool, str(folder), read_roster(mixed / "roster.csv"), ("csv", "xlsx"))
    assert (folders[0] / "grades.xlsx").read_bytes() == (folders[1] / "grades.xlsx").read_bytes()
    return openpyxl.load_workbook(folders[0] / "grades.xlsx"), folders[0]


@pytest.mark.parametrize(("sheet", "columns", "name"), [("grades", GRADES, "grades.csv"), ("details", COLUMNS, "details.csv")])
def test_the_workbook_says_what_the_csv_says(workbook, sheet, columns, name):
    book, folder = workbook
    assert book.sheetnames == ["grades", "details"]
    cells = list(book[sheet].iter_rows())
    with (folder / name).open(encoding="utf-8", newline="") as file:
        written = list(csv.DictReader(file))
    assert [cell.value for cell in cells[0]] == [column.name for column in columns] == list(written[0])
    assert len(cells) == len(written) + 1
    for row, texts in zip(cells[1:], written, strict=True):
        for cell, column in zip(row, columns, strict=True):
            text = texts[column.name]
            if cell.value is None:
                assert text == ""
            elif column.type in ("number", "integer"):
                assert cell.data_type == "n"
                assert cell.value == float(text)
            elif column.type == "date":
                assert cell.value.date() == dt.date.fromisoformat(text)
            elif column.type == "time":
                assert abs(cell.value.replace(tzinfo=dt.UTC) - dt.datetime.fromisoformat(text)) < dt.timedelta(milliseconds=2)
            else:
                assert cell.data_type in ("s", "inlineStr")  # never a formula
                assert cell.value == text.removeprefix("'")


def test_the_header_stays_in_sight_and_filters(workbook):
    for sheet, frozen in (("grades", "B2"), ("details", "C2")):
        page = workbook[0][sheet]
        assert page.freeze_panes == frozen
        assert page.auto_filter.ref == f"A1:{page.cell(page.max_row, page.max_column).coordinate}"


def test_the_table_of_grades_is_what_a_teacher_asks_first(workbook):
    with (workbook[1] / "grades.csv").open(encoding="utf-8", newline="") as file:
        rows = {row["log"]: row for row in csv.DictReader(file)}
    far = rows["far.csv.gz"]
    assert list(far)[:2] == ["name", "log"]
    assert len(far) == 12  # with what an instructor excused
    assert (far["name"], far["result"], far["mark_percent"]) == ("Bo Wendle", "Outside", "0.0")
    assert far["reasons"].startswith("Farthest from QRL: ")
    assert far["mark"].startswith("0%: the distance limit fails the approach.")
    assert rows["elsewhere.csv"]["name"] == "Bo Wendle"  # though there is no approach in it
    assert rows["elsewhere.csv"]["result"] == "No approach"
    assert rows["empty.csv"]["reasons"] == "the file is empty: export the log again"


def test_without_xlsxwriter_the_extra_is_named(monkeypatch):
    monkeypatch.setitem(sys.modules, "xlsxwriter", None)
    with pytest.raises(GradeError, match="install approach-analyzer with the extra xlsx"):
        check_formats(("xlsx",))


def test_a_workbook_refuses_more_rows_than_a_sheet_takes(monkeypatch):
    monkeypatch.setattr("analyzer.grade.workbook._MOST_ROWS", 3)
    book = Workbook(io.BytesIO())
    empty = dict.fromkeys(column.name for column in (*GRADES, *COLUMNS))
    for _ in range(2):
        book.add(empty, empty)
    with pytest.raises(GradeError, match="a sheet takes 2 rows"):
        book.add(empty, empty)


def test_a_format_that_is_none_is_refused():
    with pytest.raises(GradeError, match="--format pdf: not a format of a class; choose from csv, html, parquet, xlsx"):
        check_formats(("csv", "pdf"))


def test_without_pyarrow_the_extra_is_named(monkeypatch):
    monkeypatch.setitem(sys.modules, "pyarrow", None)
    with pytest.raises(GradeError, match="install approach-analyzer with the extra parquet"):
        check_formats(("parquet",))
