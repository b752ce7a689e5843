"""Established on the inbound course: half of full scale of each guidance, 15° of track, and 5 s of it.

Doc 8168 has half of full scale for VOR and localizer and 5° for an NDB. The flights are straight lines in the plane of the fix,
so that the instant each comes within the limit follows from their own coordinates.
"""

import datetime as dt
import math
from collections.abc import Mapping
from typing import Any

import numpy as np
import pytest
from patterns import Pattern, fly_approach
from synthetic import FT, NM, START_S, Chart, Flown, Log, Place, Straight, Turn, fly

from analyzer import debrief
from analyzer.legs.boundaries import established_at
from analyzer.motion.smooth import analyse_motion
from analyzer.procedure.charted import resolve

STANDARDS = ("faa-instrument", "faa-transport", "icao-ops", "common-practice")
NORTH_OUT = Place(outbound_true_deg=0.0)  # a meridian: the course is the same all the way
QUIET = Log(noise_m=0.3)
NONE = {"kind": "none"}
HOLD = {"kind": "hold", "turn": "right", "leg_time_s": 60}


def cutting(across_nm: float, out_nm: float, cut_deg: float, seconds: float) -> Flown:
    """At 120 kt from a point right of the course looking outbound, cutting towards it on the way in."""
    return fly([Straight("cut", seconds)], (across_nm, out_nm), 180.0 + cut_deg)


def when(
    flown: Flown, reversal: Mapping[str, Any] = NONE, log: Log = QUIET, until_s: float = 1e4, **chart: Any
) -> float | None:
    """The second at which the flight is established inbound."""
    chart = {"side": None, "within_nm": None, **chart}
    charted = resolve(Chart(reversal=reversal, **chart).at(NORTH_OUT), dt.date(2026, 6, 1))
    states = analyse_motion(log.of(flown, NORTH_OUT), charted).states
    at = established_at(states, charted, START_S, START_S + until_s)
    return None if at is None else at - START_S


def first_within(flown: Flown, off: np.ndarray, limit: float) -> float:
    return float(flown.time_s[np.flatnonzero(np.abs(off) <= limit)[0]])


def angle_deg(flown: Flown, station_y_nm: float = 0.0) -> np.ndarray:
    """The angle off the course seen from a station on it."""
    return np.degrees(np.arctan2(flown.x_nm, flown.y_nm - station_y_nm))


def at(x_nm: float, y_nm: float) -> tuple[float, float]:
    latitude, longitude = NORTH_OUT.lay(np.array([x_nm]), np.array([y_nm]))
    return float(latitude[0]), float(longitude[0])


CUT = cutting(1.0, 9.0, 9.0, 200.0)  # 6.3° off at first, meeting the course 2.7 NM out


@pytest.mark.parametrize("kind", ["vor", "ndb"])
@pytest.mark.parametrize("mirrored", [False, True])
def test_five_degrees_of_a_vor_and_of_an_ndb(kind, mirrored):
    # Doc 8168 Vol I: half of the full scale of 10° for a VOR, 5° for an NDB
    expected = first_within(CUT, angle_deg(CUT), 5.0)
    assert 20.0 < expected < 180.0
    assert when(CUT.mirrored() if mirrored else CUT, fix={"kind": kind}) == pytest.approx(expected, abs=0.5)


