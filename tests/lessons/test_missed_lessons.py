"""Lessons on the missed approach: the advice is what the construction of the flight left undone."""

import math
import re
from dataclasses import replace

import pytest
from checked import NOISY, one_of
from final_flights import flown_at, runway
from missed_flights import (
    CLIMB_FPM,
    CLIMB_FT,
    HOLD_FT,
    MISSED_POINT_NM,
    THRESHOLD_NM,
    Whole,
    chart,
    climbing,
    course,
    first_reversal,
    flown_from,
    gone_around,
    missed,
    missed_table,
)
from synthetic import CALM, Chart, Wind

from analyzer.checks.finding import Lesson

FINAL_S = MISSED_POINT_NM / 120.0 * 3600.0  # from the fix to the missed approach point


def lesson(check: str, flight: Whole, charted: Chart | None = None) -> Lesson:
    finding = one_of(flight.debrief(charted).approaches[0], check)
    assert finding.verdict == "outside"
    assert finding.lesson is not None
    return finding.lesson


def numbers(text: str | None) -> list[float]:
    assert text is not None
    plain = re.sub(r"\d\d:\d\d:\d\d", "", text)
    return [float(word.replace(",", "")) for word in re.findall(r"\d[\d,]*(?:\.\d+)?", plain)]


def clocks(text: str | None) -> list[float]:
    """The times of day in a text, in seconds of the flight, which begins at ten."""
    found = re.findall(r"(\d\d):(\d\d):(\d\d)", str(text))
    return [int(hour) * 3600.0 + int(minute) * 60.0 + int(second) - 36_000.0 for hour, minute, second in found]


def around(wind: Wind = CALM, **missed_by: float) -> Whole:
    flown = flown_from([*first_reversal(), *missed(**missed_by)], wind)
    return Whole(flown, climbing(flown, flown.begins["climb"]))


@pytest.mark.parametrize("late_s", [10.0, 20.0])
def test_the_lesson_on_a_late_climb_gives_the_missed_approach_point(late_s):
    flight = around(late_s=late_s)
    taught = lesson("missed_point", flight)
    (passed,) = clocks(taught.cause)
    assert passed == pytest.approx(flight.flown.begins["final"] + FINAL_S, abs=2.0)
    assert numbers(taught.cause) == [pytest.approx(late_s, abs=2.0)]
    assert "TARRO" in str(taught.advice)
    before_nm, after_s, knots = numbers(taught.advice)
    assert before_nm == pytest.approx(THRESHOLD_NM - MISSED_POINT_NM, abs=0.051)
    assert (after_s, knots) == (pytest.approx(FINAL_S, abs=2.0), pytest.approx(120.0, abs=1.0))


def test_a_point_by_time_is_given_at_the_speed_flown():
    """150 s at 90 kt are 3.75 NM, which take 112.5 s at 120 kt."""
    timed = chart(fixes=[], missed_approach=missed_table(time_s=150.0, time_at_kt=90.0))
    taught = lesson("missed_point", around(), timed)
    _, after_s, knots, charted_s, charted_kt = numbers(taught.advice)
    assert (after_s, knots) == (pytest.approx(112.5, abs=2.0), pytest.approx(120.0, abs=1.0))
    assert (charted_s, charted_kt) == (150.0, 90.0)


@pytest.mark.parametrize(("straight_s", "fixes"), [(10.0, True), (5.0, False)])
def test_the_lesson_on_an_early_turn_gives_how_long_to_wait(straight_s, fixes):
    """AIM 5-4-21 b: begun early, the missed approach is flown to its point before any turn."""
    early_s = 60.0
    taught = lesson("missed_point", around(late_s=-early_s, straight_s=straight_s), chart() if fixes else chart(fixes=[]))
    to_go_nm = (early_s - straight_s) / 30.0 + (0.0 if fixes else THRESHOLD_NM - MISSED_POINT_NM)
    assert numbers(taught.cause)[-1] == pytest.approx(to_go_nm, abs=0.1)
    held, seconds, knots = numbers(taught.advice)
    assert held == pytest.approx(course(180.0), abs=1.0)
    assert seconds == pytest.approx(to_go_nm * 30.0, abs=3.0)
    assert knots == pytest.approx(120.0, abs=1.0)


