"""The final approach, and the minimums in profile and strips, by what is drawn: each minimum where no higher one holds.

Flights go south at 120 kt to a runway 5 NM beyond the reversal fix (`descents`): miles before the threshold are known.
"""

from dataclasses import replace

import numpy as np
import pytest
from checked import NOISY
from descents import LANDING, MDA_FT, debriefed, path, second
from drawn import horizontal, panel_of, text_saying, words
from drawn import lines as lines_of
from final_flights import runway
from labelled import curves_over
from synthetic import START_S, Chart

from analyzer.report.pictures.final_view import final_view
from analyzer.report.pictures.layout import NARROW, WIDE
from analyzer.report.pictures.minimum_lines import minimum_lines
from analyzer.report.pictures.profile import profile
from analyzer.report.pictures.strips import strips
from analyzer.report.pictures.style import WARN
from analyzer.report.pictures.subject import Subject

FAF = {"name": "TARRO", "role": "final-approach-fix", "distance_nm": 0.5, "minimum_ft": 1700}  # 4.5 NM before the threshold
STEP = {"name": "KESTA", "role": "step-down", "distance_nm": 2.0, "minimum_ft": 1300}  # 3.0 NM
POINT = {"name": "MAPAR", "role": "missed-approach-point", "distance_nm": 4.0, "minimum_ft": 800}  # 1.0 NM
FIXES = [FAF, STEP, POINT]
GOOD = ((15.0, 2500.0), (7.0, 2500.0), (5.0, 1800.0), (4.4, 1800.0), (3.6, 1400.0), (2.9, 1400.0), (2.0, 950.0), *path(3.0))
# down to 1,000 ft a mile before KESTA, and on to the runway
EARLY = (*GOOD[:4], (4.0, 1000.0), (1.5, 1000.0), *LANDING)
CHART = Chart(side=None, within_nm=None, reversal={"kind": "none"}, floors_ft={"inbound": 1500.0})


def flown(heights=GOOD, chart=CHART, **tables):
    return debriefed(heights, chart=chart, fixes=FIXES, **tables)


def drawn(debrief):
    """The final approach: its axes, and its red lines as miles before the threshold and feet, by height."""
    figure = final_view(Subject(debrief, debrief.approaches[0]), WIDE)
    assert figure is not None
    lines = {height: (-start, -end) for start, end, height in horizontal(figure.panels[0], WARN)}
    return figure, {round(height): lines[height] for height in sorted(lines, reverse=True)}


def line_at(panel, height):
    """The red line at some altitude."""
    (line,) = [mark for mark in lines_of(panel) if mark.colour == WARN and float(mark.y[0]) == pytest.approx(height)]
    return line


def test_each_minimum_is_a_step_up_to_its_fix():
    # the fixes end theirs, the minimum descent altitude ends at the missed approach point
    _, lines = drawn(flown())
    assert list(lines) == [1700, 1300, round(MDA_FT)]
    assert lines[1700][1] == pytest.approx(4.5, abs=0.01)
    assert lines[1300] == pytest.approx((4.5, 3.0), abs=0.01)
    assert lines[round(MDA_FT)] == pytest.approx((3.0, 1.0), abs=0.01)


@pytest.mark.parametrize(("floor_ft", "before"), [(1500.0, 1700), (2000.0, 2000)])
def test_the_minimum_of_the_inbound_leg_holds_until_its_last_fix(floor_ft, before):
    _, lines = drawn(flown(chart=replace(CHART, floors_ft={"inbound": floor_ft})))
    assert next(iter(lines)) == before
    assert lines[before][1] == pytest.approx(4.5, abs=0.01)


@pytest.mark.parametrize("heights", [GOOD, EARLY])
@pytest.mark.parametrize("layout", [WIDE, NARROW], ids=["wide", "narrow"])
def test_an_altitude_is_written_where_the_aircraft_did_not_fly(heights, layout):
    debrief = flown(heights)
    figure = final_view(Subject(debrief, debrief.approaches[0]), layout)
    assert figure is not None
    (panel,) = figure.panels
    text = text_saying(figure, "1,300")
    assert text.x in (line_at(panel, 1300.0).x[0], line_at(panel, 1300.0).x[-1])  # at an end of its line
    assert curves_over(panel, text) == 0


def test_the_lines_of_profile_and_strip_hold_when_they_bind():
    debrief = flown()
    approach = debrief.approaches[0]
    found = [(line.leg, line.fix, round(line.altitude_m / 0.3048)) for line in minimum_lines(debrief, approach)]
    # the 1,500 ft of the inbound leg are beneath those of its fix all along; a missed approach point has none of its own
    assert found == [("final", None, round(MDA_FT)), (None, "TARRO", 1700), (None, "KESTA", 1300)]
    final, tarro, kesta = minimum_lines(debrief, approach)
    assert tarro.end_s == kesta.start_s == pytest.approx(START_S + second(4.5), abs=1.0)
    assert kesta.end_s == final.start_s == pytest.approx(START_S + second(3.0), abs=1.0)
    assert final.end_s == approach.reversal.leg_spans("final")[-1][1]


def test_a_fix_s_minimum_begins_when_that_of_the_leg_ends():
    debrief = flown(chart=replace(CHART, floors_ft={"inbound": 2000.0}), minimum=None)
    lines = {line.fix or line.leg: line for line in minimum_lines(debrief, debrief.approaches[0])}
    assert list(lines) == ["inbound", "KESTA"]
    assert lines["inbound"].end_s == lines["KESTA"].start_s == pytest.approx(START_S + second(4.5), abs=1.0)


def test_profile_and_strip_draw_them():
    debrief = flown()
    approach = debrief.approaches[0]
    side, over_time = profile(Subject(debrief, approach), WIDE), strips(Subject(debrief, approach), WIDE)
    assert side is not None
    assert {"TARRO 1,700", "KESTA 1,300", f"{MDA_FT:,.0f}"} <= {word.removeprefix("minimum ") for word in words(side)}
    axes = panel_of(over_time, "altitude")
    spans = {round(height): (start, end) for start, end, height in horizontal(axes, WARN)}
    lines = {round(line.altitude_m / 0.3048): (line.start_s, line.end_s) for line in minimum_lines(debrief, approach)}
    assert set(spans) == set(lines)
    assert all(np.allclose(spans[feet][1], lines[feet][1], atol=2e-3) for feet in lines)


@pytest.mark.parametrize("south_nm", [5.0, 0.5])
def test_a_chart_without_fixes_or_minimums_has_no_red_line(south_nm):
    # half a mile from the threshold the facility is on the field, and not even the reversal fix is a step
    debrief = debriefed(GOOD, chart=replace(CHART, floors_ft={}), minimum=None, runway=runway(south_nm))
    approach = debrief.approaches[0]
    assert minimum_lines(debrief, approach) == ()
    figures = profile(Subject(debrief, approach), WIDE), final_view(Subject(debrief, approach), WIDE)
    for figure in figures:
        assert figure is not None
        assert horizontal(figure.panels[0], WARN) == []


def test_without_a_runway_a_final_leg_or_altitudes_there_is_no_picture_of_the_final():
    for debrief in (flown(runway=None), debriefed(GOOD, log=replace(NOISY, end_s=280.0)), flown(None)):
        assert final_view(Subject(debrief, debrief.approaches[0]), WIDE) is None
