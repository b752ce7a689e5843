"""Lessons: flown by the tests' own simulation, the advice has the stated effect; without data there is no advice."""

import math
import re
from dataclasses import replace

import numpy as np
import pytest
from checked import NOISY, debriefed, of_pattern, one_of
from patterns import Pattern, fly_approach
from synthetic import CALM, KT, Chart, Flown, Log, Straight, Turn, Wind, fly, holding

from analyzer.checks.finding import Finding, Lesson

BASE = Pattern(speed_kt=140.0, bank_deg=22.0, roll_deg_s=5.0, outbound_s=150.0, intercept=True)
QUIET = replace(NOISY, noise_m=0.5)
CLOCK = re.compile(r"\d\d:\d\d:\d\d")


def lesson_of(finding: Finding) -> Lesson:
    assert finding.lesson is not None
    return finding.lesson


def numbers(text: str | None) -> list[float]:
    assert text is not None
    return [float(word) for word in re.findall(r"\d+(?:\.\d+)?", text)]


WINDS: list[Wind] = [CALM, (180.0, 25.0), (0.0, 20.0), (90.0, 20.0), (250.0, 25.0)]


@pytest.mark.parametrize("wind", WINDS)
def test_beginning_the_turn_earlier_stays_a_mile_inside(wind):
    far = replace(BASE, outbound_s=270.0, wind=wind)
    chart = Chart(within_nm=10.0)
    finding = one_of(of_pattern(far, QUIET, chart), "distance_limit")
    assert finding.verdict == "outside"
    from_fix, earlier_nm, earlier_s = numbers(lesson_of(finding).advice)[:3]
    assert earlier_nm > 0.0
    assert re.fullmatch(
        r"Begin the turn off the outbound course \d\.\d NM from the fix, \d\.\d NM \(\d+ s\) earlier: "
        r"the same reversal then stays a mile inside the limit\.",
        str(lesson_of(finding).advice),
    )
    again = of_pattern(replace(far, outbound_s=far.outbound_s - earlier_s), QUIET, chart)
    reached = one_of(again, "distance_limit")
    assert reached.measured == pytest.approx(9.0, abs=0.15)
    assert one_of(again, "outbound_length").measured == pytest.approx(from_fix, abs=0.15)


@pytest.mark.parametrize("wind", [CALM, (180.0, 15.0), (90.0, 20.0)])
def test_a_long_offset_leg_and_a_high_speed_are_advised_against_and_the_rest_is_simulated(wind):
    far = replace(BASE, speed_kt=185.0, bank_deg=25.0, outbound_s=170.0, leg_s=80.0, wind=wind)
    finding = one_of(of_pattern(far, QUIET), "distance_limit")
    assert finding.verdict == "outside"
    knots, leg_s, flown_s, from_fix = numbers(lesson_of(finding).advice)
    assert (knots, leg_s, flown_s) == (140.0, 40.0, pytest.approx(80.0, abs=3.0))
    assert from_fix > 2.0
    assert re.fullmatch(
        r"Slow to 140 kt if the aircraft allows, fly the offset leg for 40 s, not \d+ s, and begin the turn off the outbound "
        r"course \d\.\d NM from the fix: the reversal then stays a mile inside the limit\.",
        str(lesson_of(finding).advice),
    )
    tighter = replace(far, speed_kt=knots, leg_s=leg_s)
    length = one_of(of_pattern(tighter, QUIET), "outbound_length").measured
    assert isinstance(length, float)
    out_kt = 140.0 * math.cos(math.radians(holding(0.0, 140.0, wind))) - wind[1] * math.cos(math.radians(wind[0]))
    tighter = replace(tighter, outbound_s=tighter.outbound_s + (from_fix - length) / out_kt * 3600.0)
    again = of_pattern(tighter, QUIET)
    assert one_of(again, "outbound_length").measured == pytest.approx(from_fix, abs=0.15)
    assert one_of(again, "distance_limit").measured == pytest.approx(9.0, abs=0.3)


