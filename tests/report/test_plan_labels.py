"""Labels of the plan view: none over another, by the metrics of the font, and as little over the track as there is room for."""

import datetime as dt
import math

import numpy as np
import pytest
from labelled import boxes, curves_over, depth_pt, overlaps
from patterns import Pattern, fly_approach, radius_nm
from report_flights import SAMPLES
from synthetic import HERE, KT, NM, Chart, Log, Place, Straight, Turn, fly, standard_rate_bank

import analyzer
from analyzer.procedure.charted import resolve
from analyzer.report.pictures.chart_plan import chart_plan
from analyzer.report.pictures.drawing import Line, Words
from analyzer.report.pictures.layout import NARROW, WIDE
from analyzer.report.pictures.plan_view import plan_view
from analyzer.report.pictures.style import LEG_COLOUR
from analyzer.report.pictures.subject import Subject

CHARTS = {
    "clean.csv": "vor24",
    "strong_wind.csv": "vor24",
    "early_descent.gpx": "vor24",
    "missed_and_hold.csv": "vorz24",
    "step_down.csv": "rnav06",
}
LAYOUTS = pytest.mark.parametrize("layout", [WIDE, NARROW], ids=["wide", "narrow"])
DRAFTY = (100.0, 35.0)
# low on every leg, steep and long: many faults to be numbered
LOW = {"arrival": 3050.0, "outbound": 3020.0, "reversal": 2990.0, "inbound": 3010.0}


@pytest.fixture(scope="module")
def sampled():
    procedures = {name: analyzer.read_procedure(SAMPLES / f"wendle_island_{name}.toml") for name in set(CHARTS.values())}
    return {log: analyzer.debrief(analyzer.read_track(SAMPLES / log), procedures[name]) for log, name in CHARTS.items()}


def turned(outbound_deg, pattern=None):
    """A procedure turn flown out on some course."""
    place, chart = Place(outbound_true_deg=outbound_deg), Chart(floors_ft=LOW)
    flown = fly_approach(pattern or Pattern(wind=DRAFTY, outbound_s=170.0, back_bank_deg=32.0)).flown
    return analyzer.debrief(Log(noise_m=4.0).of(flown, place), chart.at(place))


def subjects(debrief):
    return [Subject(one.seen, one.approach) for one in debrief.sections]


@LAYOUTS
@pytest.mark.parametrize("log", CHARTS)
def test_no_label_lies_on_another(log, layout, sampled):
    for subject in subjects(sampled[log]):
        drawing = plan_view(subject, layout)
        assert len(boxes(drawing)) > 8
        assert overlaps(drawing) == []


@LAYOUTS
@pytest.mark.parametrize("outbound_deg", range(0, 360, 40))
def test_nor_on_any_course(outbound_deg, layout):
    drawn = [plan_view(subject, layout) for subject in subjects(turned(float(outbound_deg)))]
    drawn += [plan_view(subject, layout) for subject in subjects(turned(float(outbound_deg), Pattern(shape="80/260")))]
    assert len(drawn) == 2
    assert [overlaps(drawing) for drawing in drawn] == [[], []]


@LAYOUTS
@pytest.mark.parametrize("log", CHARTS)
def test_labels_keep_off_the_track(log, layout, sampled):
    """Of all boxes at most one in ten reaches over the middle of the track by more than a point."""
    for subject in subjects(sampled[log]):
        drawing = plan_view(subject, layout)
        frame = drawing.panels[0].frame
        tracks = [mark for mark in drawing.panels[0].marks if isinstance(mark, Line) and mark.colour in LEG_COLOUR.values()]
        places = np.vstack([np.column_stack([line.x, line.y]) for line in tracks if len(line.x) > 2])
        places = places[np.isfinite(places).all(axis=1)]
        left, top, _, height = frame.box
        x = left + (places[:, 0] - frame.x[0]) / frame.x_per_point
        y = -(top + height) + (places[:, 1] - frame.y[0]) / frame.y_per_point
        over = [text for text, box in boxes(drawing) if _reaches(box, np.column_stack([x, y]))]
        assert len(over) <= 0.1 * len(boxes(drawing)), over


def _reaches(box, places):
    near = places[np.hypot(*(places - box.mean(axis=0)).T) < 80.0]
    return any(depth_pt(box, place + np.array([(-0.1, -0.1), (0.1, -0.1), (0.0, 0.1)])) > 1.0 for place in near[::3])


@LAYOUTS
@pytest.mark.parametrize("outbound_deg", range(5, 360, 20))
def test_no_course_in_words_is_crossed_by_what_is_charted(outbound_deg, layout):
    """By the dashed lines of courses and of the limit, in the plan of a chart by itself, which has room for all."""
    place = Place(outbound_true_deg=float(outbound_deg))
    magnetic = (outbound_deg - place.variation_deg) % 360.0
    chart = Chart(reversal={"offset_course_deg": (magnetic + 45.0) % 360.0}).at(place)
    drawing = chart_plan(resolve(chart, dt.date(2026, 6, 1)), layout)
    frame = drawing.panels[0].frame
    left, top, _, height = frame.box
    for line in (mark for mark in drawing.panels[0].marks if isinstance(mark, Line) and mark.dash):
        share = np.linspace(0.0, len(line.x) - 1.0, 200 * len(line.x) if len(line.x) < 5 else 8 * len(line.x))
        at = np.arange(len(line.x))
        x = left + (np.interp(share, at, line.x) - frame.x[0]) / frame.x_per_point
        y = -(top + height) + (np.interp(share, at, line.y) - frame.y[0]) / frame.y_per_point
        drawn = np.column_stack([x, y])
        assert [text for text, box in boxes(drawing) if "°" in text and _reaches(box, drawn)] == []


def test_the_wind_stands_within_an_arc_all_around_that_leaves_no_corner_empty():
    """In the emptiest corner its words lay over the arc."""
    place = {"latitude_deg": HERE.latitude_deg, "longitude_deg": HERE.longitude_deg, "radius_nm": 10.0}
    chart = Chart(side=None, within_nm=None, reversal={"kind": "arc", "turn": "left"}, tables={"arc": place})
    bank = math.degrees(math.atan((120.0 * KT) ** 2 / (9.80665 * 10.0 * NM)))
    radius = radius_nm()
    lead = math.degrees(math.asin(radius / (10.0 - radius)))
    path = [
        Straight("arrival", (math.sqrt((10.0 - radius) ** 2 - radius**2) - 5.0) * 30.0),
        Turn("arc_turn", -(90.0 + lead), standard_rate_bank(120.0)), Turn("arc", -(450.0 - 2.0 * lead), bank),
        Turn("reversal_turn", -(90.0 + lead), standard_rate_bank(120.0)), Straight("inbound", 360.0),
    ]  # fmt: skip
    (subject,) = subjects(analyzer.debrief(Log(noise_m=4.0).of(fly(path, (5.0, 0.0), 90.0)), chart.at()))
    panel = plan_view(subject, WIDE).panels[0]
    north_and_wind = [
        mark for mark in panel.marks if isinstance(mark, Words) and mark.text.startswith(("wind", "true N", "mag N"))
    ]
    assert len(north_and_wind) == 3
    assert [mark.text for mark in north_and_wind if curves_over(panel, mark)] == []