@pytest.mark.parametrize("straight_s", [15.0, 30.0])
def test_the_lesson_on_a_turn_below_its_altitude_gives_how_much_longer_to_climb(straight_s):
    """From 1,020 ft at 500 ft/min the climb to 1,400 ft takes 45.6 s."""
    taught = lesson("missed_climb", gone_around(straight_s=straight_s))
    rate, flown_s = numbers(taught.cause)
    assert (rate, flown_s) == (pytest.approx(CLIMB_FPM, abs=30.0), pytest.approx(straight_s, abs=2.0))
    held, altitude, seconds = numbers(taught.advice)
    assert (held, altitude) == (pytest.approx(course(180.0), abs=1.0), CLIMB_FT)
    assert seconds == pytest.approx((CLIMB_FT - 1020.0) / CLIMB_FPM * 60.0 - straight_s, abs=3.0)


@pytest.mark.parametrize("along_kt", [20.0, -20.0])
def test_the_lesson_on_a_wrong_turn_gives_the_side_and_the_heading_in_the_wind(along_kt):
    """Along the final course before the turn, the wind is across it after: asin(20/120) = 9.6° into it."""
    wind = (180.0, along_kt) if along_kt > 0.0 else (0.0, -along_kt)
    taught = lesson("missed_turn", around(wind, turn_deg=-90.0))
    assert taught.cause is None  # either way it is a quarter turn
    altitude, heading, to, into = numbers(taught.advice)
    assert "turn right, to heading" in str(taught.advice)
    assert (altitude, to) == (CLIMB_FT, pytest.approx(course(270.0), abs=0.5))
    correction = math.degrees(math.asin(along_kt / 120.0))  # to the left, where the wind is from the south
    assert heading == pytest.approx(course(270.0 - correction), abs=1.5)
    assert into == pytest.approx(abs(correction), abs=1.5)


def test_the_shorter_turn_is_named_where_it_was_flown():
    taught = lesson("missed_turn", around(turn_deg=-90.0), chart(missed_approach=missed_table(course_deg=course(90.0))))
    assert numbers(taught.cause) == [90.0, 270.0]
    assert "left turn is the shorter one" in str(taught.cause)
    assert "turn right, to course" in str(taught.advice)


def test_the_course_direct_to_a_hold_is_from_the_end_of_the_turn():
    """The hold lies west, on the course that the charted turn rolls out on."""
    direct = chart(missed_approach=missed_table(to="WND", course_deg=None))
    taught = lesson("missed_turn", around(turn_deg=-90.0), direct)
    assert "turn right direct to WND: course" in str(taught.advice)
    assert numbers(taught.advice)[-1] == pytest.approx(course(270.0), abs=1.5)
    off = lesson("missed_course", around(turn_deg=60.0), direct)
    assert "WND bore" in str(off.cause)
    # a turn through 60° ends a little to the left of one through 90°, some 10 NM from the hold
    assert numbers(off.advice)[0] == pytest.approx(course(270.0), abs=2.0)


def test_the_lesson_on_an_uncharted_turn_is_straight_ahead():
    taught = lesson("missed_turn", around(), chart(missed_approach=missed_table(turn=None, course_deg=None)))
    assert taught.advice == f"Climb straight ahead on course {course(180.0):03.0f}°."


@pytest.mark.parametrize("along_kt", [35.0, -35.0])
def test_the_lesson_on_a_course_lost_to_the_wind_gives_its_heading(along_kt):
    """Heading west in 35 kt of crosswind is 16° off the course: asin(35/120) = 17° into the wind holds it."""
    wind = (180.0, along_kt) if along_kt > 0.0 else (0.0, -along_kt)
    taught = lesson("missed_course", around(wind))
    assert numbers(taught.cause) == [pytest.approx(course(270.0), abs=1.5)]
    heading, to, into = numbers(taught.advice)
    correction = math.degrees(math.asin(along_kt / 120.0))
    assert (heading, into) == (pytest.approx(course(270.0 - correction), abs=2.0), pytest.approx(abs(correction), abs=1.5))
    assert to == pytest.approx(course(270.0), abs=0.5)


