"""Altitudes held, passages of the fix and where the outbound leg ends: inside, outside, at the limit, and not assessed."""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import pytest
from checked import NOISY, PLAIN, all_of, debriefed, one_of
from patterns import fly_approach
from synthetic import START_S, Chart, Flown, Straight, Turn, fly

from analyzer import debrief

STRAIGHT_IN = Chart(side=None, within_nm=None, reversal={"kind": "none"})
LONG_WAY_IN = fly([Straight("inbound", 780.0)], (0.0, 20.0), 180.0)  # the fix after 600 s


def at_heights(heights: Sequence[tuple[float, float]] | float | None, **log: object):
    return debriefed(LONG_WAY_IN, replace(NOISY, altitude_ft=heights, **log), STRAIGHT_IN)


def departing(by_ft: float, held_ft: float = 3000.0) -> list[tuple[float, float]]:
    """Level but for one slow departure, a minute each way and 20 s of it there."""
    away = held_ft + by_ft
    return [(0.0, held_ft), (200.0, held_ft), (260.0, away), (280.0, away), (340.0, held_ft), (1e5, held_ft)]


@pytest.mark.parametrize(("by_ft", "verdict"), [(50.0, "inside"), (100.0, "too close to call"), (160.0, "outside")])
@pytest.mark.parametrize("sign", [1, -1])
def test_a_hundred_feet_off_an_altitude_that_is_held(by_ft, verdict, sign):
    # FAA-S-ACS-8C IR.IV.A.S1: altitude ±100 ft.
    finding = one_of(at_heights(departing(sign * by_ft)), "altitude_hold", leg="inbound")
    assert (finding.verdict, finding.limit, finding.unit) == (verdict, 100.0, "ft")
    assert finding.measured == pytest.approx(by_ft, abs=2.0)
    assert finding.details["level_ft"] == pytest.approx(3000.0, abs=2.0)
    assert ("above" if sign > 0 else "below") in finding.sentence
    assert finding.place is not None
    assert 255.0 < finding.place.time_s - START_S < 285.0


def test_each_level_is_judged_by_its_own_altitude():
    two = [(0.0, 3000.0), (200.0, 3000.0), (300.0, 2000.0), (1e5, 2000.0)]
    finding = one_of(at_heights(two), "altitude_hold", leg="inbound")
    assert (finding.verdict, finding.measured) == ("inside", pytest.approx(0.0, abs=5.0))
    strayed = [(0.0, 4000.0), (60.0, 4000.0), (160.0, 3000.0), *departing(160.0)[1:]]
    finding = one_of(at_heights(strayed), "altitude_hold", leg="inbound")
    assert (finding.verdict, finding.details["level_ft"]) == ("outside", pytest.approx(3000.0, abs=5.0))


@pytest.mark.parametrize("by_ft", [200.0, -200.0])
@pytest.mark.parametrize("stays", [True, False])
def test_an_excursion_is_one_however_shortly_before_the_end_of_the_leg_it_returns(by_ft, stays):
    # 600 ft/min to it, a minute there, and back 20 s before the fix, where the leg ends; or on and through the level at once
    away, after = 3000.0 + by_ft, (1e5, 3000.0) if stays else (700.0, 3000.0 - 6.0 * by_ft)
    path = [(0.0, 3000.0), (480.0, 3000.0), (500.0, away), (560.0, away), (580.0, 3000.0), after]
    finding = one_of(at_heights(path), "altitude_hold", leg="inbound")
    assert finding.verdict == ("outside" if stays else "inside")
    if stays:
        assert finding.measured == pytest.approx(200.0, abs=10.0)
        assert finding.details["level_ft"] == pytest.approx(3000.0, abs=10.0)


@pytest.mark.parametrize("by_ft", [250.0, -250.0])
def test_a_steep_excursion_that_returns_is_a_departure(by_ft):
    # 500 ft/min to it, 20 s there and back again
    away = 3000.0 + by_ft
    path = [(0.0, 3000.0), (200.0, 3000.0), (230.0, away), (250.0, away), (280.0, 3000.0), (1e5, 3000.0)]
    finding = one_of(at_heights(path), "altitude_hold", leg="inbound")
    assert (finding.verdict, finding.measured) == ("outside", pytest.approx(250.0, abs=3.0))
    assert finding.details["level_ft"] == pytest.approx(3000.0, abs=2.0)
    assert finding.place is not None
    assert 225.0 < finding.place.time_s - START_S < 255.0


