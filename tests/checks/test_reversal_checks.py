"""Distance, side and speed of the reversal against the published limits: inside, outside, at the limit, and not assessed."""

import math
from dataclasses import replace

import numpy as np
import pytest
from checked import NOISY, PLAIN, all_of, debriefed, of_pattern, one_of, solve
from patterns import fly_approach
from synthetic import NM, START_S, Chart, Place, Straight, Turn, fly

TEN_NM = 10.0  # AIM 5-4-9 a.3: normally 10 NM, may be cut to 5 NM or raised to 15 NM


def reach_nm(outbound_s: float) -> float:
    """Greatest distance of the plain pattern after some seconds outbound, from the construction."""
    approach = fly_approach(replace(PLAIN, outbound_s=outbound_s))
    return float(approach.flown.distance_nm[approach.flown.time_s > approach.outbound_passage_s].max())


def reaching(distance_nm: float):
    return replace(PLAIN, outbound_s=solve(reach_nm, distance_nm, 60.0, 400.0))


@pytest.mark.parametrize(
    ("distance_nm", "verdict"),
    [(9.9, "inside"), (9.98, "inside"), (10.0, "too close to call"), (10.02, "outside"), (10.6, "outside")],
)
def test_ten_miles(distance_nm, verdict):
    finding = one_of(of_pattern(reaching(distance_nm)), "distance_limit")
    assert finding.verdict == verdict
    assert finding.measured == pytest.approx(distance_nm, abs=0.003)
    assert finding.margin == pytest.approx(TEN_NM - distance_nm, abs=0.003)
    assert (finding.limit, finding.unit) == (TEN_NM, "NM")
    assert "AIM 5-4-9" in finding.source


@pytest.mark.parametrize("within", [5.0, 15.0])
def test_the_charted_distance_counts(within):
    finding = one_of(of_pattern(reaching(9.0), chart=Chart(within_nm=within)), "distance_limit")
    assert finding.limit == within
    assert finding.verdict == ("inside" if within == 15.0 else "outside")


def test_ten_miles_where_none_is_charted():
    chart = Chart(within_nm=None, reversal={"kind": "base-turn", "turn": "left"})
    finding = one_of(of_pattern(reaching(10.6), chart=chart), "distance_limit")
    assert (finding.limit, finding.verdict) == (TEN_NM, "outside")


def test_distance_from_a_point_other_than_the_fix():
    place, pattern = Place(), reaching(9.0)
    latitude, longitude = (float(value[0]) for value in place.lay(*([value] for value in (0.0, 2.0))))
    chart = Chart(within_nm=7.2, reversal={"within_from": {"latitude_deg": latitude, "longitude_deg": longitude}})
    flown = fly_approach(pattern).flown
    from_there = max(math.hypot(x, y - 2.0) for x, y in zip(flown.x_nm, flown.y_nm, strict=True))
    finding = one_of(debriefed(flown, chart=chart), "distance_limit")
    assert finding.measured == pytest.approx(from_there, abs=0.003)
    assert finding.verdict == "inside"


def test_the_finding_gives_place_and_time_of_the_farthest_point():
    approach = fly_approach(reaching(9.0))
    finding = one_of(debriefed(approach), "distance_limit")
    flown = approach.flown
    k = int(flown.distance_nm.argmax())
    assert finding.place is not None
    assert finding.place.time_s - START_S == pytest.approx(float(flown.time_s[k]), abs=4.0)
    latitude, longitude = Place().lay(flown.x_nm[k : k + 1], flown.y_nm[k : k + 1])
    assert math.degrees(finding.place.latitude_rad) == pytest.approx(float(latitude[0]), abs=0.003)
    assert math.degrees(finding.place.longitude_rad) == pytest.approx(float(longitude[0]), abs=0.003)
    assert (finding.leg, finding.part) == ("reversal", "reversal_turn")


def test_slant_range():
    # FAA-H-8083-15B chapter 9: 5,000 ft above the station at 5 NM a DME is off by 1.35 %: 5.067 NM.
    log = replace(NOISY, altitude_ft=5000.0)
    finding = one_of(of_pattern(reaching(5.0), log), "distance_limit")
    assert finding.details["slant_nm"] == pytest.approx(5.067, abs=0.003)
    high = replace(NOISY, altitude_ft=7000.0)
    raised = one_of(of_pattern(reaching(5.0), high, Chart(fix={"elevation_ft": 2000.0})), "distance_limit")
    assert raised.details["slant_nm"] == pytest.approx(5.067, abs=0.003)


@pytest.mark.parametrize("flown", [1, -1])
@pytest.mark.parametrize("charted", ["right", "left"])
def test_side(flown, charted):
    # AIM 5-4-9 a.1: the charted side is binding.
    finding = one_of(of_pattern(replace(PLAIN, side=flown), chart=Chart(side=charted)), "reversal_side")
    assert finding.measured == ("right" if flown > 0 else "left")
    assert finding.limit == charted
    assert finding.verdict == ("inside" if finding.measured == charted else "outside")


def test_a_reversal_where_none_is_charted():
    # AIM 5-4-9 a, b: not permitted on a route charted NoPT.
    finding = one_of(of_pattern(chart=Chart(reversal={"kind": "none"})), "no_reversal")
    assert (finding.verdict, finding.measured, finding.limit) == ("outside", "45/180", "none")
    assert all_of(of_pattern(), "no_reversal") == []


