"""A gap of a minute or more, wherever it lies, turns no verdict: what is outside then was so, or may have been, without it.

A property, no source: less of the same flight cannot show a fault that more of it shows there was none.
"""

from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from checked import NOISY, PLAIN, one_of
from hold_flights import entered
from patterns import Approach, fly_approach
from synthetic import START_S, Chart, Flown

from analyzer import debrief
from analyzer.physics.holding import ENTRIES
from analyzer.track.track import Track

FLOORS = {"arrival": 2900.0, "outbound": 2600.0, "reversal": 2600.0, "inbound": 2000.0, "final": 700.0}
IN_LIEU = {"kind": "hold", "turn": "right", "leg_time_s": 60.0}
WINDY = replace(PLAIN, arrival_deg=-60.0, wind=(40.0, 12.0), intercept=True)


@cache
def case(name: str) -> tuple[Flown, list[tuple[float, float]], Chart]:
    """A flight with its altitudes, descending as its chart allows, and the chart."""
    if name in ENTRIES:
        in_lieu = Chart(side=None, reversal=IN_LIEU, floors_ft={"arrival": 2900.0})
        return entered(name, 1).flown, [(0.0, 2950.0), (1e5, 2950.0)], in_lieu
    approach = fly_approach({"45/180": WINDY, "80/260": replace(WINDY, shape="80/260"), "still air": PLAIN}[name])
    return approach.flown, stepped(approach, 2650.0), Chart(floors_ft=FLOORS)


def stepped(approach: Approach, turning_ft: float) -> list[tuple[float, float]]:
    """Down after the fix, to another altitude in the turn, and on once established."""
    out, turn = approach.outbound_passage_s, approach.begin("reversal_turn")
    back, over = approach.rolled_out_s + 5.0, approach.inbound_passage_s
    steps = [(0.0, 2950.0), (out + 5.0, 2950.0), (out + 35.0, 2650.0), (turn, 2650.0), (turn + 10.0, turning_ft)]
    return [*steps, (back, turning_ft), (back + 60.0, 2050.0), (over, 2050.0), (over + 60.0, 1500.0)]


def logged(flown: Flown, heights: list[tuple[float, float]], begin_s: float | None = None, gap_s: float = 60.0) -> Track:
    """The track, without some time from an instant on; reading a log calls that a gap from 45 s on, and bridges less."""
    log = replace(NOISY, altitude_ft=heights)
    if begin_s is None or gap_s > 45.0:
        return replace(log, hole_s=None if begin_s is None else (begin_s, begin_s + gap_s)).of(flown)
    track = log.of(flown)
    since = track.time_s - START_S - begin_s
    kept = (since <= 0.0) | (since >= gap_s)
    names = ("time_s", "latitude_rad", "longitude_rad", "altitude_m")
    return replace(track, **{name: getattr(track, name)[kept] for name in names})


def outside(track: Track, chart: Chart) -> dict[str, str]:
    """What is outside, with its sentence."""
    found = (one for flown in debrief(track, chart.at()).approaches for one in flown.findings)
    return {one.check: one.sentence for one in found if one.verdict == "outside"}


@pytest.mark.parametrize("name", ["45/180", "80/260", "still air", *ENTRIES])
@pytest.mark.parametrize("gap_s", [40.0, 60.0, 100.0])
def test_no_gap_makes_a_fault(name, gap_s):
    flown, heights, chart = case(name)
    whole = set(outside(logged(flown, heights), chart))
    for begin_s in np.arange(15.0, flown.time_s[-1] - gap_s - 15.0, 15.0):
        found = outside(logged(flown, heights, float(begin_s), gap_s), chart)
        assert set(found) <= whole, (begin_s, found)


@pytest.mark.parametrize("before_s", [40.0, 30.0, 20.0])
def test_what_follows_a_gap_over_being_established_is_not_the_lowest_of_the_reversal(before_s):
    """45 ft low in the turn, and a gap from its end until the descent that being established allows is well on."""
    approach = fly_approach(PLAIN)
    track = logged(approach.flown, stepped(approach, 2555.0), approach.rolled_out_s - before_s)
    (flown,) = debrief(track, Chart(floors_ft=FLOORS).at()).approaches
    finding = one_of(flown, "altitude_floor", leg="reversal")
    assert finding.verdict != "inside"
    assert finding.measured == pytest.approx(2555.0, abs=10.0)
