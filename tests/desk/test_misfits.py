"""What is said of a chart by which no approach was found in a flight."""

from dataclasses import replace
from pathlib import Path

import pytest

import analyzer
from analyzer.desk.misfits import misfit_words
from analyzer.physics.units import DEG

SAMPLES = Path(__file__).resolve().parents[2] / "sample_tracks"
CHART = analyzer.read_procedure(SAMPLES / "wendle_island_vor24.toml")
TRACK = analyzer.read_track(SAMPLES / "clean.csv")


def test_near_the_fix_its_courses_were_not_flown():
    assert misfit_words(TRACK, CHART) == "The flight does not fit it: no approach on its courses was found."


@pytest.mark.parametrize(("away_deg", "nautical_miles"), [(10.0, 600.0), (-40.0, 2400.0)])
def test_far_away_the_distance_is_said(away_deg: float, nautical_miles: float):
    """A degree of latitude is 60 NM."""
    moved = replace(TRACK, latitude_rad=TRACK.latitude_rad + away_deg * DEG)
    words = misfit_words(moved, CHART)
    assert words.startswith("The flight was elsewhere: it comes no nearer to WND than ")
    said = float(words.rsplit(" ", 2)[1].replace(",", ""))
    assert said == pytest.approx(nautical_miles, rel=0.02)


def test_exchanged_columns_are_told():
    exchanged = replace(TRACK, latitude_rad=TRACK.longitude_rad, longitude_rad=TRACK.latitude_rad)
    assert misfit_words(exchanged, CHART).startswith("With latitude and longitude exchanged the flight comes near WND")


@pytest.mark.parametrize(("signs", "what"), [((1, -1), "east and west"), ((-1, 1), "north and south")])
def test_a_wrong_hemisphere_is_told(signs: tuple[int, int], what: str):
    turned = replace(TRACK, latitude_rad=signs[0] * TRACK.latitude_rad, longitude_rad=signs[1] * TRACK.longitude_rad)
    words = misfit_words(turned, CHART)
    assert words.startswith(f"With {what} exchanged the flight comes near WND: look at the letters or signs")
