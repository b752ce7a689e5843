"""Values that stand for no altitude, and dips of the pressure, are left empty; what is flown, parabolas included, stays."""

from pathlib import Path

import numpy as np
import pytest

from analyzer import read_track
from analyzer.track.track import Track

FT = 0.3048
SECONDS = np.arange(600)
FLOWN_FT = np.interp(SECONDS, [0, 100, 200, 400, 500, 600], [4_000.0, 4_000.0, 3_000.0, 3_000.0, 1_600.0, 1_600.0])


def read(tmp_path: Path, altitude_ft: np.ndarray) -> Track:
    """A straight flight at 55 m/s with these altitudes; a degree of latitude is about 111,111 m."""
    rows = ["time,latitude,longitude,altitude_msl_ft"]
    rows += [f"{1_780_000_000 + k},{41.2 + 55.0 * k / 111_111.0:.7f},-38.4,{h:.1f}" for k, h in enumerate(altitude_ft)]
    path = tmp_path / "log.csv"
    path.write_text("\n".join(rows) + "\n")
    return read_track(path)


def emptied(tmp_path: Path, first: int, end: int, value: float) -> list[int]:
    altitude = FLOWN_FT.copy()
    altitude[first:end] = value
    track = read(tmp_path, altitude)
    empty = np.isnan(track.altitude_m)
    assert np.array_equal(track.altitude_m[~empty], altitude[~empty] * FT)
    return np.flatnonzero(empty).tolist()


@pytest.mark.parametrize("value", [0.0, -9999.0, 32767.0, 99999.0, -1000.0])
@pytest.mark.parametrize("seconds", [2, 5, 40, 200])
@pytest.mark.parametrize("first", [230, 390])
def test_a_value_that_is_jumped_to_and_from_is_no_altitude(tmp_path, first, seconds, value):
    assert emptied(tmp_path, first, first + seconds, value) == list(range(first, first + seconds))


@pytest.mark.parametrize("value", [0.0, -9999.0, 32767.0, 99999.0])
@pytest.mark.parametrize(("first", "end"), [(0, 100), (400, 600)])
def test_at_an_end_of_the_log_it_must_be_a_value_that_recorders_write_for_none(tmp_path, first, end, value):
    assert emptied(tmp_path, first, end, value) == list(range(first, end))
    assert emptied(tmp_path, first, end, 9_000.0) == []


def test_a_log_of_zeros_has_no_altitude(tmp_path):
    """What is written where there was none; a flight at sea level to the last digit throughout is none."""
    track = read(tmp_path, np.zeros(len(FLOWN_FT)))
    assert np.isnan(track.altitude_m).all()
    assert any("exactly 0" in note.text for note in track.notes)


@pytest.mark.parametrize("depth_ft", [200.0, 800.0, -300.0])
@pytest.mark.parametrize("at_s", [60, 150, 300, 550])
def test_a_dip_within_some_seconds_is_left_empty(tmp_path, at_s, depth_ft):
    """Down by 200 ft within four seconds, and up again within four: 3,000 ft/min and a g between."""
    altitude = FLOWN_FT - depth_ft * np.maximum(0.0, 1.0 - np.abs(SECONDS - at_s) / 4.0)
    track = read(tmp_path, altitude)
    left = np.isfinite(track.altitude_m)
    assert np.max(np.abs(track.altitude_m[left] / FT - FLOWN_FT[left])) <= 30.0
    assert 3 <= int((~left).sum()) <= 9


@pytest.mark.parametrize(
    ("seconds", "heights_ft"),
    [
        ([0, 250, 280, 310, 600], [3_000.0, 3_000.0, 2_500.0, 3_000.0, 3_000.0]),  # down and up at 1,000 ft/min
        ([0, 300, 330, 360, 600], [2_000.0, 2_000.0, 1_500.0, 2_500.0, 2_500.0]),  # a go-around, up at 2,000 ft/min
        ([0, 100, 101, 600], [3_000.0, 3_000.0, 3_100.0, 3_100.0]),  # a hundred-foot step of a transponder
    ],
)
def test_descents_and_climbs_that_are_flown_stay(tmp_path, seconds, heights_ft):
    track = read(tmp_path, np.interp(SECONDS, seconds, heights_ft))
    assert np.isfinite(track.altitude_m).all()


def test_a_dip_that_was_flown_stays(tmp_path):
    """Down by 250 ft and up again within 17 s, as in flights of little gravity: beyond what an approach is, and flown."""
    inside = np.abs(SECONDS - 300) < 8.5
    dip = np.where(inside, 0.5 * (1.0 + np.cos(2.0 * np.pi * (SECONDS - 300) / 17.0)), 0.0)
    track = read(tmp_path, FLOWN_FT - 250.0 * dip)
    assert np.isfinite(track.altitude_m).all()
