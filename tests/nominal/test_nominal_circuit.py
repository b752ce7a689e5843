"""A lap of a hold: the outbound leg for a wanted inbound one, by a closed form along the wind and by the tests' simulation."""

import math

import pytest
from synthetic import Straight, Turn, fly, holding, standard_rate_bank

from analyzer.nominal.circuit import Circuit
from analyzer.nominal.fly import Air

KT, DEG = 1852.0 / 3600.0, math.pi / 180.0
SPEED_KT = 120.0
BANK_DEG = standard_rate_bank(SPEED_KT)
ROLL_S = BANK_DEG / 5.0
# At 3°/s a half turn takes a minute. Rolling in and out at 5°/s adds about the time of one roll, because the rate of turn in a
# roll averages about half of the full rate.
TURN_S = 60.0 + ROLL_S


def circuit(wind: tuple[float, float], turn: int = 1) -> Circuit:
    """Due south inbound at 120 kt, turns at standard rate; the wind from degrees, in knots."""
    to = math.radians(wind[0] + 180.0)
    air = Air(SPEED_KT * KT, wind[1] * KT * math.cos(to), wind[1] * KT * math.sin(to))
    home = holding(180.0, SPEED_KT, wind) * DEG
    return Circuit(math.pi, home, turn, BANK_DEG * DEG, BANK_DEG * DEG, air)


def test_in_still_air_the_legs_are_equal_and_parallel():
    heading, seconds = circuit((0.0, 0.0)).closing(60.0) or (0.0, 0.0)
    assert math.remainder(math.degrees(heading), 360.0) == pytest.approx(0.0, abs=0.05)
    assert seconds == pytest.approx(60.0, abs=0.1)
    # abeam the fix when the turn is over
    assert circuit((0.0, 0.0)).timed_s(heading, seconds) == pytest.approx(60.0, abs=0.2)


@pytest.mark.parametrize("against_kt", [25.0, 10.0, -10.0, -25.0])
@pytest.mark.parametrize("wanted_s", [60.0, 90.0])
def test_along_the_wind_the_outbound_time_has_a_closed_form(against_kt, wanted_s):
    """Headwind w inbound: in (V - w) = out (V + w) + 2 w T with two half turns of T; wings level is w T beyond abeam."""
    wind = (180.0, against_kt) if against_kt > 0.0 else (0.0, -against_kt)
    flown = circuit(wind)
    found = flown.closing(wanted_s)
    assert found is not None
    heading, seconds = found
    level_s = (wanted_s * (SPEED_KT - against_kt) - 2.0 * against_kt * TURN_S) / (SPEED_KT + against_kt)
    assert seconds == pytest.approx(level_s, abs=0.5)
    carried_s = against_kt * TURN_S / (SPEED_KT + against_kt)  # outbound in the turn, beyond abeam where it is positive
    if against_kt < 0.0:
        assert flown.timed_s(heading, seconds) == pytest.approx(level_s + carried_s, abs=0.5)


@pytest.mark.parametrize("wind", [(90.0, 20.0), (270.0, 25.0), (135.0, 18.0), (20.0, 22.0), (250.0, 15.0)])
@pytest.mark.parametrize("turn", [1, -1])
@pytest.mark.parametrize("wanted_s", [60.0, 90.0])
def test_flown_by_another_simulation_it_rolls_out_on_the_course_with_the_wanted_time_to_the_fix(wind, turn, wanted_s):
    found = circuit(wind, turn).closing(wanted_s)
    assert found is not None
    out, seconds = math.degrees(found[0]), found[1]
    home = holding(180.0, SPEED_KT, wind)
    away = turn * ((turn * (out - home)) % 360.0)
    back = turn * ((turn * (home - out)) % 360.0)
    path = [Turn("away", away, BANK_DEG), Straight("out", seconds), Turn("back", back, BANK_DEG)]
    flown = fly([*path, Straight("in", wanted_s)], (0.0, 0.0), home, SPEED_KT, wind, 5.0)
    # over the fix when the time is up
    assert math.hypot(float(flown.x_nm[-1]), float(flown.y_nm[-1])) * 1852.0 < 10.0


def test_there_is_no_outbound_leg_in_a_wind_that_carries_the_turns_too_far():
    """With 60 kt of headwind inbound at 120 kt, two turns alone drift 2.1 NM, and a minute inbound covers one."""
    assert circuit((180.0, 60.0)).closing(60.0) is None
