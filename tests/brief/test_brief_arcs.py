"""Briefs of arcs: joined, flown and left in the wind, and debriefed as arcs; and the led turn onto an outbound course."""

import math
from dataclasses import replace

import numpy as np
import pytest
from briefed import OUT_MAGNETIC, arc_chart, base_chart, briefed, number, turn_chart, wind_text
from synthetic import CALM, HERE, NM

from analyzer.brief.chances import Errors
from analyzer.brief.track import planned_track
from analyzer.debriefing import debrief
from analyzer.errors import BriefError
from analyzer.report.brief_text import brief_text

FEW = Errors(flights=10)


def with_turn(turn: str, radius_nm: float = 12.0):
    chart = arc_chart(radius_nm)
    return replace(chart, reversal={**chart.reversal, "turn": turn})


@pytest.mark.parametrize("turn", ["left", "right"])
@pytest.mark.parametrize("wind", [CALM, (20.0, 30.0), (200.0, 25.0), (290.0, 30.0)])
def test_the_path_keeps_the_arc_and_comes_out_on_the_course(turn, wind):
    made = briefed(with_turn(turn), errors=FEW, winds=[wind_text(wind)])
    plan, sign = made.plan, 1 if turn == "right" else -1
    names = [stage.part for stage in plan.stages]
    assert names == ["arrival", "arc_turn", "arc", "reversal_turn", "inbound"]
    joined, left = plan.path.ends[1], plan.path.ends[2]
    distance = np.hypot(plan.path.north_m, plan.path.east_m)[joined : left + 1] / NM
    assert distance == pytest.approx(12.0, abs=0.01)
    bearing = np.unwrap(np.arctan2(plan.path.east_m, plan.path.north_m)[joined : left + 1])
    assert np.all(sign * np.diff(bearing) > 0.0)  # round the centre the charted way
    assert plan.pattern.rolled_out_m == pytest.approx(0.0, abs=30.0)
    assert math.hypot(float(plan.path.north_m[-1]), float(plan.path.east_m[-1])) < 30.0  # at the fix
    # no jump of heading where the turn onto the arc ends on it
    assert np.abs(np.diff(np.unwrap(plan.path.heading_rad)))[plan.path.ends[0] : left].max() < math.radians(3.0)


@pytest.mark.parametrize("turn", ["left", "right"])
def test_in_still_air_leads_are_the_closed_forms(turn):
    """Circles that touch, and the way that half a roll takes, rolled in and out at 5 degrees a second."""
    made = briefed(with_turn(turn), errors=FEW, true_speeds=["120"])
    closed = number(made, "lead onto it from outside").value
    solved = number(made, "turn onto it at").value - 12.0
    half_roll_nm = 120.0 / 3600.0 * 18.24 / 5.0 / 2.0
    assert solved == pytest.approx(closed + half_roll_nm, abs=0.05)
    inbound_radial = OUT_MAGNETIC % 360.0
    off = abs(math.remainder(number(made, "turn off it at radial").value - inbound_radial, 360.0))
    closed_radials = number(made, "lead radials off it").value
    assert off == pytest.approx(closed_radials + math.degrees(half_roll_nm / 12.0), abs=0.25)


@pytest.mark.parametrize("wind", [CALM, (290.0, 25.0)])
@pytest.mark.parametrize("turn", ["left", "right"])
def test_the_planned_arc_debriefs_as_one(turn, wind):
    made = briefed(with_turn(turn), errors=FEW, winds=[wind_text(wind)])
    (approach,) = debrief(planned_track(made.plan), made.charted.procedure).approaches
    assert approach.reversal.flown == "arc"
    assert made.to_dict()["shape"] == "arc"
    held = next(finding for finding in approach.findings if finding.check == "arc_radius")
    assert held.verdict == "inside"


def test_headings_round_the_arc_are_told_by_radial():
    """Clockwise in still air the heading is the radial and 90 degrees."""
    made = briefed(with_turn("right"), errors=FEW)
    told = [n for n in made.numbers if n.name.startswith("heading at radial")]
    assert 3 <= len(told) <= 12
    for row in told:
        radial = float(row.name[-4:-1])
        assert math.remainder(row.value - radial - 90.0, 360.0) == pytest.approx(0.0, abs=0.6)
        assert radial % 10.0 == 0.0


