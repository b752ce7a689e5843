"""A folder with everything in it: a row for every log whatever is wrong with it, the same bytes from any number of workers."""

import csv
import json
from pathlib import Path

import pytest
from class_logs import LARGEST_BYTES, content, csv_text, write_class, write_procedure

import analyzer
from analyzer.grade.grading import grade
from analyzer.grade.worker_pool import local_pool
from analyzer.gradebook.settings import read_settings
from analyzer.report.words.class_words import why_short

REASONS = {
    "torn.csv": "not read",
    "noise.csv.gz": "not read",
    "empty.csv": "not read",
    "huge.csv": "not read",
    "folder.csv": "not read",
    "short.csv": "not graded",
    "elsewhere.csv": "no approach",
}


def rows_of(folder: Path) -> dict[str, dict[str, str]]:
    with (folder / "details.csv").open(encoding="utf-8", newline="") as file:
        return {row["file"]: row for row in csv.DictReader(file)}


@pytest.fixture(scope="module")
def rows(mixed_graded):
    return rows_of(mixed_graded[1])


def test_every_log_has_a_row_in_order_and_nothing_else_has(mixed, rows):
    names = sorted(path.name for path in (mixed / "logs").iterdir() if not path.name.startswith(".") and path.suffix != ".md")
    assert [name.lstrip("'") for name in rows] == names


@pytest.mark.parametrize("name", REASONS)
def test_a_bad_log_is_a_row_with_its_reason(mixed, rows, name):
    row = rows[name]
    assert row["status"] == REASONS[name]
    assert row["reason"]
    assert str(mixed) not in row["reason"]
    assert row["verdict"] == row["mark_percent"] == ""


def test_reasons_name_the_matter(rows):
    assert rows["empty.csv"]["reason"] == "the file is empty: export the log again"
    assert rows["huge.csv"]["reason"] == "1.2 MB, more than the 1 MB that --largest allows"
    assert rows["folder.csv"]["reason"].startswith("a folder, not a log")
    assert "damaged gzip file" in rows["noise.csv.gz"]["reason"]
    assert rows["elsewhere.csv"]["reason"].startswith("the flight comes no closer to ")


def test_copies_are_recognised_and_not_counted_twice(mixed_graded, rows):
    """``good.csv`` is its pilot's by the roster; ``again.csv``, though it comes before it, and ``third.csv`` are copies."""
    assert rows["good.csv"]["status"] == "graded"
    for name in ("again.csv", "third.csv"):
        assert (rows[name]["status"], rows[name]["duplicate_of"]) == ("duplicate", "good.csv")
        assert rows[name]["mark_percent"] == rows["good.csv"]["mark_percent"]
        assert "the same log as good.csv" in rows[name]["remark"]
    shown = {listed.row["file"]: why_short(listed.row) for listed in mixed_graded[0].published.tally.worst()}
    assert shown["again.csv"] == shown["third.csv"] == "the same log as good.csv"  # in every list, not in the tables alone
    assert mixed_graded[0].published.tally.statuses["duplicate"] == 2
    assert sum(mixed_graded[0].published.tally.verdicts.values()) == 3


@pytest.mark.parametrize(
    ("name", "shown"), [("again.csv", "again.csv"), ("=cmd().csv", "'=cmd().csv"), ("far.csv.gz", "far.csv.gz")]
)
def test_a_row_says_what_a_debrief_says(mixed, rows, name, shown):
    debrief = analyzer.debrief(
        analyzer.read_track(mixed / "logs" / name), analyzer.read_procedure(mixed / "quorl.toml")
    ).to_dict()
    (told,), row = debrief["reversals"], rows[shown]
    assert (row["flown"], row["verdict"], row["verdict_sentence"]) == (
        told["flown"], told["overall"]["verdict"], told["overall"]["sentence"],
    )  # fmt: skip
    for column, value in (
        *told["figures"].items(),
        *((f"farthest_{key}", value) for key, value in told["farthest"].items()),
        *((f"wind_{key}", value) for key, value in (told["wind"] or {}).items()),
    ):
        assert row[column] == ("" if value is None else str(value)), column
    by_check = {}
    for finding in told["findings"]:
        by_check.setdefault(finding["check"], []).append(finding)
    order = ["outside", "too close to call", "not assessed", "inside"]
    for check, findings in by_check.items():
        worst = min(order.index(finding["verdict"]) for finding in findings)
        assert row[f"{check}_verdict"] == order[worst]
        alike = [finding for finding in findings if finding["verdict"] == order[worst]]
        assert row[f"{check}_measured"] in {"" if f["measured"] is None else str(f["measured"]) for f in alike}
        margins = [finding["margin"] for finding in alike if finding["margin"] is not None]
        assert row[f"{check}_margin"] == (str(min(margins)) if margins else "")