def test_a_straight_in_has_no_side_no_distance_and_no_speed():
    approach = debriefed(fly([Straight("in", 400.0)], (0.0, 10.0), 180.0))
    assert approach.reversal.flown == "straight-in"
    assert one_of(approach, "no_reversal").verdict == "not assessed"  # a clearance would excuse it, which a log does not show
    for check in ("reversal_side", "distance_limit", "speed_limit", "intercept", "offset_time", "turn_bank"):
        assert all_of(approach, check) == []


@pytest.mark.parametrize(
    ("true_kt", "calibrated_kt", "verdict"),
    [
        (207.0, 178.4, "inside"),
        (231.58, 200.0, "too close to call"),  # standard atmosphere at 10,000 ft: 200 kt calibrated are 231.58 kt true
        (255.0, 220.6, "outside"),
    ],
)
def test_two_hundred_knots_at_ten_thousand_feet(true_kt, calibrated_kt, verdict):
    # AIM 5-4-9 a.3: 200 KIAS. At 10,000 ft 100 kt calibrated are 116.22 kt true, 200 are 231.58.
    pattern = replace(PLAIN, speed_kt=true_kt, bank_deg=25.0, wind=(250.0, 30.0), outbound_s=60.0)
    finding = one_of(of_pattern(pattern, replace(NOISY, altitude_ft=10_000.0)), "speed_limit")
    assert finding.limit == 200.0
    assert finding.measured == pytest.approx(calibrated_kt, abs=2.0)
    assert finding.verdict == verdict
    assert finding.basis == "estimate"


def test_the_charted_speed_counts():
    chart = Chart(reversal={"maximum_speed_kias": 110})  # ICAO Doc 8168: category A reversals
    finding = one_of(of_pattern(replace(PLAIN, speed_kt=150.0), chart=chart), "speed_limit")
    assert (finding.limit, finding.verdict) == (110.0, "outside")


def test_the_greatest_speed_is_found_where_it_was_flown():
    # Fast at the passage, slowed down outbound: 150 kt to 100 kt true, at 5,000 ft: density ratio 0.8617 (ISO 2533).
    approach = fly_approach(replace(PLAIN, speed_kt=150.0, reversal_kt=100.0, bank_deg=18.0))
    finding = one_of(debriefed(approach, replace(NOISY, altitude_ft=5000.0)), "speed_limit")
    assert finding.measured == pytest.approx(150.0 * math.sqrt(0.8617), abs=4.0)
    assert finding.place is not None
    assert finding.place.time_s - START_S < approach.outbound_passage_s + 15.0


def test_units_of_the_margin():
    finding = one_of(of_pattern(), "speed_limit")
    assert finding.margin == pytest.approx(finding.limit - finding.measured)
    assert finding.sd == pytest.approx(2.0, abs=2.0)
    distance = one_of(of_pattern(), "distance_limit")
    assert distance.sd == pytest.approx(3.0 / NM, rel=0.3)  # a receiver's slow wander of 3 m


def test_a_reversal_on_the_other_side_is_reported_with_time_and_distance():
    # AIM 5-4-9 a.1: the charted side is the protected one
    pattern = replace(PLAIN, side=1, intercept=True)
    approach = fly_approach(pattern)
    finding = one_of(debriefed(approach, chart=Chart(side="left")), "reversal_side")
    flown = approach.flown
    out = flown.time_s > approach.outbound_passage_s
    assert finding.verdict == "outside"
    assert finding.details["uncharted_side_nm"] == pytest.approx(float(flown.x_nm[out].max()), abs=0.03)
    away_s = float(((flown.x_nm > 0.1) & out).sum() * np.median(np.diff(flown.time_s)))
    assert finding.details["uncharted_side_s"] == pytest.approx(away_s, abs=8.0)
    assert "s on that side" in finding.sentence


@pytest.mark.parametrize(("astray_s", "reported"), [(0.0, False), (40.0, True)])
def test_a_corrected_entry_to_the_other_side_is_reported_but_inside(astray_s, reported):
    # AIM 5-4-9 a.1: a pilot on the other side of the outbound course corrects back to it
    out = [Straight("arrival", 120.0), Turn("off", 45.0, 18.0), Straight("beside", astray_s + 1.0), Turn("back", -90.0, 18.0)]
    there = fly([*out, Straight("cut", 10.0)], (0.0, -4.0), 0.0, roll_deg_s=5.0)
    back_s = 10.0 + float(there.x_nm[-1]) / (120.0 * math.sin(math.radians(45.0))) * 3600.0
    path = [*out, Straight("cut", back_s), Turn("on", 45.0, 18.0), Straight("outbound", 60.0)]
    path += [Turn("offset_turn", -45.0, 18.0), Straight("offset_leg", 45.0), Turn("reversal_turn", 195.0, 18.0)]
    away = float(fly([*path, Straight("cut", 10.0)], (0.0, -4.0), 0.0, roll_deg_s=5.0).x_nm[-1])
    home_s = 10.0 - away / (120.0 * math.sin(math.radians(30.0))) * 3600.0
    path += [Straight("cut", home_s), Turn("intercept", 30.0, 15.0), Straight("inbound", 300.0)]
    finding = one_of(debriefed(fly(path, (0.0, -4.0), 0.0, roll_deg_s=5.0), chart=Chart(side="left")), "reversal_side")
    assert (finding.verdict, finding.measured) == ("inside", "left")
    assert ("uncharted_side_nm" in finding.details) == reported
    assert ("then back" in finding.sentence) == reported
