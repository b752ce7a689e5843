"""Holds and missed approaches in a class: rows of their own, marked by their own checks, and shown by name with their laps."""

import csv
import io
import json
from dataclasses import replace
from datetime import UTC, datetime

import away
import pyarrow.parquet as pq
import pytest
from class_logs import text_of
from synthetic import START_S, Chart, Log

import analyzer
from analyzer.checks.run import CHECKS
from analyzer.grade.grading import grade
from analyzer.grade.pick import pick_procedure
from analyzer.grade.worker_pool import local_pool
from analyzer.gradebook.roster import read_roster
from analyzer.gradebook.rubric import read_rubric
from analyzer.gradebook.settings import Candidate, read_settings
from analyzer.procedure.write import procedure_toml
from analyzer.report.pages.class_page import class_page
from analyzer.report.words.class_text import class_text

DAY_S = 86_400.0


def whole(day: int = 0):
    return Log(altitude_ft=away.altitudes_ft(), noise_m=1.0, start_s=START_S + day * DAY_S).of(away.missed_into_hold())


def hold(day: int, **flown):
    return Log(noise_m=1.0, seed=day, start_s=START_S + day * DAY_S).of(away.hold_alone(**flown))


@pytest.fixture(scope="module")
def graded(tmp_path_factory):
    """A whole approach with its hold, a hold alone, and one turned the wrong way, by two pilots."""
    base = tmp_path_factory.mktemp("holds")
    logs = base / "logs"
    logs.mkdir()
    for name, track in {"a_whole": whole(), "b_hold": hold(1), "c_wrong_way": hold(2, number=2, side=-1)}.items():
        (logs / f"{name}.csv").write_text(text_of(track), encoding="utf-8")
    (base / "quorl.toml").write_text(procedure_toml(away.CHART.at(), "invented"), encoding="utf-8")
    (base / "roster.csv").write_text("file,pilot\na_whole,Ada\nb_hold,Ada\nc_wrong_way,Bo\n", encoding="utf-8")
    settings, roster = read_settings(base / "quorl.toml", pages=True), read_roster(base / "roster.csv")
    with local_pool(1) as pool:
        result = grade(str(logs), settings, pool, str(base / "out"), roster, ("csv", "html", "parquet"))
    return result, base, settings, roster


@pytest.fixture(scope="module")
def rows(graded):
    text = (graded[1] / "out" / "details.csv").read_text(encoding="utf-8")
    return list(csv.DictReader(io.StringIO(text)))


def test_each_hold_is_a_row_after_the_approaches_of_its_log(rows):
    """Two laps after the missed approach, three alone, two with left turns: as flown."""
    told = [(row["file"], row["approach"], row["hold"], row["laps"], row["status"]) for row in rows]
    assert told == [
        ("a_whole.csv", "1", "", "", "graded"),
        ("a_whole.csv", "", "PELTO", "2", "graded"),
        ("b_hold.csv", "", "PELTO", "3", "graded"),
        ("c_wrong_way.csv", "", "PELTO", "2", "graded"),
    ]


def test_a_hold_is_marked_by_its_own_checks_alone(rows):
    of_hold = {name for name, check in CHECKS.items() if "hold" in check.of}
    for row in rows:
        judged = {name for name in CHECKS if row[f"{name}_verdict"]}
        assert judged <= of_hold if row["hold"] else judged & {"missed_turn", "missed_course"}
        assert float(row["mark_possible"]) <= sum(
            check.weight for name, check in CHECKS.items() if not row["hold"] or name in of_hold
        )


def test_holds_flown_well_are_inside_and_one_turned_the_wrong_way_fails_outright(rows):
    """Right turns are charted; AIM 5-3-8: the direction of turns is part of the hold."""
    assert [row["verdict"] for row in rows] == ["inside", "inside", "inside", "outside"]
    assert [float(row["mark_percent"]) for row in rows] == [100.0, 100.0, 100.0, 0.0]
    assert "hold_turn" in rows[3]["mark_failed_outright"]
    assert (rows[3]["hold_turn_measured"], rows[3]["hold_turn_verdict"]) == ("left", "outside")


def test_a_row_says_what_the_debrief_says(graded, rows):
    """The same findings are behind both, with lessons only in the debrief."""
    debriefed = analyzer.debrief(analyzer.read_track(graded[1] / "logs" / "a_whole.csv"), away.CHART.at()).to_dict()
    for row, entry in zip(rows, [*debriefed["reversals"], *debriefed["holds"]], strict=False):
        assert (row["verdict"], row["verdict_sentence"]) == (entry["overall"]["verdict"], entry["overall"]["sentence"])
        assert {name for name in CHECKS if row[f"{name}_verdict"]} == {finding["check"] for finding in entry["findings"]}


def test_attempts_at_holds_are_counted_apart(rows):
    assert [(row["pilot"], row["attempt"]) for row in rows] == [("Ada", "1"), ("Ada", "1"), ("Ada", "2"), ("Bo", "1")]


def test_parquet_holds_the_same_rows(graded, rows):
    table = pq.read_table(graded[1] / "out" / "grades.parquet").to_pylist()
    assert [(row["hold"], row["laps"]) for row in table] == [(None, None), ("PELTO", 2), ("PELTO", 3), ("PELTO", 2)]


def test_page_and_text_name_holds_with_their_laps(graded):
    result, base, settings, roster = graded
    page = class_page(result.published.tally, result.published.index, settings, roster)
    assert (base / "out" / "class.html").read_text(encoding="utf-8") == page
    text = class_text(result.published.tally, result.published.index, settings, roster)
    assert "b_hold.csv, hold at PELTO, 3 laps" in page
    assert "1 approach and 3 holds" in page
    assert "1 attempt, 2 holds" in page
    assert "b_hold.csv PELTO x3" in text
    assert "1 approach and 3 holds" in " ".join(text.split())


def test_a_log_of_a_hold_alone_has_a_page(graded):
    pages = sorted(path.name for path in (graded[1] / "out" / "pages").iterdir())
    assert [name.split(".")[0].rpartition("/")[2] for name in pages if "hold" in name]
    rows = [json.loads(line) for file in (graded[1] / "out").rglob("*.jsonl") for line in file.read_text().splitlines()]
    assert [(row["file"], row["page"], len(row["approaches"]), len(row["holds"])) for row in rows] == [
        ("a_whole.csv", True, 1, 1), ("b_hold.csv", True, 0, 1), ("c_wrong_way.csv", True, 0, 1),
    ]  # fmt: skip


def test_a_hold_alone_picks_the_procedure_that_publishes_it():
    date = datetime.fromtimestamp(START_S, tz=UTC).date()
    candidates = (Candidate("with", away.CHART.at()), Candidate("without", Chart().at()))
    pick = pick_procedure(replace(hold(0), file="hold.csv"), candidates, date)
    assert pick is not None
    assert (pick.candidate.name, pick.sure) == ("with", True)


def test_the_rubric_that_ships_counts_missed_approaches_and_holds():
    """A turn the wrong way counts most of either, as it leaves the protected airspace: this project's choice."""
    weights = read_rubric("protection").weights
    missed = {name: weight for name, weight in weights.items() if name.startswith("missed_")}
    assert set(missed) == {"missed_point", "missed_climb", "missed_turn", "missed_course", "missed_altitude"}
    assert missed["missed_turn"] == max(missed.values())
    assert {"hold_entry", "hold_turn", "hold_timing", "hold_altitude"} <= set(weights)
    assert "hold_drift" not in weights  # for information only
