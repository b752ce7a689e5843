"""Whole debriefs of equivalent logs: no verdict turns into its opposite.

A log shifted in time, with other columns and units, thinned, or with more noise is the same flight. Inside and outside may
become too close to call or not assessed, but never each other. Where only the notation differs, nothing changes.
"""

from __future__ import annotations

import csv
from collections.abc import Callable, Mapping
from datetime import datetime, timedelta
from pathlib import Path

import numpy as np
import pytest

import analyzer

SAMPLES = Path(__file__).resolve().parents[2] / "sample_tracks"
OPPOSITE = {"inside": "outside", "outside": "inside"}
Rows = list[dict[str, float | datetime]]


def samples() -> Rows:
    """The flight in a strong wind, which has findings of all kinds."""
    frame = analyzer.read_track(SAMPLES / "strong_wind.csv").to_frame()
    return [
        {
            "time": row.time.to_pydatetime(),
            "latitude": row.latitude_deg,
            "longitude": row.longitude_deg,
            "feet": row.altitude_ft,
        }
        for row in frame.itertuples()
    ]


ROWS = samples()


def written(path: Path, rows: Rows, columns: Mapping[str, Callable[[dict], str]], delimiter: str = ",") -> Path:
    with path.open("w", encoding="utf-8", newline="") as file:
        out = csv.writer(file, delimiter=delimiter)
        out.writerow(columns)
        out.writerows([cell(row) for cell in columns.values()] for row in rows)
    return path


PLAIN: dict[str, Callable[[dict], str]] = {
    "time UTC": lambda row: row["time"].strftime("%Y-%m-%dT%H:%M:%SZ"),
    "latitude": lambda row: f"{row['latitude']:.7f}",
    "longitude": lambda row: f"{row['longitude']:.7f}",
    "altitude ft": lambda row: f"{row['feet']:.1f}",
}


def judged(path: Path) -> dict[tuple[str, str, str | None], str]:
    procedure = analyzer.read_procedure(SAMPLES / "wendle_island_vor24.toml")
    (approach,) = analyzer.debrief(analyzer.read_track(path), procedure).approaches
    return {(f.check, f.leg, f.part): f.verdict for f in approach.findings}


@pytest.fixture(scope="module")
def plain(tmp_path_factory):
    verdicts = judged(written(tmp_path_factory.mktemp("plain") / "log.csv", ROWS, PLAIN))
    assert {"inside", "outside"} <= set(verdicts.values())
    return verdicts


def never_opposite(before, after):
    turned = {key: (verdict, after[key]) for key, verdict in before.items() if after.get(key) == OPPOSITE.get(verdict, "none")}
    assert turned == {}
    new = {key: verdict for key, verdict in after.items() if key not in before and verdict == "outside"}
    assert new == {}


OTHER_TIME = {name: cell for name, cell in PLAIN.items() if name != "time UTC"}
WRITINGS = {
    "columns in another order": ({name: PLAIN[name] for name in reversed(PLAIN)}, ","),
    "semicolons and decimal commas": (
        {name: lambda row, cell=cell: cell(row).replace(".", ",") for name, cell in PLAIN.items()},
        ";",
    ),
    "metres": (
        {
            **{name: cell for name, cell in PLAIN.items() if name != "altitude ft"},
            "altitude m": lambda row: f"{row['feet'] * 0.3048:.3f}",
        },
        ",",
    ),
    "epoch seconds": ({"time": lambda row: f"{row['time'].timestamp():.0f}", **OTHER_TIME}, ","),
    "local time with its offset": (
        {"time": lambda row: f"{row['time'] - timedelta(hours=3, minutes=30):%Y-%m-%dT%H:%M:%S}-03:30", **OTHER_TIME},
        ",",
    ),
}


@pytest.mark.parametrize("writing", WRITINGS)
def test_another_notation_changes_nothing(plain, tmp_path, writing):
    columns, delimiter = WRITINGS[writing]
    assert judged(written(tmp_path / "log.csv", ROWS, columns, delimiter)) == plain


@pytest.mark.parametrize("days", [-4000, 1, 365, 3000])
def test_another_day_changes_nothing(plain, tmp_path, days):
    rows = [{**row, "time": row["time"] + timedelta(days=days)} for row in ROWS]
    assert judged(written(tmp_path / "log.csv", rows, PLAIN)) == plain


@pytest.mark.parametrize("hours", [8, 9])
def test_midnight_in_the_middle_changes_nothing(plain, tmp_path, hours):
    rows = [{**row, "time": row["time"] + timedelta(hours=hours, minutes=12)} for row in ROWS]
    assert judged(written(tmp_path / "log.csv", rows, PLAIN)) == plain


@pytest.mark.parametrize("every", [2, 3, 5])
def test_a_thinned_log_reverses_no_verdict(plain, tmp_path, every):
    never_opposite(plain, judged(written(tmp_path / "log.csv", ROWS[::every], PLAIN)))


@pytest.mark.parametrize("seed", range(4))
@pytest.mark.parametrize(("metres", "feet"), [(2.0, 10.0), (5.0, 25.0)])
def test_more_noise_reverses_no_verdict(plain, tmp_path, seed, metres, feet):
    random = np.random.default_rng(seed)
    rows = []
    for row in ROWS:
        north, east, up = random.normal(0.0, [metres, metres, feet])
        latitude = row["latitude"] + north / 111_120.0
        longitude = row["longitude"] + east / (111_320.0 * np.cos(np.radians(row["latitude"])))
        rows.append({**row, "latitude": latitude, "longitude": longitude, "feet": row["feet"] + up})
    never_opposite(plain, judged(written(tmp_path / "log.csv", rows, PLAIN)))


def test_repeated_and_reversed_rows_change_nothing(plain, tmp_path):
    doubled = [row for row in ROWS for _ in range(2)]
    assert judged(written(tmp_path / "doubled.csv", doubled, PLAIN)) == plain
    assert judged(written(tmp_path / "reversed.csv", ROWS[::-1], PLAIN)) == plain


def test_each_half_of_a_log_contradicts_nothing(plain, tmp_path):
    """Cut in the turn back: each verdict of either half is that of the whole log, or not assessed."""
    half = len(ROWS) // 2
    procedure = analyzer.read_procedure(SAMPLES / "wendle_island_vor24.toml")
    judgements = 0
    for number, rows in enumerate((ROWS[:half], ROWS[half:])):
        track = analyzer.read_track(written(tmp_path / f"half{number}.csv", rows, PLAIN))
        for approach in analyzer.debrief(track, procedure).approaches:
            after = {(f.check, f.leg, f.part): f.verdict for f in approach.findings}
            judgements += len(after)
            turned = {key: after[key] for key in after.keys() & plain.keys() if after[key] == OPPOSITE.get(plain[key], "none")}
            assert turned == {}
    assert judgements
