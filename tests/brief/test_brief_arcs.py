"""Briefs of arcs: joined, flown and left in the wind, and debriefed as arcs; and the led turn onto an outbound course."""

import math
import re
from dataclasses import replace

import numpy as np
import pytest
from briefed import OUT_MAGNETIC, arc_chart, base_chart, briefed, number, turn_chart, wind_text
from synthetic import CALM, HERE, NM

from analyzer.brief.chances import Errors
from analyzer.brief.planned_track import planned_track
from analyzer.errors import BriefError
from analyzer.library.debrief import debrief
from analyzer.report.documents.brief_document import brief_document
from analyzer.report.words.brief_text import brief_text

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
    assert brief_document(made)["shape"] == "arc"
    held = next(finding for finding in approach.findings if finding.check == "arc_radius")
    assert held.verdict == "inside"


def test_headings_round_the_arc_are_told_by_radial():
    """Clockwise in still air the heading is the radial and 90 degrees."""
    made = briefed(with_turn("right"), errors=FEW)
    headings = [n for n in made.numbers if n.name.startswith("heading at radial")]
    assert 3 <= len(headings) <= 12
    for row in headings:
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
        ({"arrival_deg": (OUT_MAGNETIC + 180.0 - 5.0) % 360.0}, "--arrival.*joined beyond where it is left"),
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
    with_turn, straight = (number(of, "outbound time").value for of in (made, plain))
    if wind == CALM and abs(change) < 80.0:
        # abeam on the circle, which touches the course R tan(half the turn) beyond the fix; 1.7 s of it are half a roll
        along = math.tan(math.radians(abs(change) / 2.0))
        assert with_turn == pytest.approx(straight + 19.1 * (math.asin(along) - along), abs=1.0)
    elif abs(change) > 90.0 and wind == CALM:
        assert with_turn == straight  # from beyond the fix it comes abeam nowhere


TOO_GREAT = [-179.0, -150.0, -125.0, 125.0, 160.0, 180.0]


@pytest.mark.parametrize("change", TOO_GREAT)
@pytest.mark.parametrize("side", ["left", "right"])
@pytest.mark.parametrize("wind", [CALM, (250.0, 25.0), (70.0, 30.0)])
def test_a_turn_too_great_to_lead_begins_over_the_fix(change, side, wind):
    """It closes with the outbound course, comes out on it, and the leg ends where it would without an arrival."""
    made = briefed(turn_chart(side), errors=FEW, winds=[wind_text(wind)], arrival_deg=(OUT_MAGNETIC - change) % 360.0)
    plan, out = made.plan, made.charted.outbound_true_rad
    assert [part.part for part in plan.parts[:5]] == ["outbound_turn", "outbound", "outbound", "outbound", "offset_turn"]
    assert (float(plan.path.north_m[0]), float(plan.path.east_m[0])) == (0.0, 0.0)
    across = plan.path.across_m(out)
    assert across[plan.path.ends[2] : plan.path.ends[3]] == pytest.approx(0.0, abs=5.0)
    plain = briefed(turn_chart(side), errors=FEW, winds=[wind_text(wind)])
    closing = sum(part.seconds for part in plan.parts[1:4])
    assert closing - 1.0 < number(made, "outbound time").value <= closing + plan.parts[0].seconds  # abeam in or after the turn
    assert plan.parts[3].end_distance_m == pytest.approx(plain.plan.parts[0].end_distance_m, abs=10.0)
    assert plan.farthest_m == plain.plan.farthest_m
    (approach,) = debrief(planned_track(plan), made.charted.procedure).approaches
    assert approach.reversal.flown == "45/180"
    assert "outbound_turn" in [part.name for part in approach.reversal.parts]
    shorter = abs(change) < 170.0
    turned_right = float(plan.path.heading_rad[plan.path.ends[0]]) > float(plan.path.heading_rad[0])
    assert turned_right == (change > 0.0 if shorter else side == "left")  # turned left, it is flown right of the course
    assert "leaves it out" not in " ".join(brief_text(made).split())


@pytest.mark.parametrize("change", [-150.0, 130.0, 165.0])
def test_in_still_air_the_turn_over_the_fix_is_a_circle(change):
    """From heading `c` before the course to `k` past it, a circle of R comes out R (cos k - cos c) off the course.

    Half a roll's way is flown straight on at either end. The course is then closed with at k, until a circle through k onto it.
    """
    made = briefed(turn_chart(), errors=FEW, true_speeds=["120"], arrival_deg=(OUT_MAGNETIC - change) % 360.0)
    radius, roll = 0.6366, 120.0 / 3600.0 * 18.24 / 5.0 / 2.0  # NM
    c, k = math.radians(abs(change)), math.radians(30.0)
    off = radius * (math.cos(k) - math.cos(c)) + roll * (math.sin(c) - math.sin(k))
    assert number(made, "that turn rolls out off the course by").value == pytest.approx(off, abs=0.02)
    metres = (off - radius * (1.0 - math.cos(k)) - roll * math.sin(k)) / math.sin(k)
    assert number(made, "on the intercept heading for").value == pytest.approx(metres / 120.0 * 3600.0, abs=2.0)
    way = "right" if change > 0.0 else "left"
    heading = (OUT_MAGNETIC + math.copysign(30.0, change)) % 360.0
    assert number(made, f"over the fix, {way} to heading").value == pytest.approx(heading, abs=0.1)


def test_a_turn_that_the_outbound_leg_is_too_short_for_is_told():
    made = briefed(turn_chart(), errors=FEW, outbound="30s", arrival_deg=(OUT_MAGNETIC + 170.0) % 360.0)
    assert made.plan.parts[0].part == "outbound"
    assert "outbound leg is too short for the turn of 170°" in " ".join(brief_text(made).split())


def test_chances_of_an_arc_are_told():
    text = " ".join(brief_text(briefed(with_turn("right"), errors=Errors(flights=1000))).split())
    assert re.search(
        r"nine in ten join the arc at 11\.\d to 12\.\d NM, and nine in ten roll out between 0\.\d NM left and 0\.\d NM right",
        text,
    )


def test_a_base_turn_too_shallow_is_told_with_the_usual_time():
    made = briefed(base_chart("left", 30.0), errors=FEW, outbound="170s")
    text = " ".join(brief_text(made).split())
    assert "too shallow to fly well" in text
    usual = briefed(base_chart("left", 30.0), errors=FEW)
    assert f"{usual.plan.parts[0].seconds:.0f} s outbound suits the usual bank" in text
    assert "too shallow" not in " ".join(brief_text(usual).split())


def test_a_base_turn_takes_a_bank_or_a_length():
    with pytest.raises(BriefError, match="--bank"):
        briefed(base_chart("left", 20.0), errors=FEW, outbound="130s", bank_deg=20.0)


def test_places_are_about_the_fix():
    """The track of an arc begins on the radial that it is joined from, outside the arc."""
    made = briefed(with_turn("right"), errors=FEW)
    track = planned_track(made.plan)
    assert abs(math.degrees(track.latitude_rad[0]) - HERE.latitude_deg) < 0.3
    assert brief_document(made)["parts"][0]["part"] == "arrival"
