"""Nothing is drawn across the place where a simulator set the aircraft elsewhere, in no picture and on no map."""

import json
import re
from collections.abc import Iterable
from dataclasses import replace

import numpy as np
import pytest
from drawn import lines, signs, texts
from labelled import corners, curves_over
from report_flights import LOGS, PROCEDURE

import analyzer
from analyzer.checks.phrases import clock
from analyzer.debriefs.data import DebriefData
from analyzer.desk.flown_form import flown_form
from analyzer.report.exports.geojson import debrief_geojson
from analyzer.report.exports.kml import debrief_kml
from analyzer.report.pictures.drawing import Drawing
from analyzer.report.pictures.layout import NARROW, WIDE
from analyzer.report.pictures.page_pictures import drawings_of
from analyzer.report.pictures.passage_sketch import passage_sketches
from analyzer.report.pictures.strips import strips
from analyzer.report.pictures.style import LEG_COLOUR
from analyzer.report.pictures.subject import Subject
from analyzer.report.pictures.track_sketch import track_sketch
from analyzer.track.track import Track

COLUMNS = ("time_s", "latitude_rad", "longitude_rad", "altitude_m")
STEP_NM = 0.2  # of a curve drawn: twice what is flown from one place of a sketch to the next at 200 kt; the jumps lead 2 NM


def joined(*pieces: tuple[str, int, int]) -> Track:
    """Rows of sample logs, as a simulator logs on a second after it has set the aircraft elsewhere."""
    tracks = [(analyzer.read_track(LOGS[name]), slice(first, last)) for name, first, last in pieces]
    columns: dict[str, list[np.ndarray]] = {name: [] for name in COLUMNS}
    for track, part in tracks:
        for name in COLUMNS:
            values = getattr(track, name)[part]
            if name == "time_s" and columns[name]:
                values = values - values[0] + columns[name][-1][-1] + 1.0
            columns[name].append(values)
    return replace(tracks[0][0], **{name: np.concatenate(values) for name, values in columns.items()})


def debriefed(track: Track) -> DebriefData:
    made = analyzer.debrief(track, analyzer.read_procedure(PROCEDURE))
    assert made.doubts[0].startswith("The aircraft was set elsewhere at ")
    return made


AGAIN = joined(("clean.csv", 0, 880), ("strong_wind.csv", 0, 900))
STATE = joined(("clean.csv", 0, 300), ("clean.csv", 200, 880))  # loaded again on the way out
NOTHING = joined(("clean.csv", 0, 80), ("strong_wind.csv", 0, 80))  # two arrivals, from places miles apart


def longest_nm(drawing: Drawing) -> float:
    """The longest step of what is drawn of the flight in a picture whose coordinates are miles."""
    drawn = [line for line in lines(drawing) if line.colour in LEG_COLOUR.values() and len(line.x) > 2]
    assert drawn
    return max(float(np.nanmax(np.hypot(np.diff(line.x), np.diff(line.y)))) for line in drawn)


def longest_deg(points: Iterable[tuple[float, ...]]) -> float:
    places = np.array([(lon * np.cos(np.radians(lat)), lat) for lon, lat, *_ in points])
    return float(np.hypot(*np.diff(places, axis=0).T).max())


@pytest.mark.parametrize("track", [AGAIN, STATE, NOTHING], ids=["again", "state", "nothing recognised"])
def test_no_line_of_a_map_leads_across(track):
    made = debriefed(track)
    found = json.loads(debrief_geojson(made))["features"]
    flown = [one["geometry"] for one in found if one["properties"]["feature"] == "track"]
    for geometry in flown:
        many = geometry["coordinates"] if geometry["type"] == "MultiLineString" else [geometry["coordinates"]]
        assert max(map(longest_deg, many)) * 60.0 < STEP_NM
    folders = debrief_kml(made).partition("inbound course")[2].partition("</Placemark>")[2]  # after what is charted
    texts_of = re.findall(r"<LineString>.*?<coordinates>(.*?)</coordinates>", folders, re.DOTALL)
    assert len(texts_of) > 1
    for text in texts_of:
        assert longest_deg([tuple(map(float, place.split(","))) for place in text.split()]) * 60.0 < STEP_NM