def test_the_mark_of_a_row_is_the_sum_of_its_parts(mixed_graded, rows):
    row = rows["far.csv.gz"]
    parts = {name: float(value) for name, value in row.items() if value and name.endswith("_mark_earned")}
    possible = {name: float(value) for name, value in row.items() if value and name.endswith("_mark_possible")}
    assert float(row["mark_earned"]) == pytest.approx(sum(parts.values()), abs=0.05)
    assert float(row["mark_possible"]) == pytest.approx(sum(possible.values()), abs=0.05)
    assert row["mark_failed_outright"] == "distance_limit"
    assert float(row["mark_percent"]) == 0.0
    (document,) = (
        json.loads(line)
        for path in (mixed_graded[1] / "rows").iterdir()
        for line in path.read_text().splitlines()
        if '"far.csv.gz"' in line
    )
    checks = document["approaches"][0]["checks"]
    assert sum(check["earned"] for check in checks.values()) == pytest.approx(
        document["approaches"][0]["mark"]["earned"], abs=0.05
    )


def test_the_roster_gives_pilot_date_and_attempt(mixed_graded, rows):
    assert (rows["far.csv.gz"]["pilot"], rows["far.csv.gz"]["date"]) == ("Bo Wendle", "2026-06-03")
    assert "the roster says 2026-06-03, the log begins on 2026-06-01 UTC" in rows["far.csv.gz"]["remark"]
    assert rows["far.csv.gz"]["attempt"] == "1"
    assert rows["again.csv"]["pilot"] == ""
    assert rows["again.csv"]["date"] == "2026-06-01"  # the log's own
    assert rows["'=cmd().csv"]["pilot"] == "'=Dee"
    matches = mixed_graded[0].published.index.matches
    assert [entry.file for entry in matches.without_log] == ["lost.csv"]


def test_the_bytes_are_the_same_from_two_workers(mixed, mixed_graded):
    settings = read_settings(mixed / "quorl.toml", largest_bytes=LARGEST_BYTES)
    with local_pool(1) as pool:
        grade(str(mixed / "logs"), settings, pool, str(mixed / "one"), formats=("csv", "html", "parquet"))
    with local_pool(2) as pool:
        grade(str(mixed / "logs"), settings, pool, str(mixed / "two"), formats=("csv", "html", "parquet"))
    assert content(mixed / "one") == content(mixed / "two")


def test_parts_and_chunks_do_not_show(tmp_path, monkeypatch):
    """Parts of seven logs, from one worker and from two, hold the rows in order of the names."""
    monkeypatch.setattr("analyzer.grade.kept_rows.PART_LOGS", 7)
    logs = write_class(tmp_path / "logs", 24)
    settings = read_settings(write_procedure(tmp_path / "quorl.toml"))
    for workers in (1, 2):
        with local_pool(workers) as pool:
            grade(str(logs), settings, pool, str(tmp_path / str(workers)), formats=("csv",))
    made = content(tmp_path / "1")
    assert made == content(tmp_path / "2")
    assert [name for name in made if name.startswith("rows/")] == [f"rows/part-{k:05d}.jsonl" for k in range(4)]
    files = [json.loads(line)["file"] for k in range(4) for line in made[f"rows/part-{k:05d}.jsonl"].splitlines()]
    assert files == sorted(files)
    assert len(files) == 24


def test_pages_are_written_and_named(tmp_path):
    folder = tmp_path / "logs" / "deep"
    folder.mkdir(parents=True)
    (folder / "=cmd().csv").write_text(csv_text("far"), encoding="utf-8")
    (folder / "empty.csv").write_text("", encoding="utf-8")
    settings = read_settings(write_procedure(tmp_path / "quorl.toml"), pages=True)
    with local_pool(1) as pool:
        grade(str(tmp_path / "logs"), settings, pool, str(tmp_path / "out"))
    assert [path.name for path in (tmp_path / "out" / "pages" / "deep").iterdir()] == ["2026-06-01-1000-=cmd().html"]
    rows = rows_of(tmp_path / "out")
    assert rows["deep/=cmd().csv"]["page"] == "pages/deep/2026-06-01-1000-%3Dcmd%28%29.html"
    assert rows["deep/empty.csv"]["page"] == ""
    assert 'href="pages/deep/2026-06-01-1000-%3Dcmd%28%29.html"' in (tmp_path / "out" / "class.html").read_text(
        encoding="utf-8"
    )
    page = (tmp_path / "out" / "pages" / "deep" / "2026-06-01-1000-=cmd().html").read_text(encoding="utf-8")
    assert "deep/=cmd().csv" in page
    assert page.count("<svg") >= 2
