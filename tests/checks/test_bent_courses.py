"""A final that bends at a fix: each segment is judged by its own course, through the fix that it begins at.

The course charted to a fix is that of the segment that leads to it, and segments run from fix to fix (14 CFR 97.3).
Deviations are those of the place flown from a line in the plane. Flights go south at 120 kt, 30 s a mile, and pass the
reversal fix at the origin after 300 s.
"""

import math

import numpy as np
import pytest
from checked import all_of, one_of
from descents import debriefed
from synthetic import Flown, Segment, Straight, Turn, fly

from analyzer.report.pages.instruments import instruments_of
from analyzer.report.pictures.subject import Subject

LEVEL = ((15.0, 1700.0), (5.0, 1700.0), (2.0, 950.0), (-10.0, 950.0))
MAGNETIC_DEG = 11.0  # added to a true course: the variation is 11° west
BANK_DEG = 18.0
RADIUS_NM = (120.0 * 1852.0 / 3600.0) ** 2 / (9.80665 * math.tan(math.radians(BANK_DEG))) / 1852.0
GPS, VOR = {"guidance": {"kind": "gps"}}, {"guidance": {"kind": "vor"}}


def bends(*turns: tuple[float, float]) -> Flown:
    """Inbound, then turns by degrees at miles beyond the reversal fix along the path, each led by what its arc takes."""
    path: list[Segment] = []
    done_nm, ahead = -10.0, 0.0
    for at_nm, degrees in turns:
        lead = RADIUS_NM * math.tan(math.radians(abs(degrees)) / 2.0)
        path += [Straight(f"to_{at_nm}", (at_nm - done_nm - ahead - lead) * 30.0), Turn(f"at_{at_nm}", degrees, BANK_DEG)]
        done_nm, ahead = at_nm, lead
    return fly([*path, Straight("on", 300.0)], (0.0, 10.0), 180.0)


STRAIGHT = fly([Straight("inbound", 700.0)], (0.0, 10.0), 180.0)


def fixes(faf_nm: float | None, *, after: float = 0.0, to_faf: float = 0.0) -> list[dict]:
    """A final approach fix, or none, and a missed approach point 6 NM on, with courses off the inbound one by degrees."""
    point = {"name": "MAPAR", "role": "missed-approach-point", "distance_nm": (faf_nm or 0.0) + 6.0}
    bent = point | {"course_deg": 180.0 + after + MAGNETIC_DEG}
    if faf_nm is None:
        return [bent]
    faf = {"name": "TARRO", "role": "final-approach-fix", "distance_nm": faf_nm}
    return [faf | ({"course_deg": 180.0 + to_faf + MAGNETIC_DEG} if to_faf else {}), bent]


def approach(way: Flown, charted: list[dict], **tables):
    (one,) = debriefed(LEVEL, way=way, fixes=charted, runway=None, **tables).approaches
    return one


def off_line_nm(way: Flown, from_y_nm: float, course_deg: float) -> np.ndarray:
    """How far right of a course through a point on the inbound course each place is."""
    course = math.radians(course_deg)
    return way.x_nm * math.cos(course) - (way.y_nm - from_y_nm) * math.sin(course)


@pytest.mark.parametrize("bend", [12.0, -12.0, 28.0, -28.0])
def test_a_bend_at_the_final_approach_fix_that_is_flown_is_no_deviation(bend):
    way, charted = bends((4.0, bend)), fixes(4.0, after=bend)
    final = one_of(approach(way, charted, **GPS), "final_course")
    beyond = way.time_s > 300.0 + 120.0
    assert final.verdict == "inside"
    assert final.measured == pytest.approx(np.abs(off_line_nm(way, -4.0, 180.0 + bend))[beyond].max(), abs=0.02)


@pytest.mark.parametrize("bend", [12.0, -12.0])
def test_a_bend_at_the_final_approach_fix_that_is_not_flown_is_outside_by_the_sine_of_it(bend):
    final = one_of(approach(STRAIGHT, fixes(4.0, after=bend), **GPS), "final_course")
    assert final.verdict == "outside"
    # the missed approach point is abeam after 6 NM along the new course
    assert final.measured == pytest.approx(6.0 * math.tan(math.radians(abs(bend))), abs=0.05)
    side = "left" if bend > 0.0 else "right"
    assert f" {side} " in final.sentence


@pytest.mark.parametrize("bend", [14.0, -14.0])
def test_a_bend_at_the_reversal_fix_without_a_final_approach_fix(bend):
    charted = fixes(None, after=bend)
    flown, ignored = (one_of(approach(way, charted, **VOR), "final_course") for way in (bends((0.0, bend)), STRAIGHT))
    assert (flown.verdict, ignored.verdict) == ("inside", "outside")
    assert flown.measured < 1.0
    assert ignored.measured == pytest.approx(14.0, abs=0.1)  # on the radial of the inbound course