@pytest.mark.parametrize("wind", WINDS)
def test_the_effect_of_the_wind_is_the_difference_from_still_air(wind):
    far = replace(BASE, outbound_s=270.0, wind=wind)
    approach = of_pattern(far, QUIET, Chart(within_nm=10.0))
    said = numbers(lesson_of(one_of(approach, "distance_limit")).cause)
    begun, took = said[:2]
    reached = one_of(approach, "distance_limit").measured
    assert isinstance(reached, float)
    # as shown, in tenths of a mile
    assert begun + took == pytest.approx(round(reached, 2), abs=0.0501)
    short, long = r"at this speed the reversal takes another \d\.\d NM", r"from there the reversal took another \d\.\d NM"
    cause = str(lesson_of(one_of(approach, "distance_limit")).cause)
    begun_at = r"The turn was begun \d+\.\d NM from the fix; "
    assert re.fullmatch(rf"{begun_at}({short}|{long}, \d\.\d NM (more|less) than in still air)\.", cause)
    if wind == CALM:
        assert len(said) == 2  # nothing is attributed to a wind of zero
    along = wind[1] * math.cos(math.radians(wind[0] - 180.0))  # from behind, outbound
    if abs(along) > 15.0:
        assert ("more than in still air" in str(lesson_of(one_of(approach, "distance_limit")).cause)) == (along > 0.0)


# The turn rolls out more than the mile beyond the course that common practice allows, even with these winds across.
SHORT = Pattern(speed_kt=180.0, bank_deg=18.0, roll_deg_s=5.0)
OVERSHOT: list[tuple[Wind, int, float]] = [
    *((wind, side, leg_s) for wind in WINDS[:3] for side in (1, -1) for leg_s in (5.0, 20.0)),
    ((90.0, 20.0), 1, 20.0),
    ((250.0, 25.0), -1, 20.0),
]


def overshot(pattern: Pattern, stopped_deg: float = 0.0, held_s: float = 10.0) -> Flown:
    """A 45/180 whose turn back rolls out beyond the inbound course, or is stopped short of it; then back to it at 30°."""
    side, wind = pattern.side, pattern.wind
    out, home, leg = holding(0.0, pattern.speed_kt, wind), holding(180.0, pattern.speed_kt, wind), side * 45.0
    back, bank = -side * ((side * (leg - home)) % 360.0), pattern.bank_deg or 20.0
    path = [Straight("arrival", 90.0), Straight("outbound", 120.0), Turn("offset_turn", leg - out, bank)]
    path += [Straight("offset_leg", pattern.leg_s), Turn("back", back + side * stopped_deg, bank), Straight("beyond", held_s)]
    path += [Turn("to_course", -side * (stopped_deg + 30.0), bank)]

    def flown(cut_s: float) -> Flown:
        rest = [Straight("cut", cut_s), Turn("on", side * 30.0, bank), Straight("home", 300.0)]
        return fly([*path, *rest], (0.0, -4.5), out, pattern.speed_kt, wind, 5.0)

    near, far = (float(flown(seconds).x_nm[-1]) for seconds in (10.0, 20.0))
    cut_s = 10.0 - 10.0 * near / (far - near)
    assert cut_s > 0.0
    return flown(cut_s)


def of_overshoot(flown: Flown, side: int) -> Finding:
    return one_of(debriefed(flown, QUIET, Chart(side="right" if side > 0 else "left", within_nm=20.0)), "intercept")


@pytest.mark.parametrize(("wind", "side", "leg_s"), OVERSHOT)
def test_the_offset_time_that_rolls_out_on_the_course(wind, side, leg_s):
    pattern = replace(SHORT, wind=wind, side=side, leg_s=leg_s)
    finding = of_overshoot(overshot(pattern), side)
    assert (finding.verdict, finding.measured) == ("outside", pytest.approx(-side * rolled_out_nm(pattern), abs=0.15))
    lesson = lesson_of(finding)
    assert numbers(lesson.cause)[1] == pytest.approx(-side * rolled_out_nm(pattern), abs=0.15)
    seconds = numbers(lesson.advice)[0 if wind == CALM else 1]
    assert re.fullmatch(
        r"With \d+ s on the offset leg, the turn at this bank rolls out \d\.\d NM beyond the inbound course\.",
        str(lesson.cause),
    )
    begin = "At" if wind == CALM else r"In this wind \(\d+ kt\) and at"
    assert re.fullmatch(
        begin + r" this bank, \d+ s on the offset leg, not \d+ s, would have rolled out on the inbound course\.",
        str(lesson.advice),
    )
    assert abs(rolled_out_nm(replace(pattern, leg_s=seconds))) < 0.15


