"""Lessons of the missed approach: what is advised is what the construction of the flight has left to be done."""

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
def test_a_climb_that_was_begun_late_is_told_where_the_point_was(late_s):
    flight = around(late_s=late_s)
    told = lesson("missed_point", flight)
    (passed,) = clocks(told.cause)
    assert passed == pytest.approx(flight.flown.begins["final"] + FINAL_S, abs=2.0)
    assert numbers(told.cause) == [pytest.approx(late_s, abs=2.0)]
    assert "TARRO" in str(told.advice)
    before_nm, after_s, knots = numbers(told.advice)
    assert before_nm == pytest.approx(THRESHOLD_NM - MISSED_POINT_NM, abs=0.051)
    assert (after_s, knots) == (pytest.approx(FINAL_S, abs=2.0), pytest.approx(120.0, abs=1.0))


def test_a_point_by_time_is_told_at_the_speed_flown():
    """150 s at 90 kt are 3.75 NM, which take 112.5 s at 120 kt."""
    timed = chart(fixes=[], missed_approach=missed_table(time_s=150.0, time_at_kt=90.0))
    told = lesson("missed_point", around(), timed)
    _, after_s, knots, charted_s, charted_kt = numbers(told.advice)
    assert (after_s, knots) == (pytest.approx(112.5, abs=2.0), pytest.approx(120.0, abs=1.0))
    assert (charted_s, charted_kt) == (150.0, 90.0)


@pytest.mark.parametrize(("straight_s", "fixes"), [(10.0, True), (5.0, False)])
def test_a_turn_before_the_point_is_told_how_long_it_had_to_wait(straight_s, fixes):
    """AIM 5-4-21 b: begun early, the missed approach is flown to its point before any turn."""
    early_s = 60.0
    told = lesson("missed_point", around(late_s=-early_s, straight_s=straight_s), chart() if fixes else chart(fixes=[]))
    to_go_nm = (early_s - straight_s) / 30.0 + (0.0 if fixes else THRESHOLD_NM - MISSED_POINT_NM)
    assert numbers(told.cause)[-1] == pytest.approx(to_go_nm, abs=0.1)
    held, seconds, knots = numbers(told.advice)
    assert held == pytest.approx(course(180.0), abs=1.0)
    assert seconds == pytest.approx(to_go_nm * 30.0, abs=3.0)
    assert knots == pytest.approx(120.0, abs=1.0)


@pytest.mark.parametrize("straight_s", [15.0, 30.0])
def test_a_turn_below_its_altitude_is_told_how_much_longer_to_climb(straight_s):
    """From 1,020 ft at 500 ft/min it takes 45.6 s to 1,400 ft."""
    told = lesson("missed_climb", gone_around(straight_s=straight_s))
    rate, flown_s = numbers(told.cause)
    assert (rate, flown_s) == (pytest.approx(CLIMB_FPM, abs=30.0), pytest.approx(straight_s, abs=2.0))
    held, altitude, seconds = numbers(told.advice)
    assert (held, altitude) == (pytest.approx(course(180.0), abs=1.0), CLIMB_FT)
    assert seconds == pytest.approx((CLIMB_FT - 1020.0) / CLIMB_FPM * 60.0 - straight_s, abs=3.0)


@pytest.mark.parametrize("along_kt", [20.0, -20.0])
def test_the_turn_is_told_its_side_and_the_heading_in_the_wind(along_kt):
    """Along the final course before the turn, the wind is across it after: asin(20/120) = 9.6° into it."""
    wind = (180.0, along_kt) if along_kt > 0.0 else (0.0, -along_kt)
    told = lesson("missed_turn", around(wind, turn_deg=-90.0))
    assert told.cause is None  # either way it is a quarter turn
    altitude, heading, to, into = numbers(told.advice)
    assert "turn right, to heading" in str(told.advice)
    assert (altitude, to) == (CLIMB_FT, pytest.approx(course(270.0), abs=0.5))
    correction = math.degrees(math.asin(along_kt / 120.0))  # to the left, where the wind is from the south
    assert heading == pytest.approx(course(270.0 - correction), abs=1.5)
    assert into == pytest.approx(abs(correction), abs=1.5)