def test_the_arrival_course_chooses_where_the_arc_is_joined():
    made = briefed(with_turn("right"), errors=FEW, arrival_deg=(OUT_MAGNETIC + 180.0 - 90.0) % 360.0)
    assert made.plan.parts[2].length_m / NM == pytest.approx(12.0 * math.radians(80.0), abs=1.5)  # 90° less both leads
    assert "No arrival is given" not in brief_text(made)
    assert "No arrival is given" in " ".join(brief_text(briefed(with_turn("right"), errors=FEW)).split())


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ({"outbound": "4.5"}, "--outbound"),
        ({"true_speeds": ["100"], "winds": ["10/120"]}, "too strong"),
        ({"shape": "45/180"}, "--shape"),
        ({"arrival_deg": (OUT_MAGNETIC + 180.0 + 5.0) % 360.0}, "--arrival"),
    ],
)
def test_what_no_arc_can_be_is_refused(given, said):
    with pytest.raises(BriefError, match=said):
        briefed(with_turn("right"), errors=FEW, **given)


@pytest.mark.parametrize("change", [-110.0, -60.0, 30.0, 90.0, 120.0])
@pytest.mark.parametrize("wind", [CALM, (250.0, 25.0)])
def test_the_turn_onto_the_outbound_course_is_led(change, wind):
    """It comes out on the outbound course; in still air its lead is R tan(half the turn) and half a roll."""
    made = briefed(turn_chart(), errors=FEW, winds=[wind_text(wind)], arrival_deg=(OUT_MAGNETIC - change) % 360.0)
    plan, out = made.plan, made.charted.outbound_true_rad
    assert plan.parts[0].part == "outbound_turn"
    end = plan.path.ends[0]
    assert float(plan.path.across_m(out)[end]) == pytest.approx(0.0, abs=5.0)
    if wind == CALM:
        half_roll_nm = 120.0 / 3600.0 * 18.24 / 5.0 / 2.0
        lead = 0.6366 * math.tan(math.radians(abs(change) / 2.0)) + half_roll_nm  # R = V/ω at 120 kt
        assert number(made, "lead onto the outbound course").value == pytest.approx(lead, abs=0.02)
    (approach,) = debrief(planned_track(plan), made.charted.procedure).approaches
    assert approach.reversal.flown == "45/180"
    # the reversal itself is the same as without an arrival
    plain = briefed(turn_chart(), errors=FEW, winds=[wind_text(wind)])
    assert plan.farthest_m == plain.plan.farthest_m
    assert number(made, "outbound time").value == number(plain, "outbound time").value


def test_a_turn_too_great_to_lead_is_told():
    made = briefed(turn_chart(), errors=FEW, arrival_deg=(OUT_MAGNETIC + 170.0) % 360.0)
    assert made.plan.parts[0].part == "outbound"
    assert "flown over the fix" in " ".join(brief_text(made).split())


def test_a_base_turn_too_shallow_is_told_with_the_usual_time():
    made = briefed(base_chart("left", 30.0), errors=FEW, outbound="170s")
    text = " ".join(brief_text(made).split())
    assert "too shallow to hold" in text
    usual = briefed(base_chart("left", 30.0), errors=FEW)
    assert f"{usual.plan.parts[0].seconds:.0f} s outbound suits the usual turn" in text
    assert "too shallow" not in " ".join(brief_text(usual).split())


def test_a_base_turn_takes_a_bank_or_a_length():
    with pytest.raises(BriefError, match="--bank"):
        briefed(base_chart("left", 20.0), errors=FEW, outbound="130s", bank_deg=20.0)


def test_places_are_about_the_fix():
    """The track of an arc begins on the radial that it is joined from, outside the arc."""
    made = briefed(with_turn("right"), errors=FEW)
    track = planned_track(made.plan)
    assert abs(math.degrees(track.latitude_rad[0]) - HERE.latitude_deg) < 0.3
    assert made.to_dict()["parts"][0]["part"] == "arrival"
