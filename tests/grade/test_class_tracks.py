"""The tracks of a class: cut to few places that keep the line, and drawn over each other with numbers that the list has."""

import json
import re
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
from class_logs import csv_text, write_procedure

import analyzer
from analyzer.grade.grading import grade
from analyzer.grade.thin_track import MOST_PLACES, kept_places
from analyzer.grade.worker_pool import local_pool
from analyzer.gradebook.roster import read_roster
from analyzer.gradebook.rows import COLUMNS
from analyzer.gradebook.settings import read_settings
from analyzer.gradebook.tally import Tally


def away_from(line, places):
    """How far places are from a line through others, at most: by brute force along it, a thousand places a stretch."""
    share = np.linspace(0.0, 1.0, 1000)[:, None]
    dense = np.vstack([a + share * (b - a) for a, b in pairwise(line)])
    return max(float(np.hypot(*(dense - place).T).min()) for place in places)


def racetrack():
    """Two straights of five miles and two half circles of half a mile, a place every 0.05 NM."""
    along = np.arange(0.0, 5.0, 0.05)
    turn = np.linspace(0.0, np.pi, 32)
    right = np.column_stack([5.0 + 0.5 * np.sin(turn), 0.5 - 0.5 * np.cos(turn)])
    left = np.column_stack([-0.5 * np.sin(turn), 0.5 + 0.5 * np.cos(turn)])
    there, back = np.column_stack([along, 0.0 * along]), np.column_stack([along[::-1], 0.0 * along + 1.0])
    return np.vstack([there, right, back, left])


def test_what_is_left_out_lies_near_the_line():
    places = racetrack()
    kept = kept_places(places, MOST_PLACES, 0.005)
    # a chord that is 0.005 NM from an arc of 0.5 NM spans 2 acos(1 - 0.005/0.5) = 16.2 degrees: 22 of them go round at least,
    # and halving stretches, as is done here, takes at most twice as many
    assert 22 <= len(kept) <= 44
    assert (kept[0], kept[-1]) == (0, len(places) - 1)
    assert away_from(places[kept], places) <= 0.005 + 1e-9


def test_their_number_is_bounded_and_more_of_them_are_nearer():
    rng = np.random.default_rng(3)
    places = np.cumsum(rng.normal(size=(600, 2)), axis=0)
    offs = [away_from(places[kept_places(places, most, 0.0)], places) for most in (2, 10, 60)]
    assert all(len(kept_places(places, most, 0.0)) == most for most in (2, 10, 60))
    assert offs == sorted(offs, reverse=True)


@pytest.mark.parametrize("places", [np.zeros((2, 2)), np.zeros((9, 2)), np.array([[0.0, 0.0], [1.0, 0.0], [0.0, 0.0]])])
def test_a_line_that_stands_still_or_comes_back_is_kept(places):
    kept = kept_places(places, 5, 0.001)
    assert (kept[0], kept[-1]) == (0, len(places) - 1)


@pytest.fixture(scope="module")
def graded(tmp_path_factory):
    """Two good flights, one that goes out too far, and one that never comes near; each by a pilot."""
    folder = tmp_path_factory.mktemp("tracks")
    (folder / "logs").mkdir()
    for k, kind in enumerate(("good", "other", "far")):
        (folder / "logs" / f"{kind}.csv").write_text(csv_text(kind, seed=k), encoding="utf-8")
    lines = csv_text("good").splitlines()
    (folder / "logs" / "short.csv").write_text("\n".join(lines[:100]) + "\n", encoding="utf-8")
    (folder / "roster.csv").write_text("file,pilot\ngood.csv,Ada\nother.csv,Bo\nfar.csv,Cy\nshort.csv,Dee\n", encoding="utf-8")
    settings = read_settings(write_procedure(folder / "quorl.toml"))
    with local_pool(1) as pool:
        made = grade(str(folder / "logs"), settings, pool, str(folder / "out"), read_roster(folder / "roster.csv"))
    return made, folder / "out"


