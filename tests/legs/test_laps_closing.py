"""A lap of a hold that comes back beside the fix, still closing with the inbound course, is one; one that leaves it is none."""

import math

import pytest
from scipy.optimize import brentq
from synthetic import Chart, Flown, Log, Straight, Turn, fly

from analyzer import debrief

CUT_DEG = 35.0
HOLD = {"kind": "hold", "leg_time_s": 60.0, "turn": "right"}


def lap(aside_nm: float) -> Flown:
    """In over the fix, wide to the right, out, and back at an angle to the inbound course; past the fix, so far beside it."""

    def path(out_s: float, home_s: float) -> Flown:
        turns = [Turn("entry_turn", 180.0, 12.0), Straight("outbound", out_s), Turn("reversal_turn", 180.0 - CUT_DEG, 25.0)]
        return fly([Straight("arrival", 120.0), *turns, Straight("home", home_s)], (0.0, 4.0), 180.0)

    course = math.radians(180.0 - CUT_DEG)

    def off(out_s: float) -> float:
        flown = path(out_s, 1.0)
        return float(flown.x_nm[-1]) * math.cos(course) - float(flown.y_nm[-1]) * math.sin(course) - aside_nm

    out_s = brentq(off, 5.0, 200.0)
    flown = path(out_s, 1.0)
    left_nm = -(float(flown.x_nm[-1]) * math.sin(course) + float(flown.y_nm[-1]) * math.cos(course))
    return path(out_s, 30.0 * left_nm + 60.0)


@pytest.mark.parametrize(
    ("aside_nm", "shapes"), [(0.35, ["hold-direct"]), (0.1, ["hold-direct"]), (-0.1, ["hold-direct"]), (-0.35, [])]
)
@pytest.mark.parametrize("turn", ["right", "left"])
def test_a_lap_that_is_still_closing_with_the_course_is_one(aside_nm, shapes, turn):
    flown = lap(aside_nm)
    flown = flown if turn == "right" else flown.mirrored()
    found = debrief(Log(noise_m=1.0).of(flown), Chart(None, None, floors_ft={}, reversal={**HOLD, "turn": turn}).at())
    assert [one.reversal.flown for one in found.approaches if one.reversal.flown != "straight-in"] == shapes
    assert all(one.reversal.established_s is None for one in found.approaches if one.reversal.flown == "hold-direct")