@pytest.mark.parametrize("sign", [1, -1])
@pytest.mark.parametrize(("step_ft", "levels"), [(145.0, 1), (155.0, 2)])
def test_levels_within_a_hundred_and_fifty_feet_are_one(step_ft, levels, sign):
    # 180 s at the one and 340 s at the other, 200 ft/min between them: where they are one, the first is that far off it
    height = 3000.0 + sign * step_ft
    path = [(0.0, 3000.0), (180.0, 3000.0), (180.0 + step_ft * 0.3, height), (1e5, height)]
    finding = one_of(at_heights(path), "altitude_hold", leg="inbound")
    if levels == 1:
        assert (finding.verdict, finding.measured) == ("outside", pytest.approx(step_ft, abs=2.0))
    else:
        # no more than what a level part takes with it of the change, 20 s of it at most
        assert finding.measured < 200.0 / 3.0


@pytest.mark.parametrize(("fpm", "level"), [(120.0, True), (-120.0, True), (180.0, False), (-180.0, False)])
def test_level_is_less_than_a_hundred_and_fifty_feet_a_minute(fpm, level):
    # for 95 s between two descents of 600 ft/min: up or down by less than the 200 ft that are a climb or descent however slow
    then = 4000.0 + fpm * 95.0 / 60.0
    path = [(0.0, 6000.0), (200.0, 4000.0), (295.0, then), (295.0 + (then - 500.0) / 10.0, 500.0)]
    assert ("inbound" in {finding.leg for finding in all_of(at_heights(path), "altitude_hold")}) == level


def test_a_descent_has_no_level():
    assert all_of(at_heights([(0.0, 9000.0), (780.0, 0.0)]), "altitude_hold") == []


def test_a_departure_is_reported_on_its_own_leg():
    stepped = [(0.0, 3000.0), (580.0, 3000.0), (640.0, 2600.0), (1e5, 2600.0)]
    found = {finding.leg: finding.details["level_ft"] for finding in all_of(at_heights(stepped), "altitude_hold")}
    assert found == {"inbound": pytest.approx(3000.0, abs=5.0), "final": pytest.approx(2600.0, abs=5.0)}


def test_what_the_curve_does_in_a_hole_of_the_log_is_no_departure():
    """Up at 250 ft/min into thirty seconds without a sample, and down so out of them: logged is 63 ft off the level at most."""
    path = [(0.0, 3000.0), (285.0, 3000.0), (315.0, 3125.0), (345.0, 3000.0), (1e5, 3000.0)]
    track = replace(NOISY, altitude_ft=path).of(LONG_WAY_IN)
    logged = np.abs(track.time_s - START_S - 315.0) >= 15.0
    columns = {name: getattr(track, name)[logged] for name in ("time_s", "latitude_rad", "longitude_rad", "altitude_m")}
    (approach,) = debrief(replace(track, **columns), STRAIGHT_IN.at()).approaches
    finding = one_of(approach, "altitude_hold", leg="inbound")
    assert finding.verdict == "not assessed"
    assert finding.measured == pytest.approx(62.5, abs=10.0)


def test_no_altitude_no_level():
    finding = one_of(at_heights(None), "altitude_hold")
    assert (finding.verdict, finding.reason) == ("not assessed", "the log has no altitude")


@pytest.mark.parametrize(("by_ft", "verdict"), [(40.0, "not assessed"), (160.0, "outside")])
def test_a_gap_makes_inside_not_assessed_but_leaves_a_departure_outside(by_ft, verdict):
    finding = one_of(at_heights(departing(by_ft), hole_s=(420.0, 440.0)), "altitude_hold", leg="inbound")
    assert finding.verdict == verdict
    assert ("gap" in str(finding.reason)) == (verdict == "not assessed")


@pytest.mark.parametrize(("by_ft", "verdict"), [(40.0, "not assessed"), (160.0, "outside")])
def test_missing_altitudes_make_inside_not_assessed_but_leave_a_departure_outside(by_ft, verdict):
    track = replace(NOISY, altitude_ft=departing(by_ft)).of(LONG_WAY_IN)
    second = track.time_s - START_S
    track = replace(track, altitude_m=np.where((second > 420.0) & (second < 440.0), np.nan, track.altitude_m))
    (approach,) = debrief(track, STRAIGHT_IN.at()).approaches
    finding = one_of(approach, "altitude_hold", leg="inbound")
    assert finding.verdict == verdict
    assert ("altitude is missing" in str(finding.reason)) == (verdict == "not assessed")
    assert one_of(approach, "altitude_hold", leg="final").verdict == "inside"


