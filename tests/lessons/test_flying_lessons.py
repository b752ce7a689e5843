"""Lessons on course and glide path: by geometry, the advised intercept angle and rate of descent lead back."""

import math
import re

import pytest
from checked import debriefed, one_of
from final_flights import flown_at, runway
from patterns import Pattern, fly_approach
from synthetic import Chart, Straight, Turn, fly

from analyzer.checks.finding import Finding, Lesson

KNOT_FT_S = 1852.0 / 0.3048 / 3600.0


def lesson_of(finding: Finding) -> Lesson:
    assert finding.lesson is not None
    return finding.lesson


def numbers(text: str | None) -> list[float]:
    assert text is not None
    return [float(word.replace(",", "")) for word in re.findall(r"\d[\d,]*(?:\.\d+)?", text)]


@pytest.mark.parametrize("side", [1, -1])
@pytest.mark.parametrize("leg_s", [70.0, 90.0])
def test_the_intercept_angle_and_where_it_meets_the_course(leg_s, side):
    # the turn rolls out on the inbound heading next to the course, in still air parallel to it
    flown = fly_approach(Pattern(roll_deg_s=5.0, leg_s=leg_s, outbound_s=180.0, side=side)).flown
    finding = one_of(debriefed(flown, chart=Chart(side="right" if side > 0 else "left")), "established")
    assert finding.verdict == "outside"
    lesson = lesson_of(finding)
    at = flown.begins["inbound"]
    x_nm, y_nm = float(flown.at(at, flown.x_nm)), float(flown.at(at, flown.y_nm))
    off, to_go, parallel = numbers(lesson.cause)
    assert (off, to_go) == (pytest.approx(abs(x_nm), abs=0.05), pytest.approx(y_nm, abs=0.3))
    assert "parallel to the course" in str(lesson.cause)
    assert parallel == pytest.approx(abs(x_nm), abs=0.05)
    cut_deg, meets_nm = numbers(lesson.advice)
    assert meets_nm == pytest.approx(to_go - off / math.tan(math.radians(cut_deg)), abs=0.11)
    assert meets_nm >= 1.0
    # ten degrees less would meet it within a mile of the fix, or not before it
    assert cut_deg == 10.0 or to_go - off / math.tan(math.radians(cut_deg - 10.0)) < 1.0


@pytest.mark.parametrize("side", [1, -1])
def test_a_lost_final_course_has_an_intercept_to_try_without_a_wind(side):
    way = fly([Straight("inbound", 310.0), Turn("off", side * 12.0, 5.0), Straight("away", 150.0)], (0.0, 10.0), 180.0)
    finding = one_of(debriefed(way), "final_course")
    assert finding.verdict == "outside"
    lesson = lesson_of(finding)
    assert "led away from the course by 12°" in str(lesson.cause)
    assert f"from the {'right' if side > 0 else 'left'}" in str(lesson.advice)
    assert "hold" not in str(lesson.advice)
    cut_deg, across_ft, seconds = numbers(lesson.advice)
    assert seconds == pytest.approx(across_ft / (120.0 * KNOT_FT_S * math.sin(math.radians(cut_deg))), rel=0.03)


@pytest.mark.parametrize(("fpm", "word"), [(350.0, "high"), (900.0, "low")])
def test_a_lost_glide_path_has_a_rate_to_try(fpm, word):
    # at 120 kt 3° take 120 × 101.27 × tan 3° = 637 ft/min; met from level flight at 2,600 ft, and left at another rate
    path = {"angle_deg": 3.0, "threshold_crossing_height_ft": 50.0}
    met_s = (15.0 - (2600.0 - 550.0) / (6076.12 * math.tan(math.radians(3.0)))) * 30.0
    heights = []
    for second in range(471):
        down = max(0.0, second - met_s - 4.0)  # level a little beyond it, so that it is crossed
        heights.append(max(2600.0 - min(down, 30.0) / 60.0 * 637.0 - max(0.0, down - 30.0) / 60.0 * fpm, 700.0))
    finding = one_of(flown_at(heights, runway=runway(), glide_path=path), "glide_path")
    assert finding.verdict == "outside"
    lesson = lesson_of(finding)
    assert numbers(lesson.cause)[1] == pytest.approx(637.0, abs=8.0)
    back, then = numbers(lesson.advice)
    assert word in str(lesson.advice)
    assert then == pytest.approx(637.0, abs=8.0)
    assert (back > then) == (word == "high")
    assert back <= 1000.0
