"""Profile by what is drawn, against the simulator's record and the procedure file."""

from dataclasses import replace
from itertools import pairwise

import pytest
from drawn import horizontal, line_through, points, signs, texts, words
from geographiclib.geodesic import Geodesic
from labelled import corners, curves_over, overlaps
from report_flights import ALTITUDE_FT, LEGS, LOGS, NM, PROCEDURE, charted, leg_span, seconds, truth_between, truth_near

import analyzer
from analyzer.report.pictures.faults import faults_of
from analyzer.report.pictures.layout import NARROW, WIDE
from analyzer.report.pictures.profile import profile
from analyzer.report.pictures.strips import strips
from analyzer.report.pictures.style import LEG_COLOUR, QUIET, WARN
from analyzer.report.pictures.subject import Subject


def test_it_says_what_a_pilot_looks_for(side_view, entry):
    said = words(side_view)
    assert set(LEGS) <= set(said)
    assert said.count("WND") == 2
    assert "established" in said
    assert {"altitude, ft MSL", "distance flown in this picture, NM", "minimum 3,000", "2,600", "1,800", "640"} <= set(said)
    began = round(seconds(entry["descent"]["start"]))
    assert f"level left {began // 3600 % 24:02d}:{began // 60 % 60:02d}:{began % 60:02d}" in said


@pytest.mark.parametrize("layout", [WIDE, NARROW], ids=["wide", "narrow"])
@pytest.mark.parametrize("share", [1.0, 0.93, 0.85], ids=["at its place", "near the edge", "at the edge"])
def test_the_level_that_is_left_is_named_inside_the_picture_and_off_the_curve(debriefs, share, layout):
    """However near the right edge it was left: the flight is cut off so that it comes there."""
    debrief = debriefs["clean.csv"]
    subject = Subject(debrief, debrief.approaches[0])
    descent = debrief.approaches[0].figures.descent
    assert descent is not None
    begun_s, end_s = float(subject.states.time_s[0]), float(subject.states.time_s[-1])
    end_s = end_s if share == 1.0 else min(end_s, begun_s + (descent.start_s - begun_s) / share)
    cut = replace(debrief.motion, states=debrief.motion.states.between(begun_s, end_s))
    (panel,) = profile(Subject(replace(debrief, motion=cut), debrief.approaches[0]), layout).panels
    (text,) = [one for one in texts(panel) if one.text.startswith("level left")]
    left, _, width, _ = panel.frame.box
    across = corners(panel.frame, text)[:, 0]
    assert left <= across.min() < across.max() <= left + width
    assert curves_over(panel, text) == 0


@pytest.mark.parametrize("layout", [WIDE, NARROW], ids=["wide", "narrow"])
@pytest.mark.parametrize("draw", [profile, strips], ids=["profile", "strips"])
@pytest.mark.parametrize("edge", ["left", "right"])
def test_the_number_of_a_fault_at_an_edge_does_not_lie_over_those_of_the_axis(draw, edge, layout, tmp_path):
    """The minimum of the arrival is raised, and the flight is cut off where it is busted."""
    text = PROCEDURE.read_text(encoding="utf-8")
    chart = tmp_path / "high.toml"
    chart.write_text(text.replace("arrival_ft = 3000", "arrival_ft = 3200"), encoding="utf-8")
    assert chart.read_text(encoding="utf-8") != text
    debrief = analyzer.debrief(analyzer.read_track(LOGS["clean.csv"]), analyzer.read_procedure(chart))
    (fault,) = faults_of(debrief.approaches[0])
    states = debrief.motion.states
    span = (fault.at_s, states.time_s[-1]) if edge == "left" else (states.time_s[0], fault.at_s)
    cut = replace(debrief, motion=replace(debrief.motion, states=states.between(*map(float, span))))
    drawing = draw(Subject(cut, debrief.approaches[0]), layout)
    assert overlaps(drawing) == []
    (panel,) = [panel for panel in drawing.panels if signs(panel, "square")]
    (sign,) = signs(panel, "square")
    middle = (sign.x - panel.frame.x[0]) / panel.frame.x_per_point
    assert 0.5 * sign.size < middle < panel.frame.box[2] - 0.5 * sign.size


