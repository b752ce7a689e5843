"""The final course against the limit of each standard: what is tracking, what is intercepting, and what is visual.

FAA-S-ACS-8C IR.VI.A.S12: three quarters of full scale; FAA-S-ACS-11 AA.VI.E: one quarter; ICAO: one half; UK retained
Reg. 1178/2011 Part-FCL, Appendix 7: radio aids ±5°, half scale for RNP. Full scale of a VOR is 10°, of GPS on final 0.3 NM
(AIM 1-1-17). Flights go south at 120 kt, 30 s a mile, and pass the fix after 300 s.
"""

import datetime as dt
import math
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from checked import NOISY, all_of, one_of
from descents import ALL_THE_WAY, TO_MDA, descended, path, second
from final_flights import NORTH_OUT, SECONDS, flown_at, runway
from synthetic import NM, START_S, Chart, Flown, G, Segment, Straight, Turn, fly

from analyzer.checks.course_deviation import tracking
from analyzer.legs.guidance import needle
from analyzer.motion.smooth import analyse_motion
from analyzer.procedure.charted import resolve

LEVEL = ((15.0, 1700.0), (5.0, 1700.0), (2.0, 950.0), (0.0, 950.0), (-3.0, 2500.0))  # then a missed approach


def station(south_nm: float) -> dict[str, Any]:
    """Guidance by a VOR some miles beyond the fix."""
    latitude, longitude = NORTH_OUT.lay(np.array([0.0]), np.array([-south_nm]))
    return {"guidance": {"kind": "vor", "latitude_deg": float(latitude[0]), "longitude_deg": float(longitude[0])}}


AHEAD = station(12.0)  # 7 NM beyond the threshold: an angle there is never near its cone on final


def jinked(off_nm: float, at_s: float = 330.0) -> Flown:
    """On the course until a second, then off it at 25° to a distance to the right looking inbound, and parallel on."""
    cut, radius_nm = math.radians(25.0), (120.0 / 3600.0 * NM) ** 2 / (G * math.tan(math.radians(25.0))) / NM
    seconds = (off_nm - 2.0 * radius_nm * (1.0 - math.cos(cut))) / math.sin(cut) * 30.0
    turns = Turn("off", 25.0, 25.0), Turn("parallel", -25.0, 25.0)
    path: list[Segment] = [Straight("inbound", at_s), turns[0], Straight("straying", seconds), turns[1]]
    return fly([*path, Straight("on", 300.0)], (0.0, 10.0), 180.0)


def joining(then_deg: float = 0.0) -> Flown:
    """At 45° to the course from 5.5° off it at the station ahead, and onto it; then off it again to the left by an angle."""
    path: list[Segment] = [Straight("cutting", 27.0), Turn("on", -45.0 - then_deg, 25.0), Straight("then", 150.0)]
    return fly(path, (0.77, 2.0), 225.0)


def most(flown: Flown, until_s: float, station_y_nm: float = -12.0) -> float:
    """Greatest angle off the course at a station on it, from the passage of the fix to an instant, in degrees."""
    on = (flown.time_s > 300.0) & (flown.time_s < until_s)
    return float(np.abs(np.degrees(np.arctan2(flown.x_nm[on], flown.y_nm[on] - station_y_nm))).max())


def course(way: Flown, heights: Any = LEVEL, **given: Any):
    return one_of(descended(heights, way=way, **{**AHEAD, **given}), "final_course")


LIMITS = {
    "faa-instrument": 7.5,
    "faa-transport": 2.5,
    "icao-ops": 5.0,
    "part-fcl": 5.0,  # Part-FCL Appendix 7: tracking radio aids ±5°
    "common-practice": 7.5,
}


@pytest.mark.parametrize(("off_nm", "inside"), [(0.15, {2.5, 5.0, 7.5}), (0.4, {5.0, 7.5}), (0.7, {7.5}), (1.0, set())])
@pytest.mark.parametrize("standard", LIMITS)
def test_each_standard_has_its_own_limit_on_final(standard, off_nm, inside):
    way = jinked(off_nm)
    finding = course(way, standard=standard)
    assert finding.limit == pytest.approx(LIMITS[standard])
    assert finding.measured == pytest.approx(most(way, second(0.0)), abs=0.15)
    assert finding.verdict == ("inside" if LIMITS[standard] in inside else "outside")


def test_left_and_right_are_symmetric():
    right, left = course(jinked(0.7)), course(jinked(0.7).mirrored())
    assert left.measured == pytest.approx(right.measured, abs=0.1)
    assert right.details["cross_track_nm"] * left.details["cross_track_nm"] < 0.0


def test_the_finding_gives_the_place_of_the_peak():
    finding = course(jinked(0.7))
    assert finding.place is not None
    # parallel to the course, the angle grows until the missed approach point, the threshold
    assert finding.place.time_s - START_S == pytest.approx(second(0.0), abs=2.0)


