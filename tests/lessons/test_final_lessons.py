"""Lessons on the inbound and final course: flying the advice has the stated effect."""

import math
import re
from collections.abc import Sequence

import numpy as np
import pytest
from checked import NOISY, all_of, debriefed, one_of
from descents import ELEVATION_FT, IN, LANDING, MDA, MDA_FT, TO_MDA, descended, path
from patterns import Pattern, fly_approach
from synthetic import FT, NM, Chart, Flown, Segment, Straight, Turn, Wind, fly, holding

from analyzer.checks.finding import Finding, Lesson

SPEED_KT, BANK = 120.0, 18.0
HEIGHTS = Sequence[tuple[float, float]]


def lesson_of(finding: Finding) -> Lesson:
    assert finding.lesson is not None
    return finding.lesson


def numbers(text: str | None) -> list[float]:
    assert text is not None
    return [float(word.replace(",", "")) for word in re.findall(r"\d[\d,]*(?:\.\d+)?", text)]


def levelled(from_ft: float, rate_fpm: float, at_ft: float, to_ft: float) -> list[tuple[float, float]]:
    """Down at a rate from the fix, levelled off evenly between two altitudes: miles before the threshold, and feet."""
    fall, lead = rate_fpm / 60.0 * 30.0, at_ft - to_ft  # feet a mile at 120 kt
    begin = 5.0 - (from_ft - at_ft) / fall
    takes = 2.0 * lead / fall  # miles, the rate falling steadily to nothing
    round_out = [(begin - takes * share, to_ft + lead * (1.0 - share) ** 2) for share in np.linspace(0.0, 1.0, 12)]
    end = (0.3, to_ft), (-3.0, 2600.0)
    return [*IN[:1], (5.0, from_ft), *((float(before), float(feet)) for before, feet in round_out), *end]


@pytest.mark.parametrize("rate_fpm", [500.0, 800.0, 1100.0])
def test_the_lead_that_levels_off_at_the_minimum(rate_fpm):
    fall = rate_fpm / 60.0 * 30.0
    levelled_too_low = [(15.0, 1700.0), (5.0, 1700.0), (5.0 - 1000.0 / fall, 700.0), (0.8, 700.0), (-2.0, 2600.0)]
    finding = one_of(descended(levelled_too_low), "minimum_altitude")
    assert finding.verdict == "outside"
    lesson = lesson_of(finding)
    lead, at_ft = numbers(lesson.advice)[-2:]
    assert at_ft == pytest.approx(MDA_FT + lead)
    assert numbers(lesson.cause)[-1] == pytest.approx(rate_fpm, rel=0.08)
    again = one_of(descended(levelled(1700.0, rate_fpm, at_ft, MDA_FT + 5.0)), "minimum_altitude")
    assert again.verdict in ("inside", "too close to call")
    assert again.measured >= MDA_FT - 10.0


def test_the_same_rate_without_the_lead_goes_below_it():
    again = one_of(descended(levelled(1700.0, 1100.0, MDA_FT, MDA_FT - 110.0)), "minimum_altitude")
    assert again.verdict == "outside"


def test_the_advice_is_to_hold_the_minimum_until_the_three_degree_path():
    early = [(15.0, 1700.0), (7.0, 1700.0), (4.9, MDA_FT + 50.0), *path(1.3)]
    finding = one_of(descended(early), "minimum_altitude")
    assert (finding.verdict, finding.unit) == ("outside", "deg")
    hold_ft, until_nm, angle_deg, rate_fpm, knots = numbers(lesson_of(finding).advice)
    assert (hold_ft, angle_deg) == (MDA_FT, 3.0)
    assert until_nm == pytest.approx((MDA_FT - ELEVATION_FT - 50.0) * FT / NM / math.tan(math.radians(3.0)), abs=0.06)
    assert rate_fpm == pytest.approx(knots * NM / FT / 60.0 * math.tan(math.radians(3.0)), abs=5.0)
    again = descended([(15.0, 1700.0), (7.0, 1700.0), (4.9, hold_ft + 10.0), (until_nm, hold_ft + 10.0), *LANDING])
    finding = one_of(again, "minimum_altitude")
    assert (finding.verdict, finding.unexplained) == ("not assessed", False)
    assert "runway in sight" in str(finding.reason)
    assert one_of(again, "stabilised_descent").verdict == "inside"


def test_the_path_from_a_visual_descent_point():
    minimum = {**MDA, "visual_descent_point_nm": 1.0}
    early = [*TO_MDA, (1.8, MDA_FT + 50.0), *LANDING]
    finding = one_of(descended(early, minimum=minimum), "minimum_altitude")
    assert (finding.verdict, finding.unit) == ("outside", "NM")
    hold_ft, until_nm, angle_deg = numbers(lesson_of(finding).advice)[:3]
    assert (hold_ft, until_nm) == (MDA_FT, 1.0)
    assert angle_deg == pytest.approx(math.degrees(math.atan(350.0 * FT / NM)), abs=0.06)
    again = one_of(descended([*TO_MDA, (until_nm, hold_ft + 20.0), *LANDING], minimum=minimum), "minimum_altitude")
    assert again.verdict == "not assessed"


