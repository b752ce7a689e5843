"""Alignment and rate of descent on final against the published limits: inside, outside, at the limit, and not assessed."""

import math
from dataclasses import replace

import numpy as np
import pytest
from checked import NOISY, all_of, debriefed, one_of
from final_flights import ELEVATION_FT, SECONDS, down_at, flown_at, runway
from pyproj import Geod
from synthetic import START_S, Chart, Place, Straight, Turn, fly


@pytest.mark.parametrize("off_deg", [0.0, 15.0, 29.5, 30.5, 40.0])
@pytest.mark.parametrize("side", [1, -1])
def test_the_angle_to_the_runway_is_reported_but_not_judged(off_deg, side):
    # AIM 5-4-20 c: straight-in minimums are published where the final course is within 30° of the runway. This is a criterion
    # of charts; a pilot on a course charted otherwise is not at fault.
    approach = flown_at(down_at(700.0), runway=runway(heading_deg=180.0 - side * off_deg))
    finding = one_of(approach, "final_alignment")
    assert (finding.verdict, finding.limit, finding.margin, finding.unit) == ("not assessed", 30.0, None, "deg")
    assert "for information" in str(finding.reason)
    assert finding.measured == pytest.approx(off_deg, abs=0.05)


@pytest.mark.parametrize(("off_deg", "meets_nm"), [(20.0, 1.0), (-20.0, 1.0), (30.0, 0.5), (-10.0, 2.0)])
@pytest.mark.parametrize("ends_s", [360.0, 470.0])
def test_where_the_track_meets_the_centre_line(off_deg, meets_nm, ends_s):
    # 3 1/60 NM south of the fix, so after 390.5 s: the one log ends before it gets there, the other goes on
    heading = 180.0 - off_deg
    south = 3.0 + 1.0 / 60.0 - meets_nm * math.cos(math.radians(heading))
    east = meets_nm * math.sin(math.radians(heading))
    log = replace(NOISY, end_s=ends_s)
    finding = one_of(flown_at(down_at(300.0), log=log, runway=runway(south, east, heading)), "final_alignment")
    assert finding.details["meets_centre_line_nm"] == pytest.approx(meets_nm, abs=0.004)  # an eighth of a second's flight


def test_a_parallel_track_meets_the_centre_line_nowhere():
    assert "meets_centre_line_nm" not in one_of(flown_at(down_at(700.0), runway=runway(east_nm=0.2)), "final_alignment").details


@pytest.mark.parametrize(("off_deg", "there"), [(0.9, False), (-0.9, False), (1.1, True), (-1.1, True)])
def test_below_a_degree_there_is_no_crossing(off_deg, there):
    # the track crosses the centre line a mile before the threshold, 2 NM south of the fix
    heading = 180.0 - off_deg
    place = 3.0 - math.cos(math.radians(heading)), math.sin(math.radians(heading)), heading
    details = one_of(flown_at(down_at(300.0), runway=runway(*place)), "final_alignment").details
    assert details.get("meets_centre_line_nm") == (pytest.approx(1.0, abs=0.02) if there else None)


def test_alignment_needs_no_altitude_but_some_of_the_way_in():
    assert one_of(flown_at(None), "final_alignment").measured == pytest.approx(0.0, abs=0.05)
    on_the_ground = one_of(flown_at(np.full(len(SECONDS), ELEVATION_FT + 50.0)), "final_alignment")
    assert (on_the_ground.verdict, on_the_ground.measured) == ("not assessed", None)


def test_no_runway_no_finding():
    approach = flown_at(down_at(700.0), category="B")
    for check in ("final_alignment", "glide_path", "stabilised_descent"):
        assert all_of(approach, check) == []


@pytest.mark.parametrize(("fpm", "verdict"), [(700.0, "inside"), (1000.0, "too close to call"), (1400.0, "outside")])
def test_a_thousand_feet_a_minute_below_a_thousand_feet(fpm, verdict):
    # FAA-H-8083-16B chapter 4, Maximum Acceptable Descent Rates: not above about 1,000 ft/min below 1,000 ft.
    finding = one_of(flown_at(down_at(fpm)), "stabilised_descent")
    assert (finding.verdict, finding.limit, finding.unit) == (verdict, 1000.0, "fpm")
    assert finding.measured == pytest.approx(fpm, abs=2.0)
    assert finding.details["mean_fpm"] == pytest.approx(fpm, abs=3.0)


def test_a_short_plunge_counts_and_one_above_a_thousand_feet_does_not():
    low = np.interp(SECONDS, [310.0, 370.0, 395.0, 440.0], [2000.0, 1300.0, 717.0, 505.0])  # 1,400 ft/min for 25 s
    finding = one_of(flown_at(low), "stabilised_descent")
    assert (finding.verdict, finding.measured) == ("outside", pytest.approx(1400.0, abs=15.0))
    assert finding.place is not None
    assert 370.0 < finding.place.time_s - START_S < 395.0
    high = np.interp(SECONDS, [310.0, 340.0, 460.0], [2400.0, 1700.0, 505.0])  # 1,400 ft/min to 1,200 ft above, then 598
    assert one_of(flown_at(high), "stabilised_descent").verdict == "inside"


