"""The handbook's 45/180 and 80/260, flown as drawn: shape, side, reach and the instants of the parts in closed form.

FAA-H-8083-15B chapter 7, figures 7-42 and 7-43: two minutes outbound, standard-rate turns. In still air R = V/ω; at 120 kt
R = 0.6366 NM, the 45° turn takes 15 s, the 225° turn 75 s, the 80° turn 26.67 s and the 260° turn 86.67 s.
"""

import itertools
import math

import numpy as np
import pytest
from found import ends, found, starts
from patterns import TWO_OVER_RATE_S, Approach, Pattern, fly_approach, radius_nm
from synthetic import CALM, NM, START_S, Chart, Log

from analyzer import debrief

OUTBOUND_NM = 4.0  # two minutes at 120 kt


@pytest.mark.parametrize(
    ("shape", "leg_s", "x_nm", "y_nm", "reach_nm"),
    [
        ("45/180", TWO_OVER_RATE_S, 0.000, 1.801, 2.437),
        ("45/180", 40.0, -0.043, 1.843, 2.480),
        ("45/180", 45.0, -0.160, 1.961, 2.598),
        ("80/260", 0.0, 0.221, 1.254, 1.891),
    ],
)
@pytest.mark.parametrize("side", [1, -1])
def test_flown_as_drawn(shape, leg_s, x_nm, y_nm, reach_nm, side):
    # The roll-out (x to the left of a pattern to the left) and the furthest point, from the start of the first turn.
    approach = fly_approach(Pattern(side=side, shape=shape, leg_s=leg_s))
    flown = approach.flown
    assert float(flown.at(approach.rolled_out_s, flown.x_nm)) == pytest.approx(-side * x_nm, abs=0.001)
    assert float(flown.at(approach.rolled_out_s, flown.y_nm)) - OUTBOUND_NM == pytest.approx(y_nm, abs=0.001)
    assert float(flown.y_nm.max()) - OUTBOUND_NM == pytest.approx(reach_nm, abs=0.001)
    (one,) = debrief(Log().of(flown), Chart(side="right" if side > 0 else "left").at()).approaches
    assert (one.reversal.flown, one.reversal.side, one.reversal.turn) == (shape, side, -side)
    # the turn back is on a circle whose centre lies a radius beside the roll-out: its far side, in line with the fix
    radius = radius_nm()
    farthest = math.hypot(OUTBOUND_NM + y_nm, radius - x_nm) + radius
    assert one.figures.farthest is not None
    assert one.figures.farthest.distance_m / NM == pytest.approx(farthest, abs=0.01)


def expected(approach: Approach, roll_deg_s: float) -> dict[str, float]:
    """Starts of the parts; where one bank is rolled straight into the other, the second turn begins as the first is left."""
    begins = dict(approach.flown.begins)
    if "offset_leg" not in begins:
        bank = float(abs(approach.flown.at(begins["reversal_turn"] - 10.0, approach.flown.bank_deg)))
        begins["reversal_turn"] -= bank / roll_deg_s
    return {name: begins[name] for name in ("offset_turn", "offset_leg", "reversal_turn") if name in begins}


@pytest.mark.parametrize("side", [1, -1])
@pytest.mark.parametrize("shape", ["45/180", "80/260"])
@pytest.mark.parametrize("wind", [CALM, (160.0, 20.0), (300.0, 25.0)])
@pytest.mark.parametrize(("speed_kt", "rate"), [(90.0, 3.0), (120.0, 3.0), (200.0, 2.2)])
def test_parts_begin_within_two_seconds(side, shape, wind, speed_kt, rate):
    wind = (side * wind[0], wind[1])
    bank = math.degrees(math.atan(speed_kt * NM / 3600.0 * math.radians(rate) / 9.80665))
    pattern = Pattern(side=side, shape=shape, speed_kt=speed_kt, bank_deg=bank, wind=wind, roll_deg_s=5.0, intercept=True)
    approach = fly_approach(pattern)
    (reversal,) = found(approach.flown)
    assert (reversal.flown, reversal.side, reversal.turn) == (shape, side, -side)
    times = starts(reversal)
    for name, instant in expected(approach, 5.0).items():
        assert times[name] == pytest.approx(instant, abs=2.0), name
    assert times["outbound"] == pytest.approx(approach.outbound_passage_s, abs=0.2)
    assert times["final"] == pytest.approx(approach.inbound_passage_s, abs=0.2)
    assert reversal.score_gap is not None
    assert reversal.score_gap > 100.0


@pytest.mark.parametrize("side", [1, -1])
def test_established_within_two_seconds_of_the_definition(side):
    # Within 5° of the course as seen from the fix and tracking within 15° of it, worked from the flown plane itself.
    for wind, leg_s in ((CALM, 60.0), ((side * 170.0, 20.0), 45.0), ((side * 80.0, 15.0), 30.0)):
        approach = fly_approach(Pattern(side=side, leg_s=leg_s, wind=wind, roll_deg_s=5.0, intercept=True))
        flown = approach.flown
        wanted = None
        for k in range(int(np.searchsorted(flown.time_s, approach.begin("reversal_turn"))), len(flown.time_s) - 1):
            step = flown.x_nm[k + 1] - flown.x_nm[k], flown.y_nm[k + 1] - flown.y_nm[k]
            track = math.degrees(math.atan2(step[0], -step[1]))  # from the inbound course
            angle = math.degrees(math.atan2(flown.x_nm[k], flown.y_nm[k]))
            if abs(track) <= 15.0 and abs(angle) <= 5.0:
                wanted = float(flown.time_s[k])
                break
        (reversal,) = found(flown)
        assert wanted is not None
        assert reversal.established_s is not None
        assert reversal.established_s - START_S == pytest.approx(wanted, abs=2.0)
        assert starts(reversal)["inbound"] == reversal.established_s - START_S


def test_parts_follow_each_other_without_a_break():
    approach = fly_approach(Pattern(arrival_deg=-30.0, wind=(200.0, 20.0), roll_deg_s=5.0, intercept=True))
    (reversal,) = found(approach.flown)
    names = [
        "arrival",
        "outbound_turn",
        "outbound",
        "offset_turn",
        "offset_leg",
        "reversal_turn",
        "intercept",
        "inbound",
        "final",
    ]
    assert list(starts(reversal)) == names
    begins, stops = starts(reversal), ends(reversal)
    for before, after in itertools.pairwise(names):
        assert stops[before] == pytest.approx(begins[after], abs=1e-6)
    assert [part.turn for part in reversal.parts] == [None, 1, None, 1, None, -1, None, None, None]
    assert [passage.direction for passage in reversal.passages] == ["outbound", "inbound"]
    legs = [part.leg for part in reversal.parts]
    assert legs == ["arrival", "outbound", "outbound", "reversal", "reversal", "reversal", "reversal", "inbound", "final"]


def test_the_offset_turn_is_as_long_as_drawn():
    (reversal,) = found(fly_approach(Pattern(roll_deg_s=5.0)).flown)
    begins, stops = starts(reversal), ends(reversal)
    roll_s = math.degrees(math.atan(120.0 * NM / 3600.0 * math.radians(3.0) / 9.80665)) / 5.0  # adds about itself to the turn
    assert stops["offset_turn"] - begins["offset_turn"] == pytest.approx(15.0 + roll_s, abs=1.0)
    assert stops["offset_leg"] - begins["offset_leg"] == pytest.approx(TWO_OVER_RATE_S, abs=1.5)