def test_deviations_beyond_the_missed_approach_point_do_not_count():
    way = jinked(1.0, at_s=second(0.4))  # 1 NM off beyond the threshold
    finding = course(way)
    assert finding.verdict == "inside"
    assert finding.measured == pytest.approx(most(way, second(0.0)), abs=0.15)
    point = {"name": "MAPAR", "role": "missed-approach-point", "distance_nm": 1.8}  # 3.2 NM before the threshold
    way = jinked(1.0, at_s=second(3.3))
    assert course(way).verdict == "outside"
    assert course(way, fixes=[point]).verdict == "inside"


def test_a_missed_approach_point_by_time():
    # 54 s at 120 kt from the fix: 1.8 NM, 3.2 before the threshold
    missed = {"time_s": 54, "time_at_kt": 120, "altitude_ft": 2500}
    way = jinked(1.0, at_s=second(3.3))
    assert course(way, missed_approach=missed).verdict == "inside"
    # a plan of 90 kt takes 72 s for it; 180 s are 6 NM, beyond the threshold
    assert course(way, missed_approach={**missed, "time_s": 72, "time_at_kt": 90}).verdict == "inside"
    assert course(way, missed_approach={**missed, "time_s": 180}).verdict == "outside"


def test_deviations_in_the_visual_descent_do_not_count():
    way = jinked(0.5, at_s=second(1.2))  # left 950 ft at 1.26 NM for the runway
    landed = course(way, (*TO_MDA, *path(3.0)), **station(3.0))
    assert landed.verdict == "inside"
    # before a go-around the needle counts up to the missed approach point
    missed = (*TO_MDA, (0.3, 950.0), (-1.0, 1500.0), (-4.0, 2600.0))
    finding = course(way, missed, **station(3.0))
    assert finding.measured > landed.measured + 2.0


def test_level_flight_below_the_minimum_is_not_visual():
    # level below 900 ft from 3.8 to 0.9 NM before the threshold: the needle counts up to there
    level_below = ((15.0, 1700.0), (5.0, 1700.0), (3.5, 700.0), (0.9, 700.0), (0.0, 550.0), (-0.3, 505.0))
    way = jinked(0.2, at_s=second(3.0))
    finding = course(way, level_below, standard="faa-transport", **station(7.0))
    assert finding.verdict == "outside"
    assert finding.measured == pytest.approx(most(way, second(0.8), -7.0), abs=0.3)


def tracked(way: Flown) -> tuple[np.ndarray, np.ndarray]:
    """The seconds at which the course is tracked, and the angles off it at the station 6 NM beyond the fix, in degrees."""
    charted = resolve(Chart(side=None, reversal={"kind": "none"}, tables=station(6.0)).at(NORTH_OUT), dt.date(2026, 6, 1))
    states = analyse_motion(NOISY.of(way, NORTH_OUT), charted).states
    shown = needle(states, charted, math.pi)
    counts = tracking(states, shown, math.pi)
    return states.time_s[counts] - START_S, np.abs(np.degrees(shown.angle_rad[counts]))


@pytest.mark.parametrize("mirrored", [False, True])
def test_intercepting_the_course_is_not_tracking_it(mirrored):
    way = joining().mirrored() if mirrored else joining()
    assert math.degrees(math.atan2(0.77, 8.0)) > 5.0  # off the scale of what is established at first, on it while still cutting
    seconds, angles = tracked(way)
    # within 1° of the course (a tenth of the scale), or the track within 3° of its direction
    assert way.begins["on"] - 5.0 < seconds[0] < way.begins["then"] + 1.0
    assert angles.max() < 1.3


def test_reaching_the_course_and_drifting_off_is_tracking_it():
    way = joining(then_deg=8.0)
    seconds, angles = tracked(way)
    assert seconds[0] < way.begins["then"]
    seen = np.abs(np.degrees(np.arctan2(way.x_nm, way.y_nm + 6.0)))
    assert seen[-1] > 6.0
    assert angles.max() == pytest.approx(seen[-1], abs=0.3)  # it grows by 0.3° in the last second


def test_a_course_never_joined_is_judged_where_the_track_does_not_converge_on_it():
    # parallel to the course at 1.2 NM: from 5.7° at the fix to 9.7° at the threshold
    parallel = fly([Straight("parallel", 700.0)], (1.2, 10.0), 180.0)
    finding = course(parallel, **station(12.0))
    assert finding.verdict == "outside"
    assert finding.measured == pytest.approx(math.degrees(math.atan(1.2 / 7.0)), abs=0.2)


GPS = {"guidance": {"kind": "gps"}}


