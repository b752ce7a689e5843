"""Which procedure a flight was flown by: the one that it was laid out on, and how sure that is; none where none fits."""

from dataclasses import replace
from datetime import UTC, datetime

import away
import pytest
from class_logs import CHART, csv_text, track_of, write_procedure
from synthetic import HERE, START_S, Chart, Log, Place

from analyzer.grade.grading import grade
from analyzer.grade.pick import pick_procedure
from analyzer.grade.worker_pool import local_pool
from analyzer.gradebook.settings import Candidate, read_settings
from analyzer.track.read import read_track

FAR_AWAY = Place(latitude_deg=44.0)
TURNED = replace(HERE, outbound_true_deg=HERE.outbound_true_deg + 90.0)
NEARBY = Place(latitude_deg=41.23)  # 1.8 NM north of the fix
CANDIDATES = (
    Candidate("far away", CHART.at(FAR_AWAY)),
    Candidate("here", CHART.at(HERE)),
    Candidate("mirrored", Chart(side="left").at(HERE)),
    Candidate("nearby", CHART.at(NEARBY)),
    Candidate("turned", CHART.at(TURNED)),
)
DATE = datetime.fromtimestamp(START_S, tz=UTC).date()


def test_the_procedure_that_was_flown_is_picked_and_sure():
    pick = pick_procedure(track_of("good"), CANDIDATES, DATE)
    assert (pick.candidate.name, pick.next_best) == ("here", "mirrored")
    assert pick.misfit < 1.0
    assert pick.gap == pytest.approx(10.0, abs=0.5)  # the other side counts ten: more than the nine that leave it undecided
    assert pick.sure


def test_the_side_flown_picks_the_chart_with_that_side():
    assert pick_procedure(track_of("wrong_side"), CANDIDATES, DATE).candidate.name == "mirrored"


def test_order_does_not_matter():
    forward, back = (pick_procedure(track_of("other"), order, DATE) for order in (CANDIDATES, CANDIDATES[::-1]))
    assert (forward.candidate, forward.misfit, forward.gap) == (back.candidate, back.misfit, back.gap)


def test_two_that_fit_alike_are_not_sure():
    twin = Candidate("twin", CHART.at(HERE))
    pick = pick_procedure(track_of("good"), (*CANDIDATES, twin), DATE)
    assert (pick.candidate.name, pick.next_best, pick.gap) == ("here", "twin", 0.0)
    assert not pick.sure


def test_a_hold_that_was_flown_picks_the_chart_that_publishes_it():
    """Two charts that are alike but for the hold of one, which sorts last by its name."""
    track = Log(altitude_ft=away.altitudes_ft(), noise_m=2.0).of(away.missed_into_hold(2))
    published = away.CHART.at()
    without = published.model_copy(update={"holds": (), "missed_approach": None})
    assert published.holds
    pick = pick_procedure(track, (Candidate("a without", without), Candidate("b with", published)), DATE)
    assert (pick.candidate.name, pick.next_best) == ("b with", "a without")
    assert pick.gap == pytest.approx(1.0)
    assert not pick.sure


def test_rivals_are_those_within_nine():
    """In order of their misfit; `mirrored` has nine more for its side, and is none as far as that is all (pick.py)."""
    twin = Candidate("twin", CHART.at(HERE))
    pick = pick_procedure(track_of("good"), (*CANDIDATES, twin), DATE)
    assert [seen.candidate.name for seen in pick.rivals] == ["twin"]
    assert pick.names == "here or twin"
    alone = pick_procedure(track_of("good"), CANDIDATES, DATE)
    assert (alone.rivals, alone.names) == ((), "here")


def test_alone_it_has_no_gap():
    pick = pick_procedure(track_of("good"), CANDIDATES[:2], DATE)
    assert (pick.candidate.name, pick.gap, pick.sure) == ("here", None, True)


def test_none_fits_a_flight_elsewhere_or_on_other_courses():
    assert pick_procedure(track_of("good"), CANDIDATES[:1], DATE) is None
    assert pick_procedure(track_of("good"), CANDIDATES[4:], DATE) is None


def test_each_log_is_graded_by_its_own(tmp_path):
    folder, procedures = tmp_path / "logs", tmp_path / "procedures"
    folder.mkdir()
    places = {"here": HERE, "there": FAR_AWAY, "nowhere": Place(latitude_deg=10.0)}
    for name, place in places.items():
        (folder / f"{name}.csv").write_text(csv_text(place=place), encoding="utf-8")
        if name != "nowhere":
            write_procedure(procedures / f"{name}.toml", place)
    settings = read_settings(procedures=procedures)
    with local_pool(1) as pool:
        graded = grade(str(folder), settings, pool, str(tmp_path / "out"), formats=("csv",))
    rows = {listed.row["file"]: listed.row for listed in graded.published.tally.worst()}
    assert {name: row["procedure"] for name, row in rows.items()} == {
        "here.csv": "here",
        "there.csv": "there",
        "nowhere.csv": None,
    }
    assert rows["nowhere.csv"]["status"] == "no procedure fits"
    assert rows["nowhere.csv"]["reason"].startswith("the flight fits none of the 2 procedures")
    with local_pool(1) as pool:
        alone = read_settings(procedures / "here.toml")
        by_one = grade(str(folder / "h*.csv"), alone, pool, str(tmp_path / "one"), formats=("csv",))
    (listed,) = by_one.published.tally.worst()
    assert listed.row["mark_percent"] == rows["here.csv"]["mark_percent"]
    assert read_track(folder / "here.csv").file == "here.csv"
