"""Nominal flying against the handbook's patterns in closed form, and against an independent integration."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from analyzer.nominal.fly import Air, Straight, Turn, fly

NM, KT, G = 1852.0, 1852.0 / 3600.0, 9.80665
INSTANT = 1e4  # rad/s
SPEED = 120.0 * KT
STANDARD_RATE_BANK = math.atan(SPEED * math.radians(3.0) / G)


def turn(degrees: float, direction: int) -> Turn:
    return Turn(math.radians(degrees), direction, STANDARD_RATE_BANK)


# FAA-H-8083-15B figures 7-42 to 7-44 in closed form at 120 kt in still air, R = V/ω = 0.6366 NM: where the turn back rolls out,
# right of the outbound line and along it, and the farthest point along it, from the start of the first turn. [NM]
PATTERNS = {
    "45/225, 40 s": ([turn(-45.0, -1), Straight(40.0), turn(180.0, 1)], -0.043, 1.843, 2.480),
    "45/225, 45 s": ([turn(-45.0, -1), Straight(45.0), turn(180.0, 1)], -0.160, 1.961, 2.598),
    "45/225, 60 s": ([turn(-45.0, -1), Straight(60.0), turn(180.0, 1)], -0.514, 2.315, 2.951),
    "45/225, 2/ω": ([turn(-45.0, -1), Straight(2.0 / math.radians(3.0)), turn(180.0, 1)], 0.000, 1.801, 2.437),
    "80/260": ([turn(-80.0, -1), turn(180.0, 1)], 0.221, 1.254, 1.891),
    "80/260, 6.74 s": ([turn(-80.0, -1), Straight(6.74), turn(180.0, 1)], 0.000, 1.293, 1.930),
}
TEARDROPS = {30.0: (60.0, 0.103, 2.369, 3.005), 20.0: (120.0, -0.172, 4.194, 4.831), 10.0: (180.0, 0.212, 6.130, 6.767)}


@pytest.mark.parametrize("name", PATTERNS)
def test_handbook_patterns(name):
    segments, across, along, farthest = PATTERNS[name]
    path = fly(segments, Air(SPEED), 0.0, roll_rate_rad_s=INSTANT)
    assert float(path.across_m(0.0)[-1]) / NM == pytest.approx(across, abs=0.001)
    assert float(path.north_m[-1]) / NM == pytest.approx(along, abs=0.001)
    assert float(path.north_m.max()) / NM == pytest.approx(farthest, abs=0.001)


@pytest.mark.parametrize("off", TEARDROPS)
def test_handbook_teardrops(off):
    seconds, across, along, farthest = TEARDROPS[off]
    path = fly([turn(-off, -1), Straight(seconds), turn(180.0, 1)], Air(SPEED), 0.0, roll_rate_rad_s=INSTANT)
    assert float(path.across_m(0.0)[-1]) / NM == pytest.approx(across, abs=0.001)
    assert float(path.north_m[-1]) / NM == pytest.approx(along, abs=0.001)
    assert float(path.north_m.max()) / NM == pytest.approx(farthest, abs=0.001)


def stepped(turned: float, bank: float, roll: float, speed: float) -> tuple[float, float, float]:
    """A turn integrated in steps of 0.01 s, with bank rolled in, held and rolled out: its seconds, north and east."""
    sign, size = math.copysign(1.0, turned), abs(turned)
    heading = north = east = now = held = seconds = 0.0
    step = 0.01
    leads = G / speed / roll * -math.log(math.cos(bank))  # heading change during the roll-out
    while heading < size - 1e-9 and seconds < 1000.0:
        if heading < size - leads and held < bank:
            held = min(bank, held + roll * step)
        elif heading >= size - leads:
            held = max(0.0, held - roll * step)
            if held == 0.0:
                break
        heading += G * math.tan(held) / speed * step
        now = sign * heading
        north, east = north + speed * math.cos(now) * step, east + speed * math.sin(now) * step
        seconds += step
    return seconds, north, east


@pytest.mark.parametrize("degrees", [45.0, -180.0, 225.0])
@pytest.mark.parametrize("bank_deg", [15.0, 28.0])
def test_a_turn_agrees_with_integration(degrees, bank_deg):
    bank, roll = math.radians(bank_deg), math.radians(5.0)
    direction = 1 if degrees > 0 else -1
    path = fly([Turn(math.radians(degrees), direction, bank)], Air(SPEED), 0.0)
    seconds, north, east = stepped(math.radians(degrees), bank, roll, SPEED)
    assert float(path.time_s[-1]) == pytest.approx(seconds, abs=0.3)
    assert float(path.north_m[-1]) == pytest.approx(north, abs=12.0)
    assert float(path.east_m[-1]) == pytest.approx(east, abs=12.0)
    assert float(path.heading_rad[-1]) == pytest.approx(math.radians(degrees), abs=1e-9)


@settings(deadline=None, max_examples=50)
@given(
    wind=st.tuples(st.floats(-25.0, 25.0), st.floats(-25.0, 25.0)),
    seconds=st.floats(0.0, 120.0),
    to=st.floats(-3.0, 3.0),
    direction=st.sampled_from([1, -1]),
    bank=st.floats(0.1, 0.6),
)
def test_a_steady_wind_carries_the_path_along(wind, seconds, to, direction, bank):
    segments = [Straight(seconds), Turn(to, direction, bank), Straight(20.0)]
    still, carried = (fly(segments, air, 0.4) for air in (Air(60.0), Air(60.0, *wind)))
    assert carried.time_s == pytest.approx(still.time_s)
    assert carried.north_m - still.north_m == pytest.approx(wind[0] * still.time_s, abs=1e-6)
    assert carried.east_m - still.east_m == pytest.approx(wind[1] * still.time_s, abs=1e-6)
    assert math.remainder(float(carried.heading_rad[-1]) - to, math.tau) == pytest.approx(0.0, abs=1e-9)


@pytest.mark.parametrize("degrees", [1.0, 5.0, 20.0])
def test_a_small_turn_does_not_reach_its_bank(degrees):
    path = fly([Turn(math.radians(degrees), 1, math.radians(30.0))], Air(SPEED), 0.0)
    rate = np.diff(path.heading_rad) / np.diff(path.time_s)
    assert float(path.heading_rad[-1]) == pytest.approx(math.radians(degrees), abs=1e-9)
    assert float(rate.max()) <= G * math.tan(math.radians(30.0)) / SPEED + 1e-9
    assert (rate >= 0.0).all()


def test_segment_ends_and_skipped_segments():
    path = fly(
        [Straight(10.0), Straight(0.0), Straight(-3.0), Turn(0.5, 1, 0.3), Straight(5.0)], Air(SPEED), 0.0, (100.0, -50.0)
    )
    at = [float(path.time_s[end]) for end in path.ends]
    assert at[:3] == pytest.approx([10.0, 10.0, 10.0])
    assert at[4] - at[3] == pytest.approx(5.0)
    assert (float(path.north_m[0]), float(path.east_m[0])) == (100.0, -50.0)
    assert float(path.distance_m(100.0, -50.0)[0]) == 0.0