@pytest.mark.parametrize("stopped_deg", [35.0, 50.0, 70.0])
@pytest.mark.parametrize("side", [1, -1])
def test_a_turn_stopped_short_is_not_blamed_on_the_leg_before_it(side, stopped_deg):
    # a turn that would have rolled out on the course, stopped for 50 s: at 50° and 180 kt that is 1.9 NM across
    pattern = replace(SHORT, side=side, leg_s=2.0 * 92.6 / (9.80665 * math.tan(math.radians(18.0))) - 5.0)
    flown = overshot(pattern, stopped_deg, 60.0)
    finding = of_overshoot(flown, side)
    assert finding.verdict == "outside"
    lesson = lesson_of(finding)
    assert lesson.advice == "Keep turning as the course comes alive."
    assert numbers(lesson.cause)[0] == pytest.approx(stopped_deg, abs=2.0)
    assert re.fullmatch(
        rf"The turn was stopped \d+° short of the inbound course, which was crossed at {CLOCK.pattern}; "
        rf"that heading was held until {CLOCK.pattern}\.",
        str(lesson.cause),
    )
    since = flown.time_s > flown.begins["back"] + 30.0
    crossed = float(flown.time_s[since][np.argmax(side * flown.x_nm[since] < 0.0)])
    shown = [
        sum(int(word) * 60.0**k for k, word in enumerate(reversed(one.split(":")))) for one in CLOCK.findall(str(lesson.cause))
    ]
    assert shown[0] - 36_000.0 == pytest.approx(crossed, abs=1.5)
    assert shown[1] - 36_000.0 == pytest.approx(flown.begins["to_course"], abs=6.0)


def rolled_out_nm(pattern: Pattern) -> float:
    """Distance from the course where a turn directly to the heading that holds it rolls out."""
    out, home = holding(0.0, pattern.speed_kt, pattern.wind), holding(180.0, pattern.speed_kt, pattern.wind)
    leg = pattern.side * 45.0
    back = -pattern.side * ((pattern.side * (leg - home)) % 360.0)
    bank = pattern.bank_deg or 20.0
    path = [Straight("out", 60.0), Turn("offset", leg - out, bank), Straight("leg", pattern.leg_s), Turn("back", back, bank)]
    return float(fly(path, (0.0, 0.0), out, pattern.speed_kt, pattern.wind, 5.0).x_nm[-1])


def test_still_air_gives_two_over_the_rate_less_the_rolls():
    # In still air 2/ω of straight flight closes the pattern with instant rolls; rolling at 5°/s replaces the time of one roll.
    rate = 9.80665 * math.tan(math.radians(18.0)) / (180.0 * KT)
    finding = of_overshoot(overshot(replace(SHORT, leg_s=10.0)), 1)
    assert numbers(lesson_of(finding).advice)[0] == pytest.approx(2.0 / rate - 18.0 / 5.0, abs=3.0)


def test_the_lesson_on_a_steep_turn_gives_the_bank_for_standard_rate():
    finding = one_of(of_pattern(replace(BASE, back_bank_deg=38.0), QUIET), "turn_bank", "reversal_turn")
    assert finding.verdict == "outside"
    lesson = lesson_of(finding)
    # atan(V ω/g) at 140 kt and 3°/s: 21.0°; 38° there turn at 6.1°/s
    assert numbers(lesson.advice)[0] == pytest.approx(21.0, abs=0.6)
    assert numbers(lesson.cause)[2] == pytest.approx(6.1, abs=0.3)


