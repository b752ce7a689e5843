"""The plan view by what is drawn: miles east and north of the fix, against geographiclib and the procedure file."""

import math
import re

import numpy as np
import pytest
from drawn import line_through, lines, points, signs, text_saying, words
from report_flights import LEGS, NM, VARIATION_DEG, charted, from_fix, instant, truth_near

from analyzer.report.pictures.style import INK, LEG_COLOUR, WARN


@pytest.fixture
def plan(figures, sample):
    return figures[sample, "plan"]


def bearing(vector) -> float:
    """Of a vector east and north. [degrees, 0 to 360]"""
    return math.degrees(math.atan2(vector[0], vector[1])) % 360.0


def place(latitude_deg: float, longitude_deg: float) -> np.ndarray:
    """Azimuthal equidistant about the fix, by its definition: distance and bearing are true. [NM east, north]"""
    distance, direction = from_fix(latitude_deg, longitude_deg)
    return distance * np.array([math.sin(math.radians(direction)), math.cos(math.radians(direction))])


def test_it_says_what_a_pilot_looks_for(plan, entry):
    said = words(plan)
    assert "WND" in said
    assert "limit 10 NM" in said
    assert "061° out, 241° in" in said
    assert "016°\n196°" in said
    assert "runway 24" in said
    assert f"farthest {entry['farthest']['distance_nm']:.2f} NM" in said
    assert set(LEGS) <= set(said)
    assert "true N" in said
    assert "mag N, 8° W" in said
    wind = entry["wind"]
    (drawn,) = [text for text in said if text.startswith("wind ")]
    blows_from, speed, error = map(int, re.fullmatch(r"wind (\d{3})° true\n(\d+) ± (\d+) kt", drawn).groups())
    assert blows_from == pytest.approx(wind["from_deg_true"], abs=0.56)  # rounded from what the JSON rounds to a tenth
    assert speed == pytest.approx(wind["speed_kt"], abs=0.51)
    assert error == pytest.approx(wind["sd_kt"], abs=0.51)


def test_a_mile_is_a_mile_both_ways(plan):
    axes = plan.panels[0]
    (left, right), (bottom, top) = axes.frame.x, axes.frame.y
    _, _, width, height = axes.frame.box
    assert (right - left) / width == pytest.approx((top - bottom) / height, rel=1e-6)


def test_the_fix_is_the_origin(plan):
    at_origin = {mark.shape for shape in ("circle", "plus") for mark in signs(plan, shape) if mark.x == mark.y == 0.0}
    assert at_origin == {"circle", "plus"}


def test_the_farthest_mark_lies_where_the_json_says(plan, entry):
    farthest = entry["farthest"]
    marks = [np.array([mark.x, mark.y]) for mark in signs(plan, "circle") if mark.size == 6.5]
    assert len(marks) == 1
    (mark,) = marks
    assert math.hypot(*mark) == pytest.approx(farthest["distance_nm"], abs=1e-4)
    assert mark == pytest.approx(place(farthest["latitude_deg"], farthest["longitude_deg"]), abs=3e-4)


def test_nothing_of_the_reversal_lies_beyond_the_farthest_mark(plan, entry):
    reaches = [np.hypot(*points(line).T).max() for line in line_through(plan.panels[0], LEG_COLOUR["reversal"])]
    assert max(reaches) == pytest.approx(entry["farthest"]["distance_nm"], abs=1e-4)


def test_the_limit_is_a_circle_about_the_fix(plan):
    (circle,) = line_through(plan.panels[0], WARN)
    reach = np.hypot(*points(circle).T)
    assert reach == pytest.approx(charted()["reversal"]["within_nm"], abs=1e-9)
    assert np.hypot(*np.diff(points(circle), axis=0).T).max() < 0.2  # round to the eye
    assert points(circle)[0] == pytest.approx(points(circle)[-1], abs=1e-9)


def test_the_outbound_course_and_the_offset_lie_by_true_north(plan):
    reversal = charted()["reversal"]
    dashed = [points(line) for line in lines(plan) if len(points(line)) == 2 and line.dash == (8.0, 4.0)]
    by_start = sorted(dashed, key=lambda ends: np.hypot(*ends[0]))
    course, offset = by_start
    assert course[0] == pytest.approx((0.0, 0.0))
    assert bearing(course[1]) == pytest.approx(reversal["outbound_course_deg"] + VARIATION_DEG, abs=1e-6)
    assert math.hypot(*course[1]) == pytest.approx(reversal["within_nm"])
    assert bearing(offset[1] - offset[0]) == pytest.approx(reversal["offset_course_deg"] + VARIATION_DEG, abs=1e-6)
    # it begins on the outbound course
    assert bearing(offset[0]) == pytest.approx(bearing(course[1]), abs=1e-6)
    # and leads away to the left of it, the charted side
    along, across = course[1] / np.hypot(*course[1]), offset[1] - offset[0]
    assert along[0] * across[1] - along[1] * across[0] > 0