def test_the_altitude_is_the_one_flown(side_view, entry, sample):
    (axes,) = side_view.panels
    for leg in LEGS:
        (line,) = line_through(axes, LEG_COLOUR[leg], 2.2)
        rows = truth_between(sample, *leg_span(entry, leg))
        drawn = points(line)[:, 1]
        flown = [float(row["altitude_ft"]) for row in rows]
        assert drawn.min() == pytest.approx(min(flown), abs=ALTITUDE_FT)
        assert drawn[-1] == pytest.approx(flown[-1], abs=ALTITUDE_FT)


def test_the_distance_is_the_one_flown(side_view, entry, sample):
    """Over the legs after the arrival, summed second by second by geographiclib."""
    (axes,) = side_view.panels
    places = [
        (float(row["latitude_deg"]), float(row["longitude_deg"]))
        for row in truth_between(sample, leg_span(entry, "outbound")[0], leg_span(entry, "final")[1])
    ]
    flown = sum(Geodesic.WGS84.Inverse(*a, *b)["s12"] for a, b in pairwise(places)) / NM
    ends = [points(line_through(axes, LEG_COLOUR[leg], 2.2)[0]) for leg in ("outbound", "final")]
    assert ends[1][-1, 0] - ends[0][0, 0] == pytest.approx(flown, rel=0.005, abs=0.06)


def test_each_minimum_lies_at_its_height_along_its_leg(side_view):
    (axes,) = side_view.panels
    floors = {height: (left, right) for left, right, height in horizontal(axes, WARN) if height != 2600.0}
    charted_ft = charted()["altitudes"]
    assert sorted(height for _, _, height in horizontal(axes, WARN)) == sorted(charted_ft.values())
    flown = {leg: points(line_through(axes, LEG_COLOUR[leg], 2.2)[0])[:, 0] for leg in LEGS}
    for leg, before, after in (("arrival", None, "outbound"), ("inbound", "reversal", "final"), ("final", "inbound", None)):
        left, right = floors[charted_ft[f"{leg}_ft"]]
        # it begins and ends between the last second of one leg and the first of the next
        assert (flown[before][-1] if before else 0.0) <= left <= flown[leg][0]
        assert flown[leg][-1] <= right <= (flown[after][0] if after else axes.frame.x[1])
    # outbound and reversal share theirs, one after the other
    (_, first_end, _), (second_start, _, _) = sorted(line for line in horizontal(axes, WARN) if line[2] == 2600.0)
    assert 0.0 <= second_start - first_end < 0.2


def test_passages_and_being_established_stand_where_they_happened(side_view, entry):
    (axes,) = side_view.panels
    marks = sorted(points(line)[0, 0] for line in line_through(axes, QUIET, 0.8))
    outbound = points(line_through(axes, LEG_COLOUR["outbound"], 2.2)[0])[0, 0]
    inbound, final = (points(line_through(axes, LEG_COLOUR[leg], 2.2)[0])[0, 0] for leg in ("inbound", "final"))
    # a turn that is led begins before the passage: up to ten seconds
    assert marks[0] == pytest.approx(outbound, abs=10.0 * entry["parts"][1]["ground_speed_kt"] / 3600.0)
    assert marks[1:] == pytest.approx([inbound, final], abs=0.06)


def test_the_descent_is_marked_on_the_track(side_view, entry, sample):
    (axes,) = side_view.panels
    (mark,) = signs(axes, "down")
    assert mark.y == pytest.approx(float(truth_near(sample, entry["descent"]["start"])["altitude_ft"]), abs=ALTITUDE_FT)


def test_there_is_none_without_altitude(debriefs):
    debrief = debriefs["no_altitude.csv"]
    assert profile(Subject(debrief, debrief.approaches[0]), WIDE) is None


def test_words_of_events_that_lie_close_do_not_lie_over_each_other(debriefs):
    """As in a short hold: the fix is passed soon after being established."""
    from dataclasses import replace

    from drawn import inks

    debrief = debriefs["clean.csv"]
    (approach,) = debrief.approaches
    inbound = approach.reversal.passage("inbound").time_s
    near = replace(approach, reversal=replace(approach.reversal, established_s=inbound - 25.0))
    figure = profile(Subject(debrief, near), WIDE)
    assert figure is not None
    events = [ink for text, ink in inks(figure) if text in ("WND", "established")]
    assert len(events) == 3
    assert not any((one & other).any() for k, one in enumerate(events) for other in events[k + 1 :])