@pytest.mark.parametrize("bend", [15.0, -15.0])
def test_a_bend_at_the_reversal_fix_before_the_final_approach_fix(bend):
    charted = fixes(5.0, after=bend, to_faf=bend)
    flown = approach(bends((0.0, bend)), charted, **GPS)
    assert {f.verdict for f in all_of(flown, "inbound_course")} == {"inside"}
    assert one_of(flown, "final_course").verdict == "inside"
    ignored = [f for f in all_of(approach(STRAIGHT, charted, **GPS), "inbound_course") if f.verdict == "outside"]
    (finding,) = ignored
    assert "Inbound course to TARRO" in finding.sentence
    assert finding.measured == pytest.approx(5.0 * math.tan(math.radians(15.0)), abs=0.05)


def test_a_final_that_bends_again_at_a_step_down_fix():
    step = {"name": "KESTA", "role": "step-down", "distance_nm": 4.0, "course_deg": 190.0 + MAGNETIC_DEG}
    faf = {"name": "TARRO", "role": "final-approach-fix", "distance_nm": 1.0}
    point = {"name": "MAPAR", "role": "missed-approach-point", "distance_nm": 8.0, "course_deg": 205.0 + MAGNETIC_DEG}
    both = approach(bends((1.0, 10.0), (4.0, 15.0)), [faf, step, point], **GPS)
    assert [f.verdict for f in all_of(both, "final_course")] == ["inside", "inside"]
    first = approach(bends((1.0, 10.0)), [faf, step, point], **GPS)
    assert [f.verdict for f in all_of(first, "final_course")] == ["inside", "outside"]


def test_an_angle_off_a_course_beside_the_station_is_seen_from_the_station():
    # a VOR at the reversal fix, a final that bends by 20° 3 NM beyond it and so leads past the station
    bent, charted = bends((3.0, 20.0)), fixes(3.0, after=20.0)
    assert one_of(approach(bent, charted, **VOR), "final_course").measured < 1.5
    final = one_of(approach(STRAIGHT, charted, **VOR), "final_course")
    # straight on for s NM it is s sin 20° off, s + 3 NM from the station; the point is abeam after 6 / cos 20°
    beyond = 6.0 / math.cos(math.radians(20.0))
    seen = math.degrees(math.asin(beyond * math.sin(math.radians(20.0)) / (beyond + 3.0)))
    assert final.verdict == "outside"
    assert final.measured == pytest.approx(seen, abs=0.2)


@pytest.mark.parametrize("bend", [12.0, -12.0])
def test_needle_and_strip_follow_the_bend(bend):
    debrief = debriefed(LEVEL, way=bends((4.0, bend)), fixes=fixes(4.0, after=bend), runway=None, **GPS)
    (one,) = debrief.approaches
    subject = Subject(debrief, one)
    shown, series = instruments_of(subject), subject.series
    begin, end = one.reversal.leg_spans("final")[0]
    final = (subject.states.time_s > begin) & (subject.states.time_s < end)
    assert shown.course_deg[final] == pytest.approx(180.0 + bend + MAGNETIC_DEG)
    # AIM 1-1-17: 0.3 NM to full scale on final; a turn at 18° of bank cuts a corner of 12° by less than 0.01 NM
    assert np.abs(shown.share[final]).max() < 0.1
    assert np.abs(series.deviation[(series.time_s > begin) & (series.time_s < end)]).max() < 0.03


def test_a_missed_approach_straight_on_after_a_bend_not_flown_is_the_same_event():
    missed = {"climb_ft": 1500, "altitude_ft": 2500}
    climb = ((15.0, 1700.0), (5.0, 1700.0), (2.0, 950.0), (-1.5, 950.0), (-5.0, 2500.0))
    way = fly([Straight("inbound", 700.0)], (0.0, 10.0), 180.0)
    (one,) = debriefed(climb, way=way, fixes=fixes(None, after=16.0), runway=None, missed_approach=missed, **VOR).approaches
    course = one_of(one, "missed_course")
    assert one_of(one, "final_course").verdict == "outside"
    assert course.verdict == "not assessed"
    assert course.measured == pytest.approx(16.0, abs=0.5)
    assert "it follows from final course" in str(course.reason)
    # off it from the missed approach on only, it is one of its own
    late = bends((0.0, 16.0), (6.5, -16.0))
    (one,) = debriefed(climb, way=late, fixes=fixes(None, after=16.0), runway=None, missed_approach=missed, **VOR).approaches
    assert (one_of(one, "final_course").verdict, one_of(one, "missed_course").verdict) == ("inside", "outside")
