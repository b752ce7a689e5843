"""The pictures of a brief with a missed approach: what is planned has no faults to number, and every name is whole."""

import datetime as dt
from pathlib import Path

import pytest
from drawn import marks
from labelled import boxes

from analyzer.brief.briefing import brief
from analyzer.brief.chances import Errors
from analyzer.brief.conditions import asked_for
from analyzer.debriefs.plan import debrief_of_plan
from analyzer.procedure.charted import resolve
from analyzer.procedure.read import read_procedure
from analyzer.report.pictures.drawing import Marker
from analyzer.report.pictures.faults import badge_size
from analyzer.report.pictures.layout import NARROW, WIDE
from analyzer.report.pictures.page_pictures import brief_drawings
from analyzer.report.words.brief_missed_and_holds import missed_marks

CHART = Path(__file__).parents[2] / "sample_tracks" / "wendle_island_vorz24.toml"


@pytest.fixture(scope="module")
def planned():
    chart = resolve(read_procedure(CHART), dt.date(2026, 6, 1))
    asked = asked_for(
        chart, speeds=[], true_speeds=["100"], winds=["240/15"], bank_deg=None, rate_deg_s=3.0, shape=None, outbound=None,
        keep_nm=1.0, arrival_deg=None, altitude_ft=None, air=(None, None), climb_fpm=600.0,
    )  # fmt: skip
    return brief(chart, asked, Errors(flights=50), missed=True)


@pytest.mark.parametrize("layout", [WIDE, NARROW])
def test_a_plan_is_drawn_without_faults(planned, layout):
    """Its first turn begins at the very altitude charted, which in a flight would be too close to call."""
    drawn = dict(brief_drawings(debrief_of_plan(planned), layout, None, missed_marks(planned)))
    assert {"plan", "profile"} <= set(drawn)
    for drawing in drawn.values():
        assert all(mark.size < badge_size(layout) for mark in marks(drawing) if isinstance(mark, Marker))


@pytest.mark.parametrize("layout", [WIDE, NARROW])
def test_the_names_of_the_missed_approach_are_whole(planned, layout):
    profile = dict(brief_drawings(debrief_of_plan(planned), layout, None, missed_marks(planned)))["profile"]
    found = dict(boxes(profile))
    for _, name in missed_marks(planned):
        corners = found[name]
        assert 0.0 <= corners[:, 0].min() <= corners[:, 0].max() <= profile.width
