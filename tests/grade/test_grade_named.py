"""What the roster names as flown: judged from there, said in every output, and judged anew where the roster changes."""

import csv
import json

import pytest
from class_logs import csv_text, write_procedure
from printed import read_pdf

from analyzer.grade.grading import grade
from analyzer.grade.worker_pool import local_pool
from analyzer.gradebook.roster import read_roster
from analyzer.gradebook.settings import read_settings
from analyzer.report.words.class_text import class_text

ROSTER = "file,pilot,flown as\ngood,Ada,{good}\nother,Bo,{other}\nfar,Cy,\n"


def run(folder, good="", other="", **given):
    """Grade the folder's logs with what the roster names as flown in two of them; what is printed, and how many were graded."""
    (folder / "roster.csv").write_text(ROSTER.format(good=good, other=other), encoding="utf-8")
    settings, roster = read_settings(**{"procedure": folder / "quorl.toml", **given}), read_roster(folder / "roster.csv")
    with local_pool(1) as pool:
        made = grade(str(folder / "logs"), settings, pool, str(folder / "out"), roster)
    return class_text(made.published.tally, made.published.index, settings, roster, 160), made.graded_anew


def rows(folder, name="details.csv"):
    with (folder / "out" / name).open(encoding="utf-8-sig", newline="") as file:
        return {row["pilot" if name == "details.csv" else "name"]: row for row in csv.DictReader(file)}


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    """Three flights of a 45/180, one of them named as a teardrop and one as what it is."""
    folder = tmp_path_factory.mktemp("named")
    (folder / "logs").mkdir()
    for name in ("good", "other", "far"):
        (folder / "logs" / f"{name}.csv").write_text(csv_text(name), encoding="utf-8")
    write_procedure(folder / "quorl.toml")
    (folder / "said.txt").write_text(run(folder, "teardrop", "45/180", sheets="a4", pages=True)[0], encoding="utf-8")
    return folder


def test_tables_and_page_say_what_was_named(folder):
    named = rows(folder)
    assert {pilot: (row["flown"], row["named"]) for pilot, row in named.items()} == {
        "Ada": ("base-turn", "not recognised"), "Bo": ("45/180", "recognised"), "Cy": ("45/180", ""),
    }  # fmt: skip
    note = "flown as base-turn: named, not recognised; recognition by itself takes it for 45/180"
    assert note in rows(folder, "grades.csv")["Ada"]["note"]
    page = (folder / "out" / "class.html").read_text(encoding="utf-8")
    assert note in page
    assert "flown as 45/180: named, and recognised too" in page
    said = "1 row is judged by what roster.csv names as flown, which recognition by itself does not find; it cannot be a pass."
    assert said in page
    assert said in " ".join((folder / "said.txt").read_text(encoding="utf-8").split())


def test_what_is_only_named_has_no_mark(folder):
    """It cannot be a pass, as in a single debrief."""
    ada, bo = rows(folder)["Ada"], rows(folder)["Bo"]
    assert ada["verdict"] == "not assessed"
    assert ada["mark_percent"] == ""
    assert float(bo["mark_percent"]) > 0.0


def test_sheet_and_page_of_the_flight_say_it(folder):
    (sheet,) = (folder / "out" / "sheets").glob("*good.html")
    (page,) = (folder / "out" / "pages").glob("*good.html")
    (pdf,) = (folder / "out" / "sheets").glob("*good.pdf")
    for text in (sheet.read_text(encoding="utf-8"), page.read_text(encoding="utf-8"), read_pdf(pdf.read_bytes()).text):
        words = " ".join(text.split())
        assert "Named, not recognised" in words
        assert "Recognition by itself takes it for 45/180" in words
    (other,) = (folder / "out" / "sheets").glob("*far.html")
    assert "Named" not in other.read_text(encoding="utf-8")


def test_only_a_log_whose_entry_changes_is_graded_again(folder):
    again = {"sheets": "a4", "pages": True}
    assert run(folder, "teardrop", "45/180", **again)[1] == 0
    assert run(folder, "", "45/180", **again)[1] == 1
    assert rows(folder)["Ada"]["named"] == ""
    assert run(folder, "teardrop", "45/180", **again)[1] == 1


def test_what_cannot_have_been_flown_is_a_row_with_the_reason(folder):
    run(folder, "03:00=teardrop", "loop")
    ada, bo = rows(folder)["Ada"], rows(folder)["Bo"]
    assert (ada["status"], bo["status"]) == ("not graded", "not graded")
    assert "give a time in it" in ada["reason"]
    assert "loop is neither a time like 15:41:30 nor a shape" in bo["reason"]
    run(folder, "teardrop", "45/180", sheets="a4", pages=True)


def test_a_class_of_several_procedures_is_judged_as_named_too(folder):
    (folder / "procedures").mkdir(exist_ok=True)
    write_procedure(folder / "procedures" / "quorl.toml")
    run(folder, "teardrop", "03:00=hold", procedure=None, procedures=folder / "procedures")
    ada, bo = rows(folder)["Ada"], rows(folder)["Bo"]
    assert (ada["procedure"], ada["flown"], ada["named"]) == ("quorl", "base-turn", "not recognised")
    assert bo["status"] == "not graded"
    assert "give a time in it" in bo["reason"]
    run(folder, "teardrop", "45/180", sheets="a4", pages=True)


def test_the_rows_keep_what_was_named(folder):
    lines = (folder / "out" / "rows" / "part-00000.jsonl").read_text(encoding="utf-8").splitlines()
    assert {document["file"]: document["flown_as"] for document in map(json.loads, lines)} == {
        "far.csv": [], "good.csv": ["teardrop"], "other.csv": ["45/180"],
    }  # fmt: skip