def test_the_shorter_way_round_is_named_where_it_was_taken():
    told = lesson("missed_turn", around(turn_deg=-90.0), chart(missed_approach=missed_table(course_deg=course(90.0))))
    assert numbers(told.cause) == [90.0, 270.0]
    assert "left turn is the shorter one" in str(told.cause)
    assert "turn right, to course" in str(told.advice)


def test_direct_to_a_hold_is_the_way_from_where_the_turn_is_over():
    """The hold lies on the way west that the charted turn rolls out on."""
    direct = chart(missed_approach=missed_table(to="WND", course_deg=None))
    told = lesson("missed_turn", around(turn_deg=-90.0), direct)
    assert "turn right direct to WND: course" in str(told.advice)
    assert numbers(told.advice)[-1] == pytest.approx(course(270.0), abs=1.5)
    off = lesson("missed_course", around(turn_deg=60.0), direct)
    assert "WND bore" in str(off.cause)
    # a turn through 60° ends a little to the left of one through 90°, some 10 NM from the hold
    assert numbers(off.advice)[0] == pytest.approx(course(270.0), abs=2.0)


def test_straight_ahead_is_told_where_a_turn_was_flown():
    told = lesson("missed_turn", around(), chart(missed_approach=missed_table(turn=None, course_deg=None)))
    assert told.advice == f"Climb straight ahead on course {course(180.0):03.0f}°."


@pytest.mark.parametrize("along_kt", [35.0, -35.0])
def test_a_course_that_the_wind_carries_off_is_told_its_heading(along_kt):
    """West in 35 kt across is 16° off: asin(35/120) = 17° into the wind hold it."""
    wind = (180.0, along_kt) if along_kt > 0.0 else (0.0, -along_kt)
    told = lesson("missed_course", around(wind))
    assert numbers(told.cause) == [pytest.approx(course(270.0), abs=1.5)]
    heading, to, into = numbers(told.advice)
    correction = math.degrees(math.asin(along_kt / 120.0))
    assert (heading, into) == (pytest.approx(course(270.0 - correction), abs=2.0), pytest.approx(abs(correction), abs=1.5))
    assert to == pytest.approx(course(270.0), abs=0.5)


@pytest.mark.parametrize("to_ft", [2500.0, 2850.0])
def test_a_climb_that_was_stopped_is_told_how_much_more_it_took(to_ft):
    flight = gone_around(to_ft=to_ft)
    told = lesson("missed_altitude", flight)
    stopped = flight.flown.begins["climb"] + (to_ft - 1020.0) / CLIMB_FPM * 60.0
    assert clocks(told.cause) == [pytest.approx(stopped, abs=8.0)]
    altitude, seconds, lead, begin, *_ = numbers(told.advice)
    assert (altitude, seconds) == (HOLD_FT, pytest.approx((HOLD_FT - to_ft) / CLIMB_FPM * 60.0, abs=3.0))
    assert (lead, begin) == (50.0, HOLD_FT - 50.0)  # a tenth of 500 ft/min; common practice, no source


def test_a_climb_that_went_through_its_altitude_is_told_the_lead():
    told = lesson("missed_altitude", gone_around(to_ft=3250.0))
    assert numbers(told.cause) == [HOLD_FT, pytest.approx(CLIMB_FPM, abs=20.0)]
    assert numbers(told.advice) == [50.0, HOLD_FT - 50.0]


def test_what_is_inside_or_at_the_edge_of_it_is_told_nothing_false():
    for finding in gone_around().debrief().approaches[0].findings:
        assert not finding.check.startswith("missed") or finding.lesson is None
    early = one_of(around(late_s=-0.5).debrief(log=replace(NOISY, noise_m=3.0)).approaches[0], "missed_point")
    assert early.lesson is None


def test_a_go_around_at_a_decision_altitude_is_told_when_and_what_it_loses():
    """650 ft/min go on for 12 s beyond 900 ft; two seconds and a pull-up of a quarter g lose 21.7 + 3.7 m × (v = 3.3 m/s)."""
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
