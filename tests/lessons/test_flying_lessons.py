"""Lessons on course and glide path: by geometry, the advised intercept angle and rate of descent lead back."""

import math
import re
from dataclasses import replace

import pytest
from checked import NOISY, debriefed, one_of
from final_flights import flown_at, runway
from patterns import Pattern, fly_approach
from synthetic import Chart, Straight, Turn, fly

from analyzer import debrief
from analyzer.checks.finding import Context, Finding, Lesson
from analyzer.checks.standard import read_standard
from analyzer.lessons.flying import learn_course

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
    cut_deg, across_nm, seconds = numbers(lesson.advice)  # 150 s at 120 kt, 12° off, are 1.04 NM across
    assert seconds == pytest.approx(across_nm / (120.0 / 3600.0 * math.sin(math.radians(cut_deg))), rel=0.03)


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


@pytest.mark.parametrize(("into_s", "speaks"), [(4.0, False), (8.0, False), (14.0, True), (40.0, True)])
def test_a_few_seconds_of_a_leg_say_nothing_of_what_was_steered_on_it(into_s, speaks):
    """Ten at the least (common practice, no source). 12° off the course all the way from the fix."""
    way = fly([Straight("inbound", 300.0), Turn("off", 12.0, 5.0), Straight("away", 150.0)], (0.0, 10.0), 180.0)
    result = debrief(NOISY.of(way), Chart().at())
    (approach,) = result.approaches
    finding = one_of(approach, "final_course")
    context = Context(result.motion, approach.reversal, approach.figures, read_standard("faa-instrument"))
    ((begun_s, _),) = approach.reversal.leg_spans("final")
    lesson = learn_course(context, replace(finding, place=context.place(begun_s + into_s)))
    assert (lesson is not None) == speaks
    if lesson is not None:
        assert f"In the {into_s:.0f} s before" in str(lesson.cause) or f"In the {into_s - 1.0:.0f} s before" in str(
            lesson.cause
        )


@pytest.mark.parametrize(
    ("cut_deg", "words"), [(5.0, "closed with the course at 5°"), (-5.0, "led away from the course by 5°")]
)
@pytest.mark.parametrize("side", [1, -1])
def test_how_the_course_was_cut_towards_is_said(cut_deg, words, side):
    """From a 45/180 that rolls out next to the inbound course, at an angle to it, in still air."""
    path = [Straight("arrival", 90.0), Straight("outbound", 150.0), Turn("offset_turn", 45.0, 18.2), Straight("leg", 75.0)]
    path += [Turn("reversal_turn", -225.0 + cut_deg, 18.2), Straight("inbound", 300.0)]
    flown = fly(path, (0.0, -3.0), 0.0, roll_deg_s=5.0)
    at = flown.begins["inbound"]
    off_nm, to_go_nm = (abs(float(flown.at(at, along))) for along in (flown.x_nm, flown.y_nm))
    flown = flown if side > 0 else flown.mirrored()
    finding = one_of(debriefed(flown, chart=Chart(side="right" if side > 0 else "left")), "established")
    assert finding.verdict == "outside"
    # inbound, what lies right of the way out is on the left
    came_out = r"The turn rolled out (\d\.\d\d) NM (left|right) of the course with (\d\.\d) NM to go; the track then "
    said = re.fullmatch(came_out + re.escape(words) + r"\.", str(lesson_of(finding).cause))
    assert said is not None, lesson_of(finding).cause
    assert said[2] == ("left" if side > 0 else "right")
    assert float(said[1]) == pytest.approx(off_nm, abs=0.05)
    assert float(said[3]) == pytest.approx(to_go_nm, abs=0.1)


@pytest.mark.parametrize(
    ("across_ft", "cut_deg"), [(400.0, 5.0), (1500.0, 10.0), (3000.0, 20.0), (5500.0, 30.0), (12000.0, 30.0)]
)
def test_the_least_cut_that_closes_within_a_minute_is_advised(across_ft, cut_deg):
    """Flown 400 ft off the course, whatever is said to have been.

    12,152 ft are flown in a minute at 120 kt: 5° close 1,059 ft of them, 10° 2,110, 20° 4,156 and 30°, the most, 6,076.
    """
    track = NOISY.of(fly([Straight("along", 400.0)], (400.0 * 0.3048 / 1852.0, 6.0), 180.0))
    result = debrief(track, Chart(side=None, within_nm=None, reversal={"kind": "none"}, fix={"kind": "waypoint"}).at())
    (approach,) = result.approaches
    course = [finding for finding in approach.findings if finding.check == "inbound_course"]
    context = Context(result.motion, approach.reversal, approach.figures, read_standard("faa-instrument"))
    place = context.place(approach.reversal.leg_spans("inbound")[0][0] + 60.0)
    across_nm = -across_ft * 0.3048 / 1852.0  # left of the way in
    made = replace(course[0], place=place, details={"cross_track_nm": across_nm})
    lesson = learn_course(context, made)
    assert lesson is not None
    assert lesson.cause == "In the 60 s before, the track ran parallel to the course."
    cut, distance, seconds = numbers(lesson.advice)
    assert cut == cut_deg
    if across_ft > 6076.0:  # a mile, from which on nobody counts in feet
        assert distance == pytest.approx(across_ft * 0.3048 / 1852.0, abs=0.006)
        assert " NM in " in str(lesson.advice)
    else:
        assert distance == pytest.approx(across_ft, abs=6.0)
        assert " ft in " in str(lesson.advice)
    assert "from the left" in str(lesson.advice)
    assert seconds == pytest.approx(across_ft / (120.0 * KNOT_FT_S * math.sin(math.radians(cut_deg))), abs=1.0)
