"""Grading by coded procedures of a whole country: each log by the approach that it fits best of those that it passes near."""

import pickle
from datetime import UTC, datetime
from pathlib import Path

import pytest

from analyzer.errors import ProcedureError
from analyzer.grade.pick import pick_procedure
from analyzer.gradebook.country import read_country
from analyzer.gradebook.settings import read_settings
from analyzer.track.read import read_track

SAMPLES = Path(__file__).resolve().parents[2] / "sample_tracks"
CODED = SAMPLES / "wendle_island_coded.txt"
# sample_tracks/README.md says which approach each log was flown by
FLOWN = {
    "clean.csv": "XWND_S24-Z", "strong_wind.csv": "XWND_S24-Z", "early_descent.gpx": "XWND_S24-Z",
    "missed_and_hold.csv": "XWND_S24-Z", "step_down.csv": "XWND_R06",
}  # fmt: skip


def _picked(country, log):
    track = read_track(SAMPLES / log)
    date = datetime.fromtimestamp(float(track.time_s[0]), tz=UTC).date()
    return pick_procedure(track, country.near(track), date)


@pytest.mark.parametrize(("log", "approach"), FLOWN.items())
def test_the_approach_that_was_flown_is_picked(log, approach):
    pick = _picked(read_country(CODED, "straight-in", ()), log)
    assert pick.candidate.name == approach
    assert pick.sure


def test_a_country_goes_to_workers_and_tells_what_it_is(tmp_path):
    copy = tmp_path / "country.txt"
    copy.write_bytes(CODED.read_bytes())
    settings = read_settings(procedures=copy, cleared=["arrival=4000"])
    assert pickle.loads(pickle.dumps(settings)).country == settings.country  # noqa: S301 (our own)
    before = settings.fingerprint
    copy.write_bytes(CODED.read_bytes() + b"\n")
    assert read_settings(procedures=copy, cleared=["arrival=4000"]).fingerprint != before


def test_far_away_nothing_is_near():
    country = read_country(CODED, "straight-in", ())
    track = read_track(SAMPLES / "clean.csv")
    away = type(track)(
        **{**{key: getattr(track, key) for key in track.__dataclass_fields__}, "latitude_rad": track.latitude_rad + 0.2}
    )
    assert country.near(away) == ()


def test_a_file_without_reversals_is_refused(tmp_path):
    empty = tmp_path / "empty.txt"
    records = [record for record in CODED.read_text(encoding="ascii").splitlines(keepends=True) if record[12] != "F"]
    empty.write_text("".join(records), encoding="ascii")
    with pytest.raises(ProcedureError, match="no approach with a course reversal"):
        read_country(empty, "straight-in", ())