def passing(aside_nm: float, kind: str = "vor", altitude_ft: float | None = 1500.0, **log: object):
    """Straight in past a station at 500 ft, some miles right of it as seen looking outbound; abeam after 300 s."""
    chart = replace(STRAIGHT_IN, fix={"kind": kind, "elevation_ft": 500.0})
    flown = fly([Straight("inbound", 450.0)], (aside_nm, 10.0), 180.0)
    return one_of(debriefed(flown, replace(NOISY, altitude_ft=altitude_ft, **log), chart), "station_passage")


@pytest.mark.parametrize(("kind", "cone_nm"), [("vor", 0.196), ("ndb", 0.138)])
@pytest.mark.parametrize("aside_nm", [0.1, 0.25])
@pytest.mark.parametrize("side", [1, -1])
def test_the_cone_of_ambiguity_is_reported_but_not_judged(kind, cone_nm, aside_nm, side):
    # ICAO Doc 8168 Vol. I 2.4.4: 50° from the vertical for a VOR, 40° for an NDB; by 1,000 ft above 0.196 and 0.138 NM. It is a
    # tolerance of chart design, not a limit on the distance abeam.
    finding = passing(side * aside_nm, kind)
    assert (finding.verdict, finding.margin, finding.unit) == ("not assessed", None, "NM")
    assert "for information" in str(finding.reason)
    assert finding.limit == pytest.approx(cone_nm, abs=0.0005)
    assert finding.measured == pytest.approx(aside_nm, abs=0.002)
    assert finding.place is not None
    assert finding.place.time_s - START_S == pytest.approx(300.0, abs=0.5)


def test_the_cone_grows_with_the_height():
    # 3,000 ft above a VOR it reaches 0.588 NM, above an NDB 0.414 NM.
    assert passing(0.3, "vor", 3500.0).limit == pytest.approx(0.588, abs=0.001)
    assert passing(0.3, "ndb", 3500.0).limit == pytest.approx(0.414, abs=0.001)


def test_a_fix_without_a_cone_is_reported_without_a_verdict():
    finding = passing(0.3, "waypoint")
    assert (finding.verdict, finding.limit, finding.margin) == ("not assessed", None, None)
    assert finding.measured == pytest.approx(0.3, abs=0.002)


def test_no_altitude_no_cone():
    finding = passing(0.1, altitude_ft=None)
    assert (finding.verdict, finding.limit) == ("not assessed", None)


@pytest.mark.parametrize("turned", [10.0, -10.0])
def test_the_change_of_course_in_the_cone(turned):
    # 10° at the fix, 3,000 ft above it: begun and ended well within 0.59 NM of it
    flown = fly([Straight("in", 297.0), Turn("at_fix", turned, 5.0), Straight("on", 120.0)], (0.0, 10.0), 180.0)
    finding = one_of(debriefed(flown, chart=STRAIGHT_IN), "station_passage")
    assert finding.details["course_change_deg"] == pytest.approx(turned, abs=0.7)


def outbound_in(wind_kt: float, seconds: float, side: int = 1) -> tuple[Flown, float]:
    """A procedure turn with a headwind outbound, and when the fix was passed."""
    approach = fly_approach(replace(PLAIN, outbound_s=seconds, side=side, wind=(0.0, wind_kt), intercept=True))
    return approach.flown, approach.outbound_passage_s


@pytest.mark.parametrize(("wind_kt", "seconds"), [(0.0, 90.0), (0.0, 150.0), (20.0, 120.0)])
@pytest.mark.parametrize("side", [1, -1])
def test_where_the_outbound_leg_ends(wind_kt, seconds, side):
    # AIM 5-4-9 a.1: where to begin the turn is the pilot's choice. Distance is ground speed times time.
    flown, passed_s = outbound_in(wind_kt, seconds, side)
    finding = one_of(debriefed(flown, chart=Chart(side="right" if side > 0 else "left")), "outbound_length")
    assert (finding.verdict, finding.limit, finding.unit) == ("not assessed", None, "NM")
    assert finding.measured == pytest.approx((120.0 - wind_kt) * seconds / 3600.0, abs=0.07)  # two seconds' flight
    assert finding.details["from_passage_s"] == pytest.approx(seconds, abs=2.0)
    assert finding.details["ground_speed_kt"] == pytest.approx(120.0 - wind_kt, abs=1.0)
    assert finding.place is not None
    assert finding.place.time_s - START_S == pytest.approx(passed_s + seconds, abs=2.0)


def test_no_outbound_leg_no_length():
    assert all_of(debriefed(LONG_WAY_IN, chart=STRAIGHT_IN), "outbound_length") == []