@pytest.mark.parametrize(
    ("length_ft", "full_scale_deg"), [(10_000.0, 1.8225), (7_000.0, 2.5051), (5_000.0, 3.0), (14_000.0, 1.5)]
)
def test_half_of_a_localizer_s_own_width(length_ft, full_scale_deg):
    # AIM 1-1-9 b.2: some 700 ft wide at the threshold. 350 ft seen from 1,000 ft beyond the far end: atan(350/11,000) = 1.82°
    # and atan(350/8,000) = 2.51°; of 5,000 ft it would be 3.34° and of 14,000 ft 1.34°, which are held to 3° and 1.5°.
    latitude, longitude = at(0.0, -3.0)
    runway = {
        "name": "18",
        "threshold_latitude_deg": latitude,
        "threshold_longitude_deg": longitude,
        "threshold_elevation_ft": 100,
        "true_heading_deg": 180.0,
        "length_ft": length_ft,
    }
    flown = cutting(1.2, 9.0, 8.0, 275.0)
    antenna_y_nm = -3.0 - (length_ft + 1000.0) * FT / NM
    expected = first_within(flown, angle_deg(flown, antenna_y_nm), full_scale_deg / 2.0)
    assert 20.0 < expected < 265.0
    tables = {"guidance": {"kind": "localizer"}, "runway": runway}
    assert when(flown, tables=tables) == pytest.approx(expected, abs=0.7)


def test_half_a_mile_of_gps_however_near_the_fix():
    flown = cutting(1.2, 5.0, 10.0, 180.0)
    expected = first_within(flown, flown.x_nm, 0.5)
    assert when(flown, fix={"kind": "waypoint"}) == pytest.approx(expected, abs=0.5)
    # half of a scale that the procedure gives
    guidance = {"kind": "gps", "full_scale_nm": 0.6}
    narrow = first_within(flown, flown.x_nm, 0.3)
    assert when(flown, fix={"kind": "waypoint"}, tables={"guidance": guidance}) == pytest.approx(narrow, abs=0.5)


@pytest.mark.parametrize("kind", ["vor", "ndb"])
def test_of_a_hold_away_from_its_station_the_angle_at_the_fix_of_the_hold_counts(kind):
    # 5° at a station 20 NM beyond would be 2.2 NM off the course here
    latitude, longitude = at(0.0, -20.0)
    guidance = {"kind": kind, "latitude_deg": latitude, "longitude_deg": longitude}
    expected = first_within(CUT, angle_deg(CUT), 5.0)
    assert first_within(CUT, angle_deg(CUT, -20.0), 5.0) < expected - 20.0
    found = when(CUT, HOLD, fix={"kind": "waypoint"}, tables={"guidance": guidance})
    assert found == pytest.approx(expected, abs=0.5)


def test_of_a_hold_that_nothing_gives_an_angle_for_it_is_half_a_mile():
    expected = first_within(CUT, CUT.x_nm, 0.5)
    assert when(CUT, HOLD, fix={"kind": "waypoint"}) == pytest.approx(expected, abs=0.5)


@pytest.mark.parametrize("mirrored", [False, True])
def test_the_track_within_fifteen_degrees(mirrored):
    # on the course within 5° all along, the heading turned from 40° off to 0° by half a degree a second
    bank = math.degrees(math.atan(120.0 * NM / 3600.0 * math.radians(0.5) / 9.80665))
    flown = fly([Turn("round", -40.0, bank), Straight("on", 30.0)], (0.5, 9.0), 220.0)
    expected = first_within(flown, flown.heading_deg - 180.0, 15.0)
    assert expected == pytest.approx(50.0, abs=0.2)  # 25° at half a degree a second
    assert np.abs(angle_deg(flown)).max() < 5.0
    assert when(flown.mirrored() if mirrored else flown) == pytest.approx(expected, abs=0.5)


@pytest.mark.parametrize(("cut_deg", "established"), [(14.0, True), (16.0, False), (30.0, False)])
def test_a_course_that_is_crossed_at_more_than_fifteen_degrees_is_not_held(cut_deg, established):
    flown = cutting(1.0, 9.0, cut_deg, 260.0 if cut_deg < 20.0 else 130.0)
    assert float(flown.x_nm[-1]) < -0.3  # it goes on across
    assert (when(flown) is not None) == established


