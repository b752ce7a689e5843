"""Courses and the intercept against three quarters of full scale: inside, outside, at the limit, and not assessed."""

import datetime as dt
import math
from dataclasses import replace

import numpy as np
import pytest
from checked import NOISY, PLAIN, all_of, debriefed, homeward, of_pattern, one_of, solve
from patterns import Pattern, fly_approach
from pyproj import Geod
from synthetic import CHARTED, FT, HERE, NM, START_S, Chart, Flown, Place, Segment, Straight, Turn, fly

from analyzer.checks.course_deviation import not_closing, tracking
from analyzer.legs.guidance import needle
from analyzer.motion.smooth import analyse_motion
from analyzer.procedure.charted import resolve

THREE_QUARTERS_OF_A_VOR = 7.5  # FAA-S-ACS-8C IR.V.A.S5: three quarters of the 10° that a VOR's needle shows at full scale


def strayed(seconds: float) -> Flown:
    """On the outbound course for 75 s, then 15° to the right of it for some seconds."""
    path = [Straight("arrival", 90.0), Straight("outbound", 75.0), Turn("stray", 15.0, 7.0), Straight("straying", seconds)]
    return homeward(path, (0.0, -3.0), 0.0)


def stray_deg(seconds: float) -> float:
    """The angle off the outbound course at the fix as the outbound leg ends."""
    flown = strayed(seconds)
    end = flown.begins["offset_turn"]
    return math.degrees(math.atan2(float(flown.at(end, flown.x_nm)), float(flown.at(end, flown.y_nm))))


@pytest.mark.parametrize(
    ("angle", "verdict"), [(4.0, "inside"), (7.2, "inside"), (7.5, "too close to call"), (7.8, "outside"), (9.0, "outside")]
)
def test_outbound_within_three_quarters_of_full_scale(angle, verdict):
    flown = strayed(solve(stray_deg, angle, 5.0, 250.0))
    finding = one_of(debriefed(flown), "outbound_course")
    assert finding.measured == pytest.approx(angle, abs=0.1)  # it grows by 0.06° a second
    assert finding.limit == pytest.approx(THREE_QUARTERS_OF_A_VOR)
    assert finding.verdict == verdict
    assert finding.details["fraction_of_full_scale"] == pytest.approx(angle / 10.0, abs=0.01)
    end = flown.begins["offset_turn"]
    assert finding.details["cross_track_nm"] == pytest.approx(float(flown.at(end, flown.x_nm)), abs=0.01)
    assert finding.place is not None
    assert finding.place.time_s - START_S == pytest.approx(end, abs=2.0)


def test_right_and_left_are_as_seen_from_the_cockpit():
    right = one_of(debriefed(strayed(60.0)), "outbound_course")
    assert right.details["cross_track_nm"] > 0.1
    left = one_of(debriefed(strayed(60.0).mirrored(), chart=Chart(side="left")), "outbound_course")
    assert left.details["cross_track_nm"] < -0.1
    # rolled out next to the inbound course: with too long an offset leg to the right, on the pilot's left inbound
    inbound = one_of(of_pattern(replace(PLAIN, leg_s=42.0)), "inbound_course")
    assert inbound.details["cross_track_nm"] < 0.0


def beside_nm(leg_s: float) -> float:
    return float(fly_approach(replace(PLAIN, leg_s=leg_s)).flown.x_nm[-1])


@pytest.mark.parametrize(("angle", "verdict"), [(2.5, "inside"), (7.5, "too close to call"), (9.0, "outside")])
def test_inbound_within_three_quarters_of_full_scale(angle, verdict):
    # Home parallel to the course: the angle at the fix is greatest where it last counts, at 1 NM, and the second before it.
    pattern = replace(PLAIN, leg_s=solve(beside_nm, 1.017 * math.sin(math.radians(angle)), 30.0, 50.0))
    finding = one_of(of_pattern(pattern), "inbound_course")
    assert finding.measured == pytest.approx(angle, rel=0.02)
    assert finding.verdict == verdict
    assert finding.details["rms_deg"] < finding.measured


