"""A log that fits two procedures about equally is assessed only where both give the same result."""

import csv
import json

import away
import pytest
from class_logs import CHART, FLOORS, csv_text, text_of, write_procedure
from synthetic import Chart, Log, Place

from analyzer.grade.grading import grade
from analyzer.grade.one_log import grade_some
from analyzer.grade.task import Task
from analyzer.grade.worker_pool import local_pool
from analyzer.gradebook.settings import read_settings
from analyzer.library.debrief import debrief
from analyzer.motion import smooth
from analyzer.motion.wind_fit import estimate_wind
from analyzer.procedure.write import procedure_toml
from analyzer.report.words.class_text import class_text
from analyzer.track.read import read_track

# Alike but for the floors, and but for a limit that the flight keeps to either way.
HIGHER = Chart(floors_ft=dict.fromkeys(FLOORS, 3400.0))
WIDER = Chart(floors_ft=dict.fromkeys(FLOORS, 2800.0))
ALIKE = {"alder": CHART, "birch": WIDER}
DIFFERENT = {"alder": CHART, "cedar": HIGHER}


def graded(folder, charts, logs, pages=False):
    """The rows by name, the text on the terminal, and the folder that they are in."""
    (folder / "logs").mkdir()
    for name, text in logs.items():
        (folder / "logs" / name).write_text(text, encoding="utf-8")
    (folder / "procedures").mkdir()
    for name, chart in charts.items():
        procedure = chart.at() if isinstance(chart, Chart) else chart
        (folder / "procedures" / f"{name}.toml").write_text(procedure_toml(procedure, "invented"), encoding="utf-8")
    settings = read_settings(procedures=folder / "procedures", pages=pages)
    with local_pool(1) as pool:
        done = grade(str(folder / "logs"), settings, pool, str(folder / "out"), formats=("csv", "html"))
    with (folder / "out" / "details.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    return rows, class_text(done.published.tally, done.published.index, settings, None), done


def test_procedures_that_judge_alike_give_their_result(tmp_path):
    (row,), told, _ = graded(tmp_path, ALIKE, {"good.csv": csv_text()})
    assert (row["procedure"], row["procedure_next"], row["procedure_rivals"]) == ("alder", "birch", "birch")
    assert float(row["procedure_gap"]) == 0.0
    assert row["verdict"] == "inside"
    assert row["mark_percent"] == "100.0"
    assert row["remark"] == "procedure not decided: alder or birch; the result holds for both"
    assert "1 row fits several procedures about equally" in told


def test_procedures_that_judge_differently_give_none(tmp_path):
    (row,), told, _ = graded(tmp_path, DIFFERENT, {"good.csv": csv_text()}, pages=True)
    verdicts = {
        name: debrief(read_track(tmp_path / "logs" / "good.csv"), chart.at()).to_dict()["reversals"][0]["overall"]["verdict"]
        for name, chart in DIFFERENT.items()
    }
    assert verdicts == {"alder": "inside", "cedar": "outside"}
    assert (row["status"], row["verdict"], row["mark_percent"]) == ("graded", "not assessed", "")
    assert row["verdict_sentence"].startswith("alder or cedar was flown, which the log does not decide")
    assert "check first: The flight fits alder or cedar about equally" in row["remark"]
    assert "no mark" in row["remark"]
    assert row["altitude_floor_verdict"] == "not assessed"
    assert "alder or cedar" in told
    assert "both fit, and they do not give the same result" in " ".join(told.split())
    assert "1 approach: 1 not assessed" in told
    (file,) = (tmp_path / "out" / "pages").glob("*-good.html")  # by day, hour and log
    page = file.read_text(encoding="utf-8")
    assert "The flight fits alder or cedar about equally" in page
    assert "The flight fits alder or cedar about equally" in (tmp_path / "out" / "class.html").read_text(encoding="utf-8")


@pytest.mark.parametrize("charts", [{"alder": CHART}, ALIKE, DIFFERENT], ids=["one", "alike", "different"])
def test_a_log_is_smoothed_once_whatever_is_asked(tmp_path, monkeypatch, charts):
    """The wind is estimated once a smoothing where no column is recorded: rivals and the page begin from the same flight."""
    smoothed = []
    monkeypatch.setattr(smooth, "estimate_wind", lambda *given, **named: smoothed.append(1) or estimate_wind(*given, **named))
    for name, chart in charts.items():
        write_procedure(tmp_path / f"{name}.toml", chart=chart)
    log = tmp_path / "good.csv"
    log.write_text(csv_text(), encoding="utf-8")
    for settings in (
        read_settings(tmp_path / "alder.toml", pages=True),
        read_settings(procedures=tmp_path, pages=True),
    ):
        smoothed.clear()
        (done,) = grade_some(settings, [Task("good.csv", str(log), log.stat().st_size)])
        assert done.files
        assert len(smoothed) == 1


def test_the_order_of_the_names_does_not_decide(tmp_path):
    """What is best sorts first, so that with the names exchanged the other one is: the result is the same."""
    found = []
    for number, charts in enumerate([{"a": CHART, "b": HIGHER}, {"a": HIGHER, "b": CHART}]):
        (tmp_path / str(number)).mkdir()
        (row,), _, _ = graded(tmp_path / str(number), charts, {"good.csv": csv_text()})
        found.append((row["verdict"], row["verdict_sentence"], row["mark_percent"], row["remark"]))
    assert found[0] == found[1]
    assert found[0][0] == "not assessed"


def test_a_log_that_fits_one_alone_is_not_touched(tmp_path):
    charts = {**DIFFERENT, "far": CHART.at(Place(latitude_deg=44.0))}
    logs = {"far.csv": csv_text(place=Place(latitude_deg=44.0)), "good.csv": csv_text()}
    (far, good), _, _ = graded(tmp_path, charts, logs)
    assert (far["procedure"], far["procedure_rivals"], far["verdict"]) == ("far", "", "inside")
    assert far["remark"] == ""
    assert good["verdict"] == "not assessed"


def test_a_hold_that_one_alone_publishes_is_not_assessed_but_the_approach_is(tmp_path):
    track = Log(altitude_ft=away.altitudes_ft(), noise_m=0.5).of(away.missed_into_hold(2))
    published = away.CHART.at()
    without = published.model_copy(update={"holds": (), "missed_approach": None})
    rows, _, _ = graded(tmp_path, {"a without": without, "b with": published}, {"hold.csv": text_of(track)})
    (hold,) = [row for row in rows if row["hold"]]
    assert hold["procedure"] == "b with"
    assert hold["verdict"] == "not assessed"
    assert hold["verdict_sentence"].startswith("b with or a without was flown")
    (approach,) = [row for row in rows if not row["hold"]]
    assert "a without" in approach["remark"]


@pytest.mark.parametrize("kind", ["good", "wrong_side"])
def test_what_is_kept_names_the_rivals(tmp_path, kind):
    rows, _, _ = graded(tmp_path, {"left": Chart(side="left"), "right": CHART, "twin": CHART}, {"x.csv": csv_text(kind)})
    (line,) = (tmp_path / "out" / "rows" / "part-00000.jsonl").read_text(encoding="utf-8").splitlines()
    procedure = json.loads(line)["procedure"]
    assert (procedure["name"], procedure["rivals"]) == (("right", ["twin"]) if kind == "good" else ("left", []))
    assert len(rows) == 1