@pytest.mark.parametrize(
    ("how", "why"),
    [
        ({"missing": (385.0, 397.0)}, "altitude is missing"),
        ({"log": replace(NOISY, hole_s=(400.0, 415.0))}, "gap"),
        ({"log": replace(NOISY, end_s=400.0)}, "the log holds too little below 1,000 ft above the threshold"),
    ],
)
def test_an_incomplete_descent_is_not_assessed(how, why):
    # 1,000 ft above the threshold after 396 s
    finding = one_of(flown_at(down_at(700.0), **how), "stabilised_descent")
    assert finding.verdict == "not assessed"
    assert why in str(finding.reason)


def test_an_incomplete_descent_that_was_too_fast_is_outside():
    # 1,400 ft/min from 1,500 ft above the threshold after 360 s; 1,000 ft after 381 s
    assert one_of(flown_at(down_at(1400.0, 2000.0, 360.0), (390.0, 402.0)), "stabilised_descent").verdict == "outside"


@pytest.mark.parametrize(("fpm", "verdict"), [(930.0, "inside"), (950.0, "too close to call"), (1050.0, "too close to call"),
                                              (1070.0, "outside")])  # fmt: skip
def test_the_error_of_a_rate_includes_unsteady_air(fpm, verdict):
    # at least 30 ft/min, so 60 to either side of the limit
    finding = one_of(flown_at(down_at(fpm)), "stabilised_descent")
    assert finding.sd == pytest.approx(30.0, abs=1.0)
    assert finding.verdict == verdict


@pytest.mark.parametrize(
    ("fpm", "mean_fpm", "verdict"),
    [(900.0, 800.0, "inside"), (1200.0, 1000.0, "too close to call"), (1500.0, 1200.0, "outside")],
)
def test_the_rate_is_that_of_a_quarter_of_a_minute(fpm, mean_fpm, verdict):
    # ten seconds of it from 500 ft above the threshold, with 600 ft/min before and after
    low = 1000.0 - fpm / 6.0
    heights = np.interp(SECONDS, [310.0, 400.0, 410.0, 450.0], [1900.0, 1000.0, low, low - 400.0])
    finding = one_of(flown_at(heights), "stabilised_descent")
    assert (finding.verdict, finding.measured) == (verdict, pytest.approx(mean_fpm, abs=10.0))
    assert finding.place is not None
    assert finding.place.time_s - START_S == pytest.approx(405.0, abs=7.0)


@pytest.mark.parametrize(("above_ft", "measured", "verdict"), [(613.0, 1400.0, "outside"), (1113.0, 600.0, "inside")])
def test_near_the_airfield_the_descent_on_the_inbound_leg_counts_too(above_ft, measured, verdict):
    # 1,400 ft/min to the fix, then 600; 1,000 ft above the threshold before the fix or behind it
    heights = ELEVATION_FT + np.interp(SECONDS, [262.0, 300.0, 396.0], [above_ft + 886.7, above_ft, above_ft - 960.0])
    finding = one_of(flown_at(np.maximum(heights, 505.0), runway=runway(1.2)), "stabilised_descent")
    assert (finding.verdict, finding.measured) == (verdict, pytest.approx(measured, abs=10.0))


@pytest.mark.parametrize(
    ("above_ft", "end_s", "measured"),
    [
        (2000.0, 340.0, 20.0),
        (2000.0, 322.0, 0.0),  # the final part is shorter than 30 s
        (1100.0, 340.0, 20.0),
        (900.0, 340.0, 20.0),  # however low it begins
    ],
)
def test_near_the_airfield_the_alignment_of_the_inbound_leg_counts_too(above_ft, end_s, measured):
    # 300 s inbound in line with the runway, at the fix 20° to the right
    way = fly([Straight("inbound", 300.0), Turn("at_fix", 20.0, 18.0), Straight("final", 170.0)], (0.0, 10.0), 180.0)
    heights = np.full(len(SECONDS), ELEVATION_FT + above_ft)
    finding = one_of(flown_at(heights, way=way, log=replace(NOISY, end_s=end_s)), "final_alignment")
    assert finding.measured == pytest.approx(measured, abs=0.3)


@pytest.mark.parametrize("latitude_deg", [75.0, -75.0])
@pytest.mark.parametrize("outbound_deg", [90.0, 270.0])
def test_alignment_accounts_for_the_convergence_of_meridians(latitude_deg, outbound_deg):
    # On a straight line 20 NM long at 75° the track turns by some 20/60 tan 75°, 1.2°, yet it is in line with the runway.
    place = Place(latitude_deg=latitude_deg, outbound_true_deg=outbound_deg)
    latitude, longitude = (float(value[0]) for value in place.lay(np.array([0.0]), np.array([-20.0])))
    to_fix, _, _ = Geod(ellps="WGS84").inv(longitude, latitude, place.longitude_deg, latitude_deg)
    assert abs(math.remainder(to_fix - outbound_deg, 360.0)) > 1.1
    where = {"threshold_latitude_deg": latitude, "threshold_longitude_deg": longitude, "threshold_elevation_ft": 500.0}
    there = {"runway": {"name": "N", "true_heading_deg": (to_fix + 180.0) % 360.0, **where}}
    chart = Chart(side=None, within_nm=None, reversal={"kind": "none"}, tables=there)
    finding = one_of(debriefed(fly([Straight("in", 900.0)], (0.0, 10.0), 180.0), chart=chart, place=place), "final_alignment")
    assert finding.measured == pytest.approx(0.0, abs=0.01)