@pytest.mark.parametrize(("kind", "cone_nm"), [("vor", 1.96), ("ndb", 1.38), ("waypoint", 1.96)])
def test_the_cone_of_ambiguity_does_not_count(kind, cone_nm):
    # It is that of the station that the course is flown by, a VOR at the waypoint here.
    # ICAO Doc 8168 Vol. I 2.4.4: 50° from the vertical for a VOR, 40° for an NDB: 0.196 and 0.138 NM for each 1,000 ft.
    pattern = replace(PLAIN, leg_s=42.0)
    chart = Chart(fix={"kind": kind}, tables={"guidance": {"kind": "vor"}} if kind == "waypoint" else {})
    finding = one_of(of_pattern(pattern, replace(NOISY, altitude_ft=10_000.0), chart), "inbound_course")
    assert finding.measured == pytest.approx(math.degrees(math.asin(beside_nm(42.0) / cone_nm)), rel=0.03)


def test_the_angle_from_a_localizer_is_measured_at_its_antenna():
    # AIM 1-1-9 b.2: full scale is 2.5° to a side, so the limit is 1.875°; the antenna here is 2 NM beyond the fix, which is no
    # station, so that the course counts up to it.
    latitude, longitude = (float(value[0]) for value in Place().lay(*([value] for value in (0.0, -2.0))))
    guidance = {"kind": "localizer", "latitude_deg": latitude, "longitude_deg": longitude}
    chart = Chart(tables={"guidance": guidance})
    for leg_s, verdict in ((37.0, "inside"), (41.0, "outside")):
        pattern = replace(PLAIN, leg_s=leg_s)
        finding = one_of(of_pattern(pattern, chart=chart), "inbound_course")
        assert finding.limit == pytest.approx(1.875)
        assert finding.measured == pytest.approx(math.degrees(math.atan(beside_nm(leg_s) / 2.0)), rel=0.03)
        assert finding.verdict == verdict


def test_gps_guidance_is_measured_in_distance():
    # 0.75 NM of the full scale of 1 NM; here 4 NM out, with smaller and larger deviations.
    chart = Chart(fix={"kind": "waypoint"})
    for seconds, verdict in ((60.0, "inside"), (130.0, "outside")):
        flown = strayed(seconds)
        off = float(flown.at(flown.begins["offset_turn"], flown.x_nm))
        finding = one_of(debriefed(flown, chart=chart), "outbound_course")
        assert finding.details["fraction_of_full_scale"] == pytest.approx(off, abs=0.015)
        assert finding.verdict == verdict == ("inside" if off < 0.75 else "outside")


def test_a_gap_makes_inside_not_assessed():
    approach = fly_approach(PLAIN)
    hole = (approach.begin("outbound") + 40.0, approach.begin("outbound") + 70.0)
    result = debriefed(approach, replace(NOISY, hole_s=hole))
    assert one_of(result, "outbound_course").verdict == "not assessed"
    assert one_of(result, "inbound_course").verdict == "inside"


def test_a_course_never_joined_is_judged():
    # Past the fix a quarter mile to the right of it and on at 10° to the course: never within 5°.
    along = math.cos(math.radians(10.0))
    flown = homeward(
        [Straight("arrival", 90.0), Straight("outbound", 120.0)],
        (0.25 - 3.0 * math.sin(math.radians(10.0)), -3.0 * along),
        10.0,
    )
    finding = one_of(debriefed(flown), "outbound_course")
    assert finding.verdict == "outside"
    # greatest where it first counts, at 1 NM of the fix: the line passes it 0.25 NM abeam, to the right
    assert finding.measured == pytest.approx(10.0 + math.degrees(math.asin(0.25 * along)), abs=0.5)


def test_no_inbound_part_no_inbound_finding():
    approach = fly_approach(PLAIN)
    result = debriefed(approach, replace(NOISY, end_s=approach.begin("reversal_turn") + 40.0))
    assert all_of(result, "inbound_course") == []
    assert len(all_of(result, "outbound_course")) == 1