@pytest.mark.parametrize("layout", [WIDE, NARROW], ids=["wide", "narrow"])
@pytest.mark.parametrize("track", [AGAIN, STATE, NOTHING], ids=["again", "state", "nothing recognised"])
def test_no_line_of_a_plan_leads_across(track, layout):
    made = debriefed(track)
    subjects = [Subject(section.seen, section.approach) for section in made.sections] or [Subject(made, None)]
    for subject in subjects:
        plan = dict(drawings_of(subject, layout))["plan"]
        assert longest_nm(plan) < STEP_NM
    for drawing in passage_sketches(made.motion, [float(made.motion.states.time_s[60])]):
        assert longest_nm(drawing) < STEP_NM


def test_no_curve_over_time_leads_across():
    made = debriefed(NOTHING)
    (jump,) = made.motion.curves.repositions
    for name, drawing in drawings_of(Subject(made, None), WIDE):
        for panel in drawing.panels:
            if name == "strips":
                for line in lines(panel):
                    over = np.flatnonzero((line.x[:-1] <= jump.start_s) & (line.x[1:] >= jump.end_s))
                    assert len(line.x) < 3 or not len(over), panel.frame.quantity


@pytest.mark.parametrize("track", [AGAIN, STATE, NOTHING], ids=["again", "state", "nothing recognised"])
def test_the_sketch_of_a_log_breaks_there(track):
    plan, heights = track_sketch(track, NARROW).panels
    for panel in (plan, heights):
        (line,) = [one for one in lines(panel) if len(one.x) > 10]
        assert np.isnan(line.x).sum() == 1
    (line,) = [one for one in lines(plan) if len(one.x) > 10]
    assert float(np.nanmax(np.hypot(np.diff(line.x), np.diff(line.y)))) < STEP_NM


@pytest.mark.parametrize("layout", [WIDE, NARROW], ids=["wide", "narrow"])
def test_the_word_stands_where_it_happened_and_off_the_curve(layout):
    """At the end of the first flight, not as the second begins, which would be said twice."""
    first, second = (Subject(section.seen, section.approach) for section in debriefed(AGAIN).sections)
    (panel,) = [one for one in strips(first, layout).panels if any(t.text == "set elsewhere" for t in texts(one))]
    (word,) = [one for one in texts(panel) if one.text == "set elsewhere"]
    assert word.x == pytest.approx(float(first.states.time_s[-1]), abs=2.0)
    black = [one for one in lines(panel) if len(one.x) > 2]
    box = corners(panel.frame, word)
    left, top, _, high = panel.frame.box
    for line in black:
        x = left + (line.x - panel.frame.x[0]) / panel.frame.x_per_point
        y = -(top + high) + (line.y - panel.frame.y[0]) / panel.frame.y_per_point
        inside = (x > box[:, 0].min()) & (x < box[:, 0].max()) & (y > box[:, 1].min()) & (y < box[:, 1].max())
        assert not inside.any()
    assert curves_over(panel, word) == 0
    assert not any(one.text == "set elsewhere" for one in texts(strips(second, layout)))


def test_what_follows_a_passage_ends_with_its_flight():
    """Two passages in each flight: after its second the first is broken off, and the log ends with the other."""
    made = debriefed(AGAIN)
    (jump,) = made.motion.curves.repositions
    out, home, out_again, home_again = flown_form(made, ()).passages
    assert "; back at the fix at " in out.then
    assert "; back at the fix at " in out_again.then
    assert home.then.endswith(f"; the aircraft was set elsewhere at {clock(jump.start_s)}")
    assert "; the log ends at " in home_again.then
    (sketch,) = passage_sketches(made.motion, [made.sections[0].approach.reversal.passages[-1].time_s])
    (square,) = signs(sketch, "square")
    last = made.motion.flights[0].states
    assert np.hypot(square.x, square.y) == pytest.approx(float(last.distance_m[-1]) / 1852.0, abs=0.01)
