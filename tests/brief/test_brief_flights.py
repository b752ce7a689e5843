"""What a brief tells is flown, by this tree's own simulation, and comes out as planned; the planned track is debriefed."""

import math

import pytest
from briefed import (
    TURN,
    base_chart,
    briefed,
    everywhere,
    fly_by_numbers,
    hold_chart,
    number,
    parts_of,
    turn_chart,
    wind_text,
)
from synthetic import CALM, HERE, NM, Chart, Wind

from analyzer.brief.chances import Errors
from analyzer.brief.planned_track import planned_track
from analyzer.library.debrief import debrief
from analyzer.report.documents.brief_document import brief_document

FEW = Errors(flights=10)
SIDES = {"right": 1, "left": -1}
OTHER = {"right": "left", "left": "right"}
WINDS: list[Wind] = [CALM, (0.0, 25.0), (90.0, 30.0), (180.0, 20.0), (270.0, 15.0)]
OUT = HERE.outbound_true_deg - HERE.variation_deg  # magnetic


def comes_out(made, turn, winds, inbound=180.0, arrival=0.0):
    """Flown as briefed: on the inbound course when the reversal ends, and no farther nor less far than planned."""
    document = brief_document(made)
    flown = fly_by_numbers(document, turn, winds, arrival)
    assert flown.across_nm(flown.names[-1], inbound) == pytest.approx(0.0, abs=0.05)
    assert flown.farthest_nm("reversal_turn") == pytest.approx(number(made, "greatest distance").value, abs=0.05)
    on_course = next(part for part in document["parts"] if part["part"] == "inbound")
    x, y = flown.upto(flown.names[-1])
    assert math.hypot(x[-1], y[-1]) == pytest.approx(on_course["length_nm"], abs=0.05)


@pytest.mark.parametrize(
    ("wind", "speed", "side"),
    [
        (CALM, "80", "right"), (CALM, "180", "left"), ((0.0, 30.0), "80", "left"), ((0.0, 15.0), "180", "right"),
        ((90.0, 30.0), "120", "right"),
        ((180.0, 30.0), "180", "left"), ((270.0, 30.0), "120", "right"),
    ],
)  # fmt: skip
def test_a_45_180_comes_out_on_the_course(wind, speed, side):
    made = briefed(turn_chart(side), errors=FEW, true_speeds=[speed], winds=[wind_text(wind)])
    comes_out(made, -SIDES[side], everywhere(wind))


@pytest.mark.parametrize(("wind", "side"), list(zip(WINDS, ["right", "left", "right", "right", "left"], strict=True)))
def test_an_80_260_comes_out_on_the_course(wind, side):
    made = briefed(turn_chart(side), errors=FEW, shape="80/260", outbound="150s", winds=[wind_text(wind)])
    comes_out(made, -SIDES[side], everywhere(wind))


@pytest.mark.parametrize("outbound", [None, "130s"])
@pytest.mark.parametrize("turn", SIDES)
@pytest.mark.parametrize("wind", WINDS)
def test_a_base_turn_comes_out_on_the_course(wind, turn, outbound):
    made = briefed(base_chart(turn, 22.0), errors=FEW, outbound=outbound, winds=[wind_text(wind)])
    assert "intercept" not in parts_of(brief_document(made))  # time or bank was solved for it
    comes_out(made, SIDES[turn], everywhere(wind), inbound=180.0 + SIDES[turn] * 22.0)


@pytest.mark.parametrize(
    ("from_inbound", "entry"), [(-40.0, "direct"), (0.0, "direct"), (130.0, "teardrop"), (235.0, "parallel")]
)
@pytest.mark.parametrize("turn", SIDES)
@pytest.mark.parametrize("wind", [CALM, (290.0, 20.0)])
def test_a_hold_is_entered_and_comes_out_on_the_course(wind, turn, from_inbound, entry):
    arrival = 180.0 + SIDES[turn] * from_inbound
    made = briefed(hold_chart(turn), errors=FEW, winds=[wind_text(wind)], arrival_deg=(OUT + arrival) % 360.0)
    assert brief_document(made)["shape"] == f"hold-{entry}"
    comes_out(made, SIDES[turn], everywhere(wind), arrival=arrival)


@pytest.mark.parametrize("wind", [(300.0, 40.0)])
def test_winds_and_speeds_of_each_leg(wind):
    low: Wind = (wind[0] + 50.0, 10.0)
    chart = Chart(floors_ft={"outbound": 6000.0, "reversal": 3000.0})
    aloft = [wind_text(wind, altitude_ft=6000), wind_text(low, altitude_ft=3000)]
    made = briefed(chart, errors=FEW, speeds=["110", "reversal=100"], winds=aloft)
    comes_out(made, -1, {"outbound": wind, "reversal": low})


@pytest.mark.parametrize(
    ("chart", "given", "shape", "side"),
    [
        (TURN, {}, "45/180", 1),
        (turn_chart("left"), {"winds": ["10/25"]}, "45/180", -1),
        (TURN, {"shape": "80/260", "winds": ["280/20"]}, "80/260", 1),
        (turn_chart("left"), {"shape": "80/260"}, "80/260", -1),
        (base_chart("left", 20.0), {"winds": ["100/25"]}, "base-turn", 1),
        (base_chart("right", 20.0), {}, "base-turn", -1),
        (hold_chart("right"), {"winds": ["150/15"]}, "hold-direct", -1),
        (hold_chart("left"), {}, "hold-direct", 1),
        (hold_chart("right"), {"arrival_deg": (OUT + 180.0 + 130.0) % 360.0}, "hold-teardrop", -1),
        (hold_chart("left"), {"arrival_deg": (OUT + 180.0 - 235.0) % 360.0}, "hold-parallel", 1),
    ],
)
def test_the_planned_track_debriefs_as_planned(chart, given, shape, side):
    made = briefed(chart, errors=FEW, **given)
    assert made.plan is not None
    (approach,) = debrief(planned_track(made.plan), made.charted.procedure).approaches
    assert approach.reversal.flown == shape == brief_document(made)["shape"]
    assert approach.reversal.side == side
    assert approach.figures.farthest is not None
    assert approach.figures.farthest.distance_m / NM == pytest.approx(number(made, "greatest distance").value, abs=0.02)