FAST = Pattern(speed_kt=200.0, bank_deg=25.0, roll_deg_s=5.0, intercept=True)


def overshoot_nm(leg_s: float) -> float:
    """How far beyond the inbound course the plane went, from the flown path; the reversal lies right, so beyond is left."""
    flown = fly_approach(replace(FAST, leg_s=leg_s)).flown
    return float(-flown.x_nm[flown.time_s > flown.begins["reversal_turn"]].min())


@pytest.mark.parametrize(
    ("distance_nm", "verdict"),
    [(0.3, "inside"), (0.97, "inside"), (1.0, "too close to call"), (1.03, "outside"), (1.2, "outside")],
)
def test_overshoot_of_a_mile(distance_nm, verdict):
    # One mile: common practice, no source.
    leg = solve(overshoot_nm, distance_nm, 1.0, 36.0)
    finding = one_of(of_pattern(replace(FAST, leg_s=leg), chart=Chart(within_nm=15.0)), "intercept")
    assert finding.measured == pytest.approx(distance_nm, abs=0.003)
    assert finding.verdict == verdict


def test_no_overshoot_where_the_course_is_met_from_the_near_side():
    approach = fly_approach(replace(PLAIN, leg_s=60.0, intercept=True))
    result = debriefed(approach)
    finding = one_of(result, "intercept")
    assert finding.measured == pytest.approx(0.0, abs=0.005)
    assert finding.verdict == "inside"
    established = result.reversal.established_s
    assert established is not None
    flown = approach.flown
    there = float(flown.at(established - START_S, flown.distance_nm))
    assert finding.details["established_distance_nm"] == pytest.approx(there, abs=0.01)


def test_a_log_that_ends_before_established():
    approach = fly_approach(PLAIN)
    finding = one_of(debriefed(approach, replace(NOISY, end_s=approach.begin("reversal_turn") + 40.0)), "intercept")
    assert finding.verdict == "not assessed"
    assert finding.reason is not None
    assert "before the aircraft was established" in finding.reason


def test_one_degree_at_four_and_a_half_miles_is_some_400_to_480_feet():
    # Common practice, no source. Exactly: 4.5 NM times tan 1° is 477 ft.
    flown = strayed(solve(stray_deg, 3.0, 5.0, 100.0))
    finding = one_of(debriefed(flown), "outbound_course")
    at_fix_distance = finding.details["cross_track_nm"] / math.tan(math.radians(finding.measured))
    a_degree_there = finding.details["cross_track_ft"] / finding.measured
    assert 400.0 < a_degree_there * 4.5 / at_fix_distance < 480.0
    assert a_degree_there * FT / NM == pytest.approx(at_fix_distance * math.tan(math.radians(1.0)), rel=0.001)


@pytest.mark.parametrize("beyond_fix_nm", [None, 3.0])
def test_the_outbound_course_of_a_base_turn_is_not_judged_by_a_localizer(beyond_fix_nm):
    bank = 18.0
    path = [Straight("arrival", 90.0), Turn("off", -10.0, bank), Straight("outbound", 180.0), Turn("back", 190.0, bank)]
    flown = fly([*path, Straight("inbound", 280.0)], (0.0, -3.0))
    tables = {}
    if beyond_fix_nm is not None:
        latitude, longitude = HERE.lay(np.array([0.0]), np.array([-beyond_fix_nm]))
        antenna = {"kind": "localizer", "latitude_deg": float(latitude[0]), "longitude_deg": float(longitude[0])}
        tables = {"guidance": antenna}
    reversal = {"kind": "base-turn", "turn": "right", "outbound_course_deg": 63.0}
    finding = one_of(debriefed(flown, chart=Chart(side=None, reversal=reversal, tables=tables)), "outbound_course")
    assert finding.verdict == ("inside" if beyond_fix_nm is None else "not assessed")