@pytest.mark.parametrize(("off_nm", "verdict"), [(0.1, "inside"), (0.2, "inside"), (0.25, "outside"), (0.35, "outside")])
def test_gps_on_final_is_three_tenths_of_a_mile(off_nm, verdict):
    # three quarters of 0.30 NM: 0.225 NM
    finding = course(jinked(off_nm), **GPS)
    assert (finding.verdict, finding.unit) == (verdict, "NM")
    assert finding.limit == pytest.approx(0.225)
    assert finding.measured == pytest.approx(off_nm, abs=0.02)


def test_part_fcl_allows_half_scale_of_gps():
    # Part-FCL Appendix 7: half scale deflection for RNP, 0.15 of 0.30 NM
    inside, outside = (course(jinked(off_nm), standard="part-fcl", **GPS) for off_nm in (0.1, 0.2))
    assert (inside.verdict, outside.verdict) == ("inside", "outside")
    assert inside.limit == pytest.approx(0.15)


def test_part_fcl_allows_five_degrees_by_an_ndb():
    # Part-FCL Appendix 7: tracking radio aids ±5°
    ndb = {"guidance": {**AHEAD["guidance"], "kind": "ndb"}}
    inside, outside = (course(jinked(off_nm), standard="part-fcl", **ndb) for off_nm in (0.4, 0.7))
    assert (inside.verdict, outside.verdict) == ("inside", "outside")
    assert inside.limit == outside.limit == pytest.approx(5.0)


def test_tracking_begins_again_where_full_scale_narrows():
    # 0.4 NM off inbound, where half a mile is tracking; beyond the fix intercepted at 10° within a mile and a half
    to_it = 0.4 / math.sin(math.radians(10.0)) * 30.0
    path_ = [Straight("parallel", 302.0), Turn("cut", 10.0, 5.0), Straight("cutting", to_it), Turn("on", -10.0, 5.0)]
    way = fly([*path_, Straight("on_course", 250.0)], (0.4, 10.0), 180.0)
    approach = descended(LEVEL, way=way, **GPS)
    assert one_of(approach, "inbound_course").measured == pytest.approx(0.4, abs=0.02)
    finding = one_of(approach, "final_course")
    assert finding.verdict == "inside"
    assert finding.measured < 0.2
    # without an intercept it is outside
    parallel = fly([Straight("parallel", 700.0)], (0.4, 10.0), 180.0)
    assert course(parallel, **GPS).verdict == "outside"


@pytest.mark.parametrize("turn_deg", [20.0, -20.0])
def test_lining_up_with_an_offset_runway_is_not_a_deviation(turn_deg):
    # the final course meets the extended centre line a mile before the threshold, where the aircraft turns onto it
    way = fly([Straight("inbound", second(1.0)), Turn("line_up", turn_deg, 10.0), Straight("on", 60.0)], (0.0, 10.0), 180.0)
    heading = 180.0 + turn_deg
    south, east = 4.0 + math.cos(math.radians(turn_deg)), -math.sin(math.radians(turn_deg))
    heights = (*TO_MDA, *path(3.0))
    offset = course(way, heights, runway=runway(south, east, heading), minimum=None, **station(5.5))
    assert offset.measured < 1.0
    # with the runway straight ahead, the same turn is not lining up
    straight = course(way, LEVEL, runway=runway(6.0), minimum=None, **station(7.5))
    assert straight.measured > 3.0


def test_a_go_around_does_not_line_up_with_a_runway():
    # 12° right of the course, the direction of the runway, but past it and away
    way = fly([Straight("inbound", second(2.5)), Turn("off", 12.0, 10.0), Straight("on", 300.0)], (0.0, 10.0), 180.0)
    finding = course(way, runway=runway(5.0, -0.4, 192.0), **station(7.0))
    assert finding.verdict == "outside"


def test_a_final_course_that_changes_at_the_fix():
    # 15° to the right beyond the final approach fix, as charted: 195° true
    fixes = [
        {"name": "TARRO", "role": "final-approach-fix", "distance_nm": 0.1},
        {"name": "MAPAR", "role": "missed-approach-point", "distance_nm": 5.0, "course_deg": 195.0 + 11.0},
    ]
    way = fly([Straight("inbound", 303.0), Turn("bend", 15.0, 18.0), Straight("on", 300.0)], (0.0, 10.0), 180.0)
    on_it = one_of(descended(LEVEL, way=way, fixes=fixes, runway=None, **GPS), "final_course")
    assert on_it.verdict == "inside"
    missed_it = one_of(descended(LEVEL, fixes=fixes, runway=None, **GPS), "final_course")
    assert missed_it.verdict == "outside"


def test_deviations_within_a_mile_of_the_station_do_not_count():
    # 0.12 NM off: 3.4° at two miles, 34° as the station is passed
    way = jinked(0.12, at_s=300.0)
    finding = course(way, **station(3.0))
    assert finding.measured == pytest.approx(math.degrees(math.asin(0.12 / 1.0)), abs=0.6)
    assert finding.verdict == "inside"