def test_a_row_keeps_a_bounded_track_with_the_farthest_point_on_it(graded):
    lines = (graded[1] / "rows" / "part-00000.jsonl").read_text(encoding="utf-8").splitlines()
    for document in map(json.loads, lines):
        for approach in document["approaches"]:
            track = approach["track"]
            places = np.column_stack([track["east_nm"], track["north_nm"]])
            assert 10 < len(places) <= MOST_PLACES
            farthest = np.array(track["farthest_nm"])
            assert np.hypot(*farthest) == pytest.approx(approach["farthest"]["distance_nm"], abs=0.002)
            assert away_from(places, [farthest]) < 0.02


def test_the_page_has_one_picture_of_all_with_the_numbers_of_the_list(graded):
    page = (graded[1] / "class.html").read_text(encoding="utf-8")
    assert page.count('<figure data-picture="plan"') == 1
    assert 'aria-label="Plan view of 3 tracks of Quorl Bank VOR, 1 of them outside. Farthest points from' in page
    listed = dict(re.findall(r'<span class="place">(\d+)</span><a href="#flight-\d+"><bdi>(\w+)</bdi></a>', page))
    assert listed == {"1": "Cy", "2": "Dee", "3": "Ada", "4": "Bo"}
    picture = page.partition('<figure data-picture="plan"')[2].partition("</figure>")[0]
    shown = set(re.findall(r">(\d)</text>", picture))
    assert shown == {"1", "3", "4"}  # Dee has no approach, and so no track
    for link in re.findall(r'href="#([^"]+)"', page):
        assert f'id="{link}"' in page


def test_what_is_outside_is_said_with_the_names(graded):
    page = (graded[1] / "class.html").read_text(encoding="utf-8")
    row = page.partition('<th scope="row">distance limit</th>')[2].partition("</tr>")[0]
    assert re.findall(r"<bdi>(\w+)</bdi></a>", row) == ["Cy"]
    never = page.partition("Never outside or too close to call: ")[2].partition("</p>")[0]
    assert "established" in never
    assert "distance limit" not in never


def test_many_tracks_are_a_sample_and_those_outside_are_kept_apart():
    tally = Tally()
    track = {"east_nm": [0.0, 1.0], "north_nm": [0.0, 1.0], "farthest_nm": [1.0, 1.0], "fix_deg": [48.0, 11.0]}
    entry = {"track": track, "checks": {}, "reasons": [], "excused": []}
    for k in range(1000):
        row = dict.fromkeys(("pilot", "attempt", "hold", "duplicate_of", "procedure_rivals", "reason", "date", "page"))
        filled = _whole_row(row | {"file": f"{k}", "approach": 1, "verdict": "outside" if k % 100 == 0 else "inside"})
        tally.add(filled, entry)
    (tracks,) = tally.tracks.values()
    assert (tracks.seen, tracks.outside.seen, len(tracks.outside.values)) == (1000, 10, 10)
    assert 60 <= len(tracks.others.values) <= 120


def _whole_row(given):
    whole = dict.fromkeys(column.name for column in COLUMNS) | given
    return whole | {"status": "graded", "procedure": "quorl", "start": "2026-06-01T10:00:00Z", "farthest_distance_nm": 1.4}


def test_flights_by_coded_procedures_are_drawn_too(tmp_path):
    (tmp_path / "logs").mkdir()
    samples = Path(analyzer.__file__).parents[1] / "sample_tracks"
    for name in ("clean.csv", "strong_wind.csv"):
        (tmp_path / "logs" / name).write_bytes((samples / name).read_bytes())
    settings = read_settings(procedures=samples / "wendle_island_coded.txt")
    with local_pool(1) as pool:
        grade(str(tmp_path / "logs"), settings, pool, str(tmp_path / "out"))
    page = (tmp_path / "out" / "class.html").read_text(encoding="utf-8")
    assert page.count('<figure data-picture="plan"') == 1
    assert "Plan view of 2 tracks" in page