def test_satellite_guidance_is_judged_in_distance():
    """73% of full scale is inside three quarters of it, however great the angle that it is near the fix."""
    path = [Straight("arrival", 120.0), Straight("outbound", 180.0), Turn("offset_turn", 45.0, 18.0)]
    path += [Straight("offset_leg", 38.2), Turn("reversal_turn", -225.0, 18.0), Straight("in", 30.0), Turn("off", 7.0, 3.0)]
    flown = fly([*path, Straight("inbound", 200.0)], (0.0, -4.0), 0.0, roll_deg_s=5.0)
    finding = one_of(debriefed(flown, chart=Chart(fix={"kind": "waypoint"})), "inbound_course")
    # 7° from the course up to the fix, where it counts to the end: a distance needs no mile around a station
    late = flown.time_s > flown.begins["inbound"]
    at_fix = float(flown.x_nm[late][np.argmin(flown.distance_nm[late])])
    assert finding.details["fraction_of_full_scale"] == pytest.approx(abs(at_fix), abs=0.01)
    assert abs(at_fix) < 0.75
    assert finding.verdict == "inside"


def along_radial(degrees: float, then: list[Segment]) -> Flown:
    """Over the fix on a radial next to the outbound course, out on it, and back by a 45/180."""
    begin = -3.0 * math.sin(math.radians(degrees)), -3.0 * math.cos(math.radians(degrees))
    return homeward([Straight("arrival", 90.0), *then], begin, degrees)


@pytest.mark.parametrize(("degrees", "verdict"), [(6.0, "inside"), (9.0, "outside"), (-9.0, "outside")])
def test_an_outbound_course_that_is_never_approached(degrees, verdict):
    finding = one_of(debriefed(along_radial(degrees, [Straight("outbound", 110.0)])), "outbound_course")
    assert finding.measured == pytest.approx(abs(degrees), abs=0.2)
    assert finding.verdict == verdict
    assert f"never tracked: at most {abs(degrees):.1f}° {'right' if degrees > 0 else 'left'}" in finding.sentence


def test_an_outbound_course_is_not_judged_while_it_is_being_intercepted():
    """40° off it within the first mile, then intercepting at 30° until the reversal begins, too early to reach it."""
    flown = along_radial(40.0, [Straight("off", 25.0), Turn("cut", -70.0, 20.0), Straight("cutting", 12.0)])
    finding = one_of(debriefed(flown), "outbound_course")
    assert (finding.verdict, finding.measured) == ("not assessed", None)
    assert "it was not tracked more than a mile from the station" in finding.reason


@pytest.mark.parametrize(
    ("beside_s", "cutting_s", "verdict"), [(25.0, 25.0, "not assessed"), (80.0, 20.0, "not assessed"), (110.0, 2.0, "outside")]
)
def test_what_leads_to_an_intercept_is_no_deviation_of_a_course_that_is_tracked(beside_s, cutting_s, verdict):
    """From the side, by a turn over the fix and straight on parallel to the course, then closing with it at 30°.

    Before a course is tracked, closing with it is what counts: as in instrument training (common practice, no source). Too
    little of it leaves the aircraft as far off as it was.
    """
    out = [Turn("over", -90.0, 18.0), Straight("beside", beside_s), Turn("cut", -30.0, 18.0), Straight("cutting", cutting_s)]
    finding = one_of(debriefed(along_radial(90.0, out)), "outbound_course")
    assert finding.verdict == verdict


@pytest.mark.parametrize(("on_deg", "counts"), [(-30.0, False), (30.0, True)])
def test_a_turn_over_the_fix_is_no_deviation_and_what_comes_after_it_is(on_deg, counts):
    # in from 110° off the course and round over the fix; then closing with the course, or leading away from it
    path = [Straight("arrival", 90.0), Turn("round", on_deg - 110.0, 18.0), Straight("on", 30.0)]
    start = (-3.0 * math.sin(math.radians(110.0)), -3.0 * math.cos(math.radians(110.0)))
    flown = fly(path, start, 110.0, roll_deg_s=5.0)
    charted = resolve(Chart().at(), dt.date(2026, 6, 1))
    states = analyse_motion(NOISY.of(flown), charted).states.between(START_S + 90.0, START_S + float(flown.time_s[-1]))
    shown = needle(states, charted, charted.outbound_true_rad)
    off = not_closing(states, shown, np.ones(len(states), dtype=np.bool_), charted.outbound_true_rad)
    assert bool(off.any()) == counts
    assert not off[states.time_s < START_S + flown.begins["on"] - 5.0].any()  # in the turn


