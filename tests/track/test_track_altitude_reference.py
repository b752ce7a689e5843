"""Heights that count from the ellipsoid: stated, and their possible error carried into what is judged by them.

Sea level lies up to about 105 m from the ellipsoid, some 30 m root mean square over the Earth (EGM96; from memory).
"""

import json
from dataclasses import replace

import pytest
from checked import all_of, debriefed
from flights import flown
from log_writers import geojson_points, igc
from patterns import Pattern, fly_approach
from synthetic import Chart, Log

from analyzer import debrief, read_track

FT = 0.3048
OFFSET_SD_M = 30.0
FLIGHT = flown(120)


def test_gnss_heights_of_an_igc_file_may_be_off(tmp_path):
    path = tmp_path / "log.igc"
    path.write_text(igc(FLIGHT), encoding="ascii")
    track = read_track(path)
    assert track.altitude_offset_sd_m == OFFSET_SD_M
    assert any("above the ellipsoid" in note.text for note in track.notes)


def test_a_csv_is_taken_at_its_word(tmp_path):
    path = tmp_path / "log.csv"
    path.write_text("time,lat,lon,altitude ft\n2026-06-01T10:00:00Z,41,-38,3000\n2026-06-01T10:00:01Z,41.001,-38,3000\n")
    assert read_track(path).altitude_offset_sd_m == 0.0


def test_a_third_coordinate_may_be_off_and_a_property_is_not(tmp_path):
    path = tmp_path / "log.geojson"
    path.write_text(geojson_points(FLIGHT), encoding="utf-8")
    document = json.loads(path.read_text(encoding="utf-8"))
    assert all(len(feature["geometry"]["coordinates"]) == 3 for feature in document["features"])
    assert read_track(path).altitude_offset_sd_m == OFFSET_SD_M
    for feature in document["features"]:
        feature["properties"]["altitude_m"] = feature["geometry"]["coordinates"][2]
    path.write_text(json.dumps(document), encoding="utf-8")
    assert read_track(path).altitude_offset_sd_m == 0.0


@pytest.fixture(scope="module")
def both():
    """The same flight, 150 ft above its minimum, from sea level and from the ellipsoid."""
    chart = Chart(floors_ft={"outbound": 2850.0, "reversal": 2850.0})
    track = Log(noise_m=1.0, altitude_ft=3000.0).of(fly_approach(Pattern()).flown)
    sure, unsure = (debrief(one, chart.at()) for one in (track, replace(track, altitude_offset_sd_m=OFFSET_SD_M)))
    return sure, unsure


def findings(result, check):
    (approach,) = result.approaches
    return [finding for finding in approach.findings if finding.check == check]


def test_a_minimum_is_judged_with_that_error(both):
    """Above a minimum only the log's noise is doubted, here none, and what it is off by throughout: 30 m make 150 ft unsure."""
    for finding in findings(both[0], "altitude_floor"):
        assert (finding.verdict, finding.sd) == ("inside", pytest.approx(0.0, abs=1.0))
    for finding in findings(both[1], "altitude_floor"):
        assert finding.sd == pytest.approx(OFFSET_SD_M / FT, abs=1.0)
        assert finding.verdict == "too close to call"


def test_what_is_nearer_is_no_longer_called():
    flown, chart = fly_approach(Pattern()).flown, Chart(floors_ft={"reversal": 2990.0})
    track = Log(noise_m=1.0, altitude_ft=3000.0).of(flown)
    sure, unsure = (
        {f.leg: f.verdict for f in findings(debrief(one, chart.at()), "altitude_floor")}
        for one in (track, replace(track, altitude_offset_sd_m=OFFSET_SD_M))
    )
    assert sure == {"reversal": "inside"}
    assert unsure == {"reversal": "too close to call"}


def test_a_level_held_does_not_depend_on_it(both):
    """An offset is the same all along."""
    sure, unsure = (findings(result, "altitude_hold") for result in both)
    assert [(f.verdict, f.sd) for f in sure] == [(f.verdict, f.sd) for f in unsure]
    assert sure


def test_the_table_of_the_motion_says_so_too(both):
    sure, unsure = (result.motion.to_frame()["altitude_sd_ft"].median() for result in both)
    assert unsure**2 - sure**2 == pytest.approx((OFFSET_SD_M / FT) ** 2)


def test_the_helpers_of_other_tests_are_of_sea_level():
    assert all(finding.sd == pytest.approx(20.0) for finding in all_of(debriefed(fly_approach(Pattern())), "altitude_floor"))
