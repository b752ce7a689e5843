"""How many Python functions a debrief calls: a count is the same on every machine, as a time is not.

Only calls into the package itself count, so that the libraries may change. The bounds leave a tenth for what is added; a new
check takes some 100 calls. More than that is a loop in Python over what arrays should do at once.
"""

import sys
from collections.abc import Callable
from pathlib import Path
from types import FrameType

import pytest
from patterns import Pattern, fly_approach
from synthetic import HERE, Chart, Log

import analyzer

PACKAGE = str(Path(analyzer.__file__).parent)
SAMPLES = Path(__file__).resolve().parent.parent / "sample_tracks"


def calls(work: Callable[[], object]) -> int:
    """How many functions of the package some work calls, the second time, when what is read once has been."""
    count = 0

    def note(frame: FrameType, event: str, _: object) -> None:
        nonlocal count
        count += event == "call" and frame.f_code.co_filename.startswith(PACKAGE)

    work()
    before = sys.getprofile()
    sys.setprofile(note)
    try:
        work()
    finally:
        sys.setprofile(before)
    return count


@pytest.mark.parametrize(
    ("log", "procedure", "read_at_most", "debrief_at_most"),
    [
        ("clean.csv", "wendle_island_vor24.toml", 680, 6_800),
        ("step_down.csv", "wendle_island_rnav06.toml", 2_600, 6_900),
        ("missed_and_hold.csv", "wendle_island_vorz24.toml", 680, 21_400),
    ],
)
def test_a_sample_log_takes_no_more_calls(log, procedure, read_at_most, debrief_at_most):
    charted, track = analyzer.read_procedure(SAMPLES / procedure), analyzer.read_track(SAMPLES / log)
    assert 0 < calls(lambda: analyzer.read_track(SAMPLES / log)) < read_at_most
    assert 0 < calls(lambda: analyzer.debrief(track, charted)) < debrief_at_most


def test_longer_flights_take_no_more_calls():
    """An hour of straight flight before the approach is longer arrays, and a step or two more of what is iterated."""
    chart = Chart().at(HERE)

    def taken(arrival_s: float) -> int:
        pattern = Pattern(
            arrival_deg=40.0, arrival_s=arrival_s, speed_kt=110.0, wind=(70.0, 12.0), roll_deg_s=4.0, final_s=150.0
        )
        track = Log(noise_m=1.0, altitude_ft=3040.0).of(fly_approach(pattern).flown, HERE)
        return calls(lambda: analyzer.debrief(track, chart))

    assert taken(3_600.0) < 1.1 * taken(120.0)


def test_a_plain_csv_of_more_rows_takes_no_more_calls(tmp_path):
    """Its cells are read a column at a time."""
    header, *rows = (SAMPLES / "clean.csv").read_text(encoding="utf-8").splitlines()
    short, whole = tmp_path / "short.csv", tmp_path / "whole.csv"
    short.write_text("\n".join([header, *rows[: len(rows) // 3]]) + "\n", encoding="utf-8")
    whole.write_text("\n".join([header, *rows]) + "\n", encoding="utf-8")
    assert calls(lambda: analyzer.read_track(whole)) < 1.1 * calls(lambda: analyzer.read_track(short))