@pytest.mark.parametrize(("from_antenna_nm", "established"), [(1.0, False), (1.4, False), (1.75, True), (3.0, True)])
def test_who_is_on_the_course_for_three_seconds_only_is_not_established(from_antenna_nm, established):
    # A localizer of 1.5° is 0.75° either way here, 0.026 NM across at a mile from it. At 120 kt and a cut of 14° that takes
    # 3.2 s, and 9.7 s at three miles; 4.5 s at 1.4 and 5.7 s at 1.75 miles: five seconds are asked.
    guidance = {"kind": "localizer", "full_scale_deg": 1.5}
    seconds = 2.0 * from_antenna_nm * math.tan(math.radians(0.75)) / (math.sin(math.radians(14.0)) / 30.0)
    assert (seconds > 5.0) == established
    along = math.cos(math.radians(14.0))
    flown = cutting(1.0 * math.sin(math.radians(14.0)), from_antenna_nm + along, 14.0, 45.0)
    assert (when(flown, tables={"guidance": guidance}) is not None) == established


def test_the_stay_counts_from_its_beginning_even_where_it_ends_beyond_the_limit_of_the_search():
    expected = first_within(CUT, angle_deg(CUT), 5.0)
    assert when(CUT, until_s=expected + 1.0) == pytest.approx(expected, abs=0.5)
    assert when(CUT, until_s=expected - 2.0) is None


def test_a_log_that_ends_three_seconds_into_it_does_not_tell():
    expected = first_within(CUT, angle_deg(CUT), 5.0)
    assert when(CUT, log=Log(noise_m=0.3, end_s=expected + 3.0)) is None
    assert when(CUT, log=Log(noise_m=0.3, end_s=expected + 8.0)) == pytest.approx(expected, abs=0.7)


@pytest.mark.parametrize("step_s", [1.0, 2.0, 5.0])
def test_sparse_logs_tell_the_same(step_s):
    expected = first_within(CUT, angle_deg(CUT), 5.0)
    assert when(CUT, log=Log(noise_m=0.3, step_s=step_s)) == pytest.approx(expected, abs=1.0)


def test_it_is_the_same_by_every_standard():
    pattern = Pattern(roll_deg_s=5.0, leg_s=50.0, intercept=True)
    track = QUIET.of(fly_approach(pattern).flown)
    instants = {debrief(track, Chart().at(), name).approaches[0].reversal.established_s for name in STANDARDS}
    assert len(instants) == 1
    assert None not in instants


@pytest.mark.parametrize("side", [1, -1])
@pytest.mark.parametrize("cut_deg", [58.0, 62.0, 65.0])
def test_a_straight_in_is_established_before_it_swerves_and_comes_back(cut_deg, side):
    """On the course from 13 NM to 8, then off it by three quarters of a VOR's scale and more, and back at the same angle."""
    path = [
        Straight("on", 150.0), Turn("off", cut_deg, 25.0), Straight("away", 20.0), Turn("back", -2.0 * cut_deg, 25.0),
        Straight("home", 20.0), Turn("join", cut_deg, 25.0), Straight("inbound", 250.0),
    ]  # fmt: skip
    start = fly(path, (0.0, 13.0), 180.0)
    flown = fly(path, (-float(start.x_nm[-1]) / 2.0, 13.0), 180.0)  # it ends as far on one side as it began on the other
    flown = flown if side > 0 else flown.mirrored()
    chart = Chart(reversal=NONE, side=None, within_nm=None).at(NORTH_OUT)
    (one,) = debrief(QUIET.of(flown, NORTH_OUT), chart).approaches
    assert one.reversal.first_established_s == pytest.approx(START_S, abs=2.0)
    before = flown.y_nm > 1.0
    peak_deg = float(np.degrees(np.arctan2(np.abs(flown.x_nm), flown.y_nm)[before]).max())
    assert peak_deg > 7.5  # three quarters of 10°: FAA-S-ACS-8C IR.VI.A.S9
    (finding,) = (one for one in one.findings if one.check == "inbound_course")
    assert (finding.verdict, finding.measured) == ("outside", pytest.approx(peak_deg, abs=0.3))