def test_the_lesson_on_an_early_step_down_gives_the_time_available():
    flown = fly_approach(BASE)
    floors = {"arrival": 3000.0, "outbound": 3000.0, "reversal": 3000.0, "inbound": 2200.0}
    left = flown.begin("reversal_turn") + 10.0
    heights = [(0.0, 3000.0), (left, 3000.0), (left + 60.0, 2200.0)]
    approach = debriefed(flown, replace(QUIET, altitude_ft=heights), Chart(floors_ft=floors))
    # below the minimum of the reversal, and too early: one event, whose lesson goes with the minimum
    finding = next(f for f in approach.findings if f.check == "altitude_floor" and f.verdict == "outside")
    lesson = lesson_of(finding)
    assert "reversal turn" in str(lesson.cause)
    miles, seconds, feet, rate = numbers(str(lesson.advice).replace(",", ""))[:4]
    assert feet == 800.0
    established = approach.reversal.established_s
    assert established is not None
    assert seconds == pytest.approx(flown.inbound_passage_s - (established - 1_780_308_000.0), abs=2.0)
    assert rate * seconds / 60.0 >= feet
    assert miles == pytest.approx(140.0 * seconds / 3600.0, abs=0.2)


def test_the_lesson_on_a_course_lost_to_the_wind_gives_the_heading_that_holds_it():
    # 30 kt from the right, corrected for a minute after the fix, then not. In much more wind it would look like a teardrop,
    # whose outbound course is the pilot's choice under a barb (AIM 5-4-9 a.1).
    wind: Wind = (90.0, 30.0)
    held = holding(0.0, 140.0, wind)
    path = [Straight("arrival", 60.0), Straight("held", 60.0), Turn("gives up", -held, 15.0), Straight("outbound", 130.0)]
    path += [Turn("offset", 45.0, 22.0), Straight("leg", 60.0), Turn("reversal_turn", -195.0, 22.0), Straight("cut", 60.0)]
    path += [Turn("intercept", -30.0 + held / 2.0, 15.0), Straight("home", 240.0)]
    flown = fly(path, (0.0, -2.2), held, 140.0, wind, 5.0)
    finding = one_of(debriefed(flown, QUIET), "outbound_course")
    assert finding.verdict == "outside"
    magnetic = (62.0 + 11.0 + holding(0.0, 140.0, wind)) % 360.0
    assert numbers(lesson_of(finding).advice)[0] == pytest.approx(magnetic, abs=3.0)


def test_the_lesson_on_the_wrong_side_gives_the_charted_one():
    outbound = 62.0 + 11.0
    chart = Chart(side="right", reversal={"offset_course_deg": outbound + 45.0})
    finding = one_of(of_pattern(replace(BASE, side=-1), QUIET, chart), "reversal_side")
    assert finding.verdict == "outside"
    # without a charted heading it is the pilot's choice (AIM 5-4-9 a.1), and the advice is on the side only
    plain = one_of(of_pattern(replace(BASE, side=-1), QUIET, Chart(side="right")), "reversal_side")
    assert lesson_of(plain).advice == "Turn right off the outbound course."
    advice = str(lesson_of(finding).advice)
    assert "Turn right" in advice
    assert numbers(advice)[0] == pytest.approx(outbound + 45.0, abs=1.0)


@pytest.mark.parametrize("hole", [True, False])
def test_there_is_no_lesson_without_data(hole):
    flown = fly_approach(replace(BASE, outbound_s=200.0))
    turn = flown.begin("reversal_turn")
    log = Log(hole_s=(turn + 10.0, turn + 30.0)) if hole else Log(end_s=turn + 20.0)
    approach = debriefed(flown, log, Chart(within_nm=5.0))
    assert approach.findings
    for finding in approach.findings:
        if finding.check in ("distance_limit", "offset_time"):
            assert finding.lesson is None


def test_what_is_inside_needs_no_lesson():
    for finding in of_pattern(BASE, QUIET).findings:
        assert finding.lesson is None or finding.check == "offset_time"
