"""What a debrief doubts, a class doubts too: the same results and the same sentences, log by log."""

import csv
import json
from dataclasses import replace

import numpy as np
import pytest
from class_logs import CHART, text_of, track_of
from synthetic import HERE, START_S

from analyzer.grade.grading import grade
from analyzer.grade.worker_pool import local_pool
from analyzer.gradebook.settings import read_settings
from analyzer.library.debrief import debrief
from analyzer.procedure.read import read_procedure
from analyzer.procedure.write import procedure_toml
from analyzer.safe_text import plain_line
from analyzer.track.read import read_track

MILE_DEG = 1.0 / 60.0  # of latitude


def paced(factor):
    track = track_of("good")
    return replace(track, time_s=START_S + (track.time_s - START_S) * factor)


def jumped():
    track = track_of("good")
    later = track.time_s > START_S + 200.0
    return replace(track, latitude_rad=track.latitude_rad + np.where(later, np.radians(0.5 * MILE_DEG), 0.0))


def late():
    track = track_of("good")
    kept = track.time_s > START_S + 150.0
    names = ("time_s", "latitude_rad", "longitude_rad", "altitude_m")
    return replace(track, **{name: getattr(track, name)[kept] for name in names})


def scaled(factor):
    track = track_of("good")
    return replace(track, altitude_m=track.altitude_m * factor)


# A name, the log, and whether it must raise a doubt by what the doubts are for.
LOGS = {
    "as flown": (lambda: track_of("good"), False),
    "outside": (lambda: track_of("far"), False),
    "twice as fast": (lambda: paced(0.5), True),
    "half as fast": (lambda: paced(2.0), True),
    "moved": (jumped, True),
    "in metres": (lambda: scaled(0.3048), True),
    "begins late": (late, None),
}
PLACES = {
    "right": (HERE, False),
    "north": (replace(HERE, latitude_deg=HERE.latitude_deg + MILE_DEG), True),
    "turned": (replace(HERE, outbound_true_deg=HERE.outbound_true_deg + 6.0), None),
}


@pytest.mark.parametrize("place", PLACES)
def test_a_class_says_what_a_debrief_says(tmp_path, place):
    chart, misplaced = PLACES[place]
    (tmp_path / "logs").mkdir()
    for name, (made, _) in LOGS.items():
        (tmp_path / "logs" / f"{name}.csv").write_text(text_of(made()), encoding="utf-8")
    (tmp_path / "p.toml").write_text(procedure_toml(CHART.at(chart), "invented"), encoding="utf-8")
    with local_pool(1) as pool:
        grade(str(tmp_path / "logs"), read_settings(tmp_path / "p.toml"), pool, str(tmp_path / "out"), formats=("csv",))
    with (tmp_path / "out" / "details.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    lines = (tmp_path / "out" / "rows" / "part-00000.jsonl").read_text(encoding="utf-8").splitlines()
    documents = {document["file"]: document for document in map(json.loads, lines)}
    for name, (_, doubtful) in LOGS.items():
        alone = debrief(read_track(tmp_path / "logs" / f"{name}.csv"), read_procedure(tmp_path / "p.toml"))
        of_log = [row for row in rows if row["file"] == f"{name}.csv"]
        told = alone.to_dict()["reversals"]
        said = [one["overall"] for one in told] or [{"verdict": "", "sentence": ""}]
        assert [(row["verdict"], row["verdict_sentence"]) for row in of_log] == [(o["verdict"], o["sentence"]) for o in said]
        assert documents[f"{name}.csv"]["doubts"] == list(alone.doubts)
        assert all(f"check first: {plain_line(doubt)}" in row["remark"] for doubt in alone.doubts for row in of_log)
        assert all("check first" not in row["remark"] for row in of_log) == (not alone.doubts)
        if doubtful is not None and misplaced is not None:
            assert bool(alone.doubts) == (doubtful or misplaced)