def test_no_final_leg_no_finding():
    assert all_of(descended(LEVEL, log=replace(NOISY, end_s=280.0), **AHEAD), "final_course") == []


def test_a_gap_that_may_hide_a_violation_is_not_assessed():
    hole = replace(NOISY, hole_s=(340.0, 365.0))
    assert course(ALL_THE_WAY, log=hole).verdict == "not assessed"
    # a gap beyond the missed approach point takes nothing
    assert course(ALL_THE_WAY, log=replace(NOISY, hole_s=(second(-1.0), second(-1.8)))).verdict == "inside"


@pytest.mark.parametrize(("step_s", "noise_m"), [(5.0, 1.0), (1.0, 5.0), (5.0, 5.0)])
def test_sparse_and_noisy_logs(step_s, noise_m):
    log = replace(NOISY, step_s=step_s, noise_m=noise_m)
    assert course(jinked(0.7), log=log).verdict == "inside"
    assert course(jinked(1.0), log=log).verdict == "outside"


@pytest.mark.parametrize("turn_deg", [90.0, -120.0])
@pytest.mark.parametrize(("after_s", "verdict"), [(60.0, "inside"), (-4.0, "not assessed")])
@pytest.mark.parametrize(("speed_kt", "bank_deg"), [(220.0, 20.0), (320.0, 24.0)])
def test_a_turn_off_the_course_breaks_the_approach_off_and_is_no_deviation(turn_deg, after_s, verdict, speed_kt, bank_deg):
    """Level at 220 kt, where half the turn alone leads 0.25 NM aside: more than three quarters of full scale, 0.3 NM.

    At 320 kt, as into a lap of a hold at 14,000 ft, the first 45° of it take half a minute.
    """
    path: list[Segment] = [Straight("inbound", 300.0 + after_s), Turn("off", turn_deg, bank_deg), Straight("away", 150.0)]
    way = fly(path, (0.0, 300.0 * speed_kt / 3600.0), 180.0, speed_kt)
    finding = one_of(descended(((15.0, 1700.0), (-9.0, 1700.0)), way=way, guidance={"kind": "gps"}), "final_course")
    assert finding.verdict == verdict


def test_a_drift_off_the_course_is_one_also_where_the_approach_is_then_broken_off():
    path: list[Segment] = [Straight("inbound", 330.0), Turn("drift", 12.0, 25.0), Straight("drifting", 60.0)]
    way = fly([*path, Turn("off", 90.0, 25.0), Straight("away", 150.0)], (0.0, 10.0), 180.0)
    finding = one_of(descended(((15.0, 1700.0), (-9.0, 1700.0)), way=way, guidance={"kind": "gps"}), "final_course")
    assert finding.verdict == "outside"


@pytest.mark.parametrize(("drift_s", "verdict"), [(0.0, "inside"), (70.0, "outside")])
def test_the_turn_in_which_an_approach_is_given_up_is_no_deviation(drift_s, verdict):
    # half a minute on the final course by GPS, and away by a turn of 120° that takes the aircraft 0.34 NM off before its track
    # is 45° off; or 12° off the course first, for more than a minute
    drift = [Turn("drift", 12.0, 10.0), Straight("drifting", drift_s)] if drift_s else []
    away = fly([Straight("in", 330.0), *drift, Turn("off", 120.0, 14.0), Straight("away", 400.0)], (0.0, 10.0), 180.0)
    approach = flown_at(np.full(len(SECONDS), 1700.0), way=away, runway=runway(), guidance={"kind": "gps"})
    assert approach.reversal.ending == "turned away"
    assert one_of(approach, "final_course").verdict == verdict


@pytest.mark.parametrize(("sinks", "verdict"), [(False, "not assessed"), (True, "outside")])
def test_a_glide_path_that_is_not_followed_as_an_approach_is_given_up_is_not_judged(sinks, verdict):
    # level through the path 4 NM before the threshold and on, above it, for 30 s, then away, as to another lap of a hold; or
    # down 300 ft first, a degree and more above it
    away = fly([Straight("in", 365.0), Turn("off", 120.0, 14.0), Straight("away", 400.0)], (0.0, 10.0), 180.0)
    heights = np.full(len(SECONDS), 1800.0) - (np.clip(SECONDS - 335.0, 0.0, 30.0) * 10.0 if sinks else 0.0)
    path_3 = {"angle_deg": 3.0, "threshold_crossing_height_ft": 50.0}
    approach = flown_at(heights + (350.0 if sinks else 0.0), way=away, runway=runway(), glide_path=path_3)
    assert approach.reversal.ending == "turned away"
    assert one_of(approach, "glide_path").verdict == verdict