def test_the_advice_is_to_descend_after_the_fix():
    fixes = [{"name": "KESTA", "role": "step-down", "distance_nm": 2.0, "minimum_ft": 1300}]
    early = [(15.0, 1700.0), (5.0, 1700.0), (4.2, 1400.0), (3.7, 1400.0), (2.2, 950.0), *path(3.0)]
    finding = one_of(descended(early, fixes=fixes), "step_down")
    assert finding.verdict == "outside"
    advice = lesson_of(finding).advice
    level_ft, later_nm = numbers(advice)
    assert "KESTA" in str(advice)
    left = 3.7 - 100.0 / 300.0  # 1,300 ft is passed a third of a mile after 1,400 ft was left, at 300 ft a mile
    assert later_nm == pytest.approx(left - 3.0, abs=0.07)
    again = [
        (15.0, 1700.0),
        (5.0, 1700.0),
        (4.0, level_ft + 20.0),
        (left - later_nm, level_ft + 20.0),
        (1.6, 950.0),
        *path(3.0),
    ]
    assert one_of(descended(again, fixes=fixes), "step_down").verdict in ("inside", "too close to call")


def home(wind: Wind, after_fix_s: float, then_deg: float) -> Flown:
    """A 45/180 in a wind that rolls out on the course, turns by an angle at the fix, and flies 4 NM from there."""

    def hold(course: float) -> float:
        return holding(course, SPEED_KT, wind)

    out = [Straight("arrival", 90.0), Straight("outbound", 150.0), Turn("offset_turn", hold(45.0) - hold(0.0), BANK)]
    out += [Straight("offset_leg", 85.0), Turn("reversal_turn", hold(-150.0) - hold(45.0), BANK)]

    def run(segments: Sequence[Segment]) -> Flown:
        return fly(segments, (0.0, -3.0), hold(0.0), SPEED_KT, wind, 5.0)

    turn = Turn("intercept", hold(-180.0) - hold(-150.0), 15.0)
    near, far = (float(run([*out, Straight("cut", seconds), turn]).x_nm[-1]) for seconds in (10.0, 20.0))
    cut_s = 10.0 - 10.0 * near / (far - near)
    assert cut_s > 0.0
    out += [Straight("cut", cut_s), turn]
    to_go = float(run(out).y_nm[-1]) / (SPEED_KT - wind[1] * math.cos(math.radians(wind[0] - 180.0))) * 3600.0
    gives_up = [Turn("gives_up", then_deg, 1.0)] if abs(then_deg) > 0.5 else []
    return run([*out, Straight("home", to_go + after_fix_s), *gives_up, Straight("then", 200.0)])


@pytest.mark.parametrize("wind", [(90.0, 25.0), (270.0, 25.0), (130.0, 25.0)])
def test_the_heading_that_holds_the_final_course(wind):
    # without the wind correction after the fix, the aircraft drifts off
    crab = holding(180.0, SPEED_KT, wind) - 180.0
    finding = one_of(debriefed(home(wind, 40.0, -crab)), "final_course")
    assert finding.verdict == "outside"
    heading = numbers(lesson_of(finding).advice)[0]
    again = home(wind, 40.0, ((heading - (62.0 + 11.0 + 180.0)) + 180.0) % 360.0 - 180.0 - crab)
    drifted = again.x_nm[-1] - again.x_nm[np.searchsorted(again.time_s, again.begins["then"])]
    # a degree of heading is 0.12 NM in the 200 s; the advice is in whole degrees
    assert abs(drifted) < 0.25
    assert one_of(debriefed(again), "final_course").verdict == "inside"


def test_no_heading_is_advised_without_a_wind():
    way = fly([Straight("inbound", 310.0), Turn("off", 12.0, 5.0), Straight("away", 150.0)], (0.0, 10.0), 180.0)
    finding = one_of(debriefed(way), "final_course")
    assert finding.verdict == "outside"
    advice = str(lesson_of(finding).advice)
    assert "heading" not in advice.lower()
    # the turn was 12° off the course: the advice intercepts it from there, at a normal intercept angle
    assert 5.0 <= numbers(advice)[0] <= 45.0


@pytest.mark.parametrize("side", [1, -1])
@pytest.mark.parametrize("leg_s", [70.0, 90.0])
def test_the_angle_that_intercepts_the_course_a_mile_before_the_fix(leg_s, side):
    flown = fly_approach(Pattern(roll_deg_s=5.0, leg_s=leg_s, outbound_s=180.0, side=side)).flown
    chart_side = "right" if side > 0 else "left"
    finding = one_of(debriefed(flown, chart=Chart(side=chart_side)), "established")
    assert finding.verdict == "outside"
    cut_deg, said_nm = numbers(str(lesson_of(finding).advice))
    at = flown.begins["inbound"]
    x_nm, y_nm = float(flown.at(at, flown.x_nm)), float(flown.at(at, flown.y_nm))
    meets_nm = y_nm - abs(x_nm) / math.tan(math.radians(cut_deg))
    assert 1.0 - 0.1 < meets_nm < y_nm
    assert meets_nm == pytest.approx(said_nm, abs=0.12)
    # ten degrees less would not
    assert y_nm - abs(x_nm) * math.tan(math.radians(90.0 - max(cut_deg - 10.0, 0.01))) < 1.0


def test_the_advice_after_rolling_out_close_to_the_fix_is_another_circuit():
    flown = fly_approach(Pattern(speed_kt=90.0, roll_deg_s=5.0, outbound_s=5.0, leg_s=55.0, leg_deg=70.0)).flown
    at = flown.begins["inbound"]
    # to meet the course a mile before the fix from there, the intercept angle would exceed 60°
    assert float(flown.at(at, flown.x_nm)) / (float(flown.at(at, flown.y_nm)) - 1.0) > math.tan(math.radians(60.0))
    found = all_of(debriefed(flown), "established")
    assert [finding.verdict for finding in found] == ["outside"]
    assert str(lesson_of(found[0]).advice).startswith("Fly another circuit")


def test_what_is_inside_needs_no_lesson():
    for finding in descended([*TO_MDA, *path(3.0)], log=NOISY).findings:
        assert finding.verdict in ("outside", "too close to call") or finding.lesson is None
