"""Where and when the minimum of the arrival holds: up to the fix, on a charted route, and not on the runway."""

import math
from dataclasses import replace

import pytest
from checked import NOISY, all_of, debriefed, homeward, one_of
from synthetic import START_S, Chart, Straight, Turn

FLOORS = {"arrival": 3000.0, "outbound": 2400.0, "reversal": 2400.0, "inbound": 1800.0}
RADIUS_NM = 120.0**2 * (1852.0 / 3600.0) ** 2 / 9.80665 / math.tan(math.radians(18.0)) / 1852.0


def turned_late(late_s: float):
    """Over the fix at 120 s, 40° right of the outbound course; straight on for some seconds, then back and onto the course."""
    sine, cosine = (f(math.radians(40.0)) for f in (math.sin, math.cos))
    # the turn from 40° right to 40° left ends as far off the course as it begins, and the turn onto it moves R (1 - cos 40°)
    closing_s = late_s - RADIUS_NM * (1.0 - cosine) / sine * 30.0
    path = [Straight("arrival", 120.0 + late_s), Turn("outbound_turn", -80.0, 18.0), Straight("closing", closing_s)]
    path += [Turn("onto", 40.0, 18.0), Straight("outbound", 60.0)]
    return homeward(path, (-4.0 * sine, -4.0 * cosine), 40.0)


@pytest.mark.parametrize("late_s", [25.0, 50.0])
@pytest.mark.parametrize(("begun_s", "arrival", "timing"), [(5.0, "inside", "inside"), (-60.0, "outside", "not assessed")])
def test_past_the_fix_the_minimum_of_the_arrival_no_longer_holds(late_s, begun_s, arrival, timing):
    # AIM 5-4-9 a.2: descent to the altitude of the procedure turn may begin after crossing over the fix and proceeding
    # outbound. Begun before the fix it is below the minimum of the arrival, and that event counts there.
    down = [(0.0, 3060.0), (120.0 + begun_s, 3060.0), (120.0 + begun_s + 50.0, 2460.0), (1e4, 2460.0)]
    approach = debriefed(turned_late(late_s), replace(NOISY, altitude_ft=down), Chart(floors_ft=FLOORS))
    assert one_of(approach, "altitude_floor", leg="arrival").verdict == arrival
    assert one_of(approach, "altitude_floor", leg="outbound").verdict == "inside"
    assert next(f for f in all_of(approach, "descent_timing") if "outbound altitude" in f.sentence).verdict == timing
    # nothing flown after the passage is of the arrival, though the turn began late
    passage, first = approach.reversal.passage("outbound"), approach.reversal.parts[0]
    assert passage is not None
    assert (first.name, first.end_s) == ("arrival", pytest.approx(passage.time_s, abs=0.1))
    assert passage.time_s - START_S == pytest.approx(120.0, abs=1.0)


def test_a_turn_begun_late_keeps_its_bank_and_rate():
    approach = debriefed(turned_late(25.0))
    turn = next(one for one in approach.figures.parts if one.part.name == "outbound_turn")
    assert turn.part.start_s - START_S == pytest.approx(120.0, abs=1.0)
    assert turn.turn is not None
    # of the turning, not of the straight flight since the fix: ω = g tan(bank) / V
    assert math.degrees(turn.turn.bank_mean_rad) == pytest.approx(18.0, abs=1.0)
    assert math.degrees(turn.turn.rate_mean_rad_s) == pytest.approx(math.degrees(120.0 / 3600.0 / RADIUS_NM), abs=0.2)


def test_a_descent_past_the_fix_is_held_to_the_minimum_outbound():
    # which the aircraft goes below before it turns: the stretch between fix and turn belongs to the outbound leg
    down = [(0.0, 3060.0), (120.0, 3060.0), (150.0, 2200.0), (170.0, 2200.0), (200.0, 2460.0), (1e4, 2460.0)]
    approach = debriefed(turned_late(70.0), replace(NOISY, altitude_ft=down), Chart(floors_ft=FLOORS))
    assert one_of(approach, "altitude_floor", leg="arrival").verdict == "inside"
    finding = one_of(approach, "altitude_floor", leg="outbound")
    assert (finding.verdict, finding.measured) == ("outside", pytest.approx(2200.0, abs=15.0))
