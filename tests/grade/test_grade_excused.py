"""Excuses in a class: the mark without the finding, shown in tables, page and sheet, and a log graded anew when they change."""

import csv
import re

import pytest
from class_logs import csv_text, write_procedure
from printed import read_pdf

from analyzer.checks.excuse import Excuse
from analyzer.grade.grading import Class, grade
from analyzer.grade.worker_pool import local_pool
from analyzer.gradebook.roster import read_roster
from analyzer.gradebook.settings import read_settings
from analyzer.report.words.class_text import class_text

FAR = Excuse("distance_limit", "cleared to 12 NM", "B. Instructor", flight="logs/far.csv")
SHORT = "distance limit: cleared to 12 NM (B. Instructor)"
LOST = Excuse("turn_bank", "gusts", "B. Instructor", flight="lost.csv")
TWICE = Excuse("turn_bank", "gusts", "B. Instructor", flight="same.csv")
IDLE = Excuse("turn_bank", "gusts", "B. Instructor", flight="good.csv")


@pytest.fixture
def folder(tmp_path):
    for place in ("logs", "logs/a", "logs/b"):
        (tmp_path / "class" / place).mkdir(parents=True)
    for name, kind in (("logs/far", "far"), ("good", "good"), ("logs/a/same", "good"), ("logs/b/same", "good")):
        (tmp_path / "class" / f"{name}.csv").write_text(csv_text(kind), encoding="utf-8")
    (tmp_path / "roster.csv").write_text("file,pilot\nfar.csv,Cy Tarn\n", encoding="utf-8")
    write_procedure(tmp_path / "quorl.toml")
    return tmp_path


def run(folder, *excuses) -> tuple[Class, dict[str, dict[str, str]], str]:
    settings = read_settings(folder / "quorl.toml", sheets="a4")
    roster = read_roster(folder / "roster.csv")
    with local_pool(1) as pool:
        made = grade(str(folder / "class"), settings, pool, str(folder / "out"), roster, excuses=excuses)
    with (folder / "out" / "details.csv").open(encoding="utf-8", newline="") as file:
        rows = {row["file"]: row for row in csv.DictReader(file)}
    return made, rows, class_text(made.published.tally, made.published.index, settings, roster)


def test_a_class_with_excuses(folder):
    _, before, _ = run(folder)
    made, rows, text = run(folder, FAR, LOST, TWICE, IDLE)
    assert made.graded_anew == 2  # the two logs that the excuses are for, and no other
    far, was = rows["logs/far.csv"], before["logs/far.csv"]
    assert (was["verdict"], was["distance_limit_verdict"]) == ("outside", "outside")
    assert (far["verdict"], far["distance_limit_verdict"], far["excused"]) == ("inside", "not assessed", SHORT)
    assert far["mark_percent"] == "100.0"  # all else that counts is inside
    assert float(far["mark_possible"]) == float(was["mark_possible"]) - float(was["distance_limit_mark_possible"])
    assert "excuse not used: turn bank, excused by B. Instructor: gusts." in rows["good.csv"]["remark"]

    said = " ".join(text.split())
    assert f"excused: {SHORT}" in said
    assert "used for none: lost.csv (turn bank), same.csv (turn bank)." in said
    page = (folder / "out" / "class.html").read_text(encoding="utf-8")
    assert re.search(r"<s[^>]*>Farthest from [^<]* beyond the limit[^<]*</s> Excused by B. Instructor: cleared to 12 NM.", page)
    with (folder / "out" / "grades.csv").open(encoding="utf-8-sig", newline="") as file:
        assert {row["log"]: row["excused"] for row in csv.DictReader(file)}["logs/far.csv"] == SHORT

    sheets = sorted((folder / "out" / "sheets" / "logs").glob("*far.*"))
    sheet, pdf = sheets[0].read_text(encoding="utf-8"), read_pdf(sheets[1].read_bytes()).text
    assert re.search(r"<s>Farthest from [^<]* beyond the limit[^<]*</s>", sheet)
    # what is excused is said with its reason, and is not among what nothing was clear about
    assert not re.search(r"nothing was clearly inside or outside:[^.]*distance limit", sheet)
    for text in (sheet, pdf):
        assert "Excused by B. Instructor: cleared to 12 NM. It is outside, and counts neither way." in text


def test_taken_back_it_is_as_before_and_nothing_else_is_graded_again(folder):
    _, before, _ = run(folder)
    run(folder, FAR)
    made, after, _ = run(folder)
    assert (made.graded_anew, after) == (1, before)