def test_the_runway_lies_on_its_threshold_and_heading(plan):
    runway = charted()["runway"]
    (strip,) = [points(line) for line in lines(plan) if line.width == 4.0]
    threshold = place(runway["threshold_latitude_deg"], runway["threshold_longitude_deg"])
    assert strip[0] == pytest.approx(threshold, abs=1e-4)
    assert bearing(strip[1] - strip[0]) == pytest.approx(runway["true_heading_deg"], abs=1e-6)


def track_of(plan, leg):
    """The lines of a leg; the wind's arrow, which shares a colour with one, lies on a level of its own."""
    return [line for line in line_through(plan, LEG_COLOUR[leg]) if line.level == 4.0]


@pytest.mark.parametrize("leg", LEGS)
def test_each_leg_is_drawn_where_it_was_flown(plan, entry, sample, leg):
    """From the first to the last second of the leg, within a second's flight and the receiver's error."""
    (line,) = track_of(plan, leg)
    parts = [part for part in entry["parts"] if part["leg"] == leg]
    second = max(part["ground_speed_kt"] for part in parts) / 3600.0
    for drawn, time in ((points(line)[0], parts[0]["start"]), (points(line)[-1], parts[-1]["end"])):
        row = truth_near(sample, time)
        flown = place(float(row["latitude_deg"]), float(row["longitude_deg"]))
        assert math.hypot(*(drawn - flown)) < 1.5 * second + 12.0 / NM


def test_each_leg_is_named_beside_its_track(plan):
    axes = plan.panels[0]
    a_line_of_type = 18.0 / 72.0 * 72.0 * axes.frame.x_per_point  # 18 points, in miles
    for leg in LEGS:
        text = text_saying(plan, leg)
        assert text.colour == LEG_COLOUR[leg]
        (line,) = track_of(plan, leg)
        off = np.hypot(*(points(line) - (text.x, text.y)).T).min()
        assert off < a_line_of_type


def test_ticks_lie_at_whole_minutes(plan, entry, sample):
    """Where the truth has the aircraft at those instants."""
    middles = [points(line).mean(axis=0) for line in line_through(plan, INK, 0.9)]
    start, end = (instant(entry["parts"][k][key]).timestamp() for k, key in ((0, "start"), (-1, "end")))
    minutes = np.arange(math.ceil(start / 60.0), math.floor(end / 60.0) + 1) * 60.0
    assert len(middles) == len(minutes)
    for middle, minute in zip(middles, minutes, strict=True):
        row = truth_near(sample, float(minute))
        assert math.hypot(*(middle - place(float(row["latitude_deg"]), float(row["longitude_deg"])))) < 12.0 / NM


def test_north_and_wind_arrows_point_the_right_way(plan, entry):
    """True north up; magnetic north 8° left of it; the wind's arrow flies with the wind."""
    north, wind = ([line for line in lines(plan) if line.width == width and line.level == 8.0] for width in (1.2, 2.2))
    assert [bearing(points(line)[1] - points(line)[0]) for line in north] == pytest.approx([0.0])
    blows_to = (entry["wind"]["from_deg_true"] + 180.0) % 360.0
    assert [bearing(points(line)[1] - points(line)[0]) for line in wind] == pytest.approx([blows_to], abs=0.06)
    heads = [math.degrees(mark.bearing_rad) % 360.0 for mark in signs(plan, "arrow") if mark.size == 9.0]
    assert heads == pytest.approx([0.0, blows_to], abs=0.06)
    (magnetic,) = [line for line in lines(plan) if line.dash == (3.0, 2.0)]
    assert bearing(points(magnetic)[1] - points(magnetic)[0]) == pytest.approx(VARIATION_DEG % 360.0)


def test_the_scale_is_as_long_as_it_says(plan):
    (bar,) = [points(line) for line in lines(plan) if line.width == 2.6]
    assert "2 NM" in words(plan)
    assert np.hypot(*(bar[1] - bar[0])) == pytest.approx(2.0)