def test_a_course_is_not_tracked_by_flying_along_it_the_other_way():
    # In along the course of a localizer 8 NM beyond the fix and round over the fix, which takes the aircraft aside; it closes
    # with the course outbound at 25° and tracks it from there.
    approach = fly_approach(Pattern(arrival_deg=178.0, outbound_s=150.0))
    longitude, latitude, _ = Geod(ellps="WGS84").fwd(
        HERE.longitude_deg, HERE.latitude_deg, HERE.outbound_true_deg + 180.0, 8.0 * NM
    )
    guidance = {"kind": "localizer", "latitude_deg": latitude, "longitude_deg": longitude, "full_scale_deg": 2.5}
    charted = resolve(Chart(tables={"guidance": guidance}).at(), dt.date(2026, 6, 1))
    end_s = START_S + approach.begin("offset_turn")
    states = analyse_motion(NOISY.of(approach.flown), charted).states.between(START_S + 30.0, end_s)
    shown = needle(states, charted, charted.outbound_true_rad)
    tracked = states.time_s[tracking(states, shown, charted.outbound_true_rad)]
    assert tracked[0] - START_S > approach.begin("closing")
    assert tracked[0] - START_S == pytest.approx(approach.begin("closing_turn"), abs=15.0)


@pytest.mark.parametrize("to_the_right", [True, False])
def test_a_reversal_whose_outbound_course_was_strayed_from_and_regained_is_recognised_and_judged(to_the_right):
    # away from the course at 43° from 2 NM on, for more than a minute, back to it at 43°, and along it for 40 s before the
    # offset turn: more than three minutes after the fix
    by = 43.0 if to_the_right else -43.0
    out = [Straight("outbound", 60.0), Turn("stray", by, 18.0), Straight("straying", 70.0), Turn("back", -2.0 * by, 18.0)]
    out += [Straight("closing", 72.0), Turn("regain", by, 18.0), Straight("on", 40.0)]
    flown = homeward([Straight("arrival", 90.0), *out], (0.0, -3.0), 0.0)
    assert flown.begins["on"] - flown.begins["outbound"] > 180.0
    approach = debriefed(flown)
    assert approach.reversal.flown == "45/180"
    at = flown.begins["back"]
    off = math.degrees(math.atan2(abs(float(flown.at(at, flown.x_nm))), float(flown.at(at, flown.y_nm))))
    finding = one_of(approach, "outbound_course")
    assert (finding.verdict, finding.measured) == ("outside", pytest.approx(off, abs=1.0))


def test_a_course_is_not_tracked_because_the_station_was_passed_on_another_track():
    """Over the course a quarter of a mile past the fix, at 35°, for half a minute straight on, and then back to it at 30°."""
    out = [Straight("arrival", 60.0), Straight("past", 30.0), Turn("towards", 65.0, 20.0), Straight("closing", 25.0)]
    out += [Turn("join", -30.0, 20.0), Straight("outbound", 60.0)]
    start = 0.15 + 2.0 * math.sin(math.radians(35.0)), -2.0 * math.cos(math.radians(35.0))
    flown = fly(out, start, -35.0, roll_deg_s=5.0)
    charted = resolve(CHARTED.at(HERE), dt.date(2026, 6, 1))
    motion = analyse_motion(NOISY.of(flown, HERE), charted)
    states = motion.states.between(START_S + 60.0, START_S + flown.time_s[-1])
    tracked = tracking(states, needle(states, charted, charted.outbound_true_rad), charted.outbound_true_rad)
    since = states.time_s - START_S
    assert not tracked[since < flown.begins["closing"]].any()
    assert tracked[since > flown.begins["outbound"]].all()