@pytest.mark.parametrize("to_ft", [2500.0, 2850.0])
def test_the_lesson_on_a_climb_that_stopped_gives_how_much_more(to_ft):
    flight = gone_around(to_ft=to_ft)
    taught = lesson("missed_altitude", flight)
    stopped = flight.flown.begins["climb"] + (to_ft - 1020.0) / CLIMB_FPM * 60.0
    assert clocks(taught.cause) == [pytest.approx(stopped, abs=8.0)]
    altitude, seconds, lead, begin, *_ = numbers(taught.advice)
    assert (altitude, seconds) == (HOLD_FT, pytest.approx((HOLD_FT - to_ft) / CLIMB_FPM * 60.0, abs=3.0))
    assert (lead, begin) == (50.0, HOLD_FT - 50.0)  # a tenth of 500 ft/min; common practice, no source


def test_the_lesson_on_a_climb_through_its_altitude_gives_the_lead():
    taught = lesson("missed_altitude", gone_around(to_ft=3250.0))
    assert numbers(taught.cause) == [HOLD_FT, pytest.approx(CLIMB_FPM, abs=20.0)]
    assert numbers(taught.advice) == [50.0, HOLD_FT - 50.0]


def test_findings_inside_or_close_have_no_false_lesson():
    for finding in gone_around().debrief().approaches[0].findings:
        assert not finding.check.startswith("missed") or finding.lesson is None
    early = one_of(around(late_s=-0.5).debrief(log=replace(NOISY, noise_m=3.0)).approaches[0], "missed_point")
    assert early.lesson is None


def test_the_lesson_on_a_late_go_around_gives_when_and_the_height_lost():
    """650 ft/min continue for 12 s below 900 ft; two seconds and a pull-up of a quarter g lose 21.7 + 3.7 m × (v = 3.3 m/s)."""
    rate_fpm, minimum_ft, late_s = 650.0, 900.0, 12.0
    passed_s = 330.0
    lowest = minimum_ft - rate_fpm * late_s / 60.0
    heights = []
    for second in range(471):
        down = minimum_ft - rate_fpm * (second - passed_s) / 60.0
        up = lowest + 700.0 * (second - passed_s - late_s) / 60.0
        heights.append(min(2600.0, down if second < passed_s + late_s else min(up, 2600.0)))
    flown = flown_at(heights, runway=runway(), minimum={"kind": "da", "altitude_ft": minimum_ft})
    finding = one_of(flown, "minimum_altitude")
    assert finding.verdict == "outside"
    assert finding.lesson is not None
    rate, *_, went_on = numbers(finding.lesson.cause)
    assert (rate, went_on) == (pytest.approx(rate_fpm, abs=20.0), pytest.approx(late_s, abs=2.0))
    altitude, loss, to = numbers(finding.lesson.advice)
    sink = rate_fpm * 0.3048 / 60.0
    assert altitude == minimum_ft
    assert loss == pytest.approx((2.0 * sink + sink**2 / (0.5 * 9.80665)) / 0.3048, abs=1.5)
    assert to == pytest.approx(altitude - loss, abs=1.0)


@pytest.mark.parametrize(("early_s", "straight_s"), [(23.0, 14.0), (16.0, 5.0), (60.0, 10.0)])
def test_the_wait_for_the_point_does_not_end_below_the_altitude_to_climb_to(early_s, straight_s):
    """Flown again as advised, neither the point nor the climb before the turn is a fault."""
    advice = str(lesson("missed_point", around(late_s=-early_s, straight_s=straight_s)).advice)
    longer = float(re.findall(r"for (\d+) s more", advice)[0]) + 1.0
    on_until = re.search(r"flown, and on until ([\d,]+) ft\.", advice)
    if on_until is not None:
        low_ft = around(late_s=-early_s).heights[-2][1]  # of the climb
        longer = max(
            longer, (float(on_until[1].replace(",", "")) - low_ft) / CLIMB_FPM * 60.0 - straight_s + 4.0
        )  # beyond its error
    (again,) = around(late_s=-early_s, straight_s=straight_s + longer).debrief().approaches
    assert one_of(again, "missed_point").verdict == "inside"
    assert one_of(again, "missed_climb").verdict == "inside"
    assert (on_until is None) == (early_s > 50.0)
