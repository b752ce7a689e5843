"""What the positions of a turn show of its bank at least: never more than was flown, and most of it where the turn is long."""

import datetime as dt
from dataclasses import replace

import numpy as np
import pytest
from synthetic import CHARTED, HERE, Log, Straight, Turn, fly

from analyzer.motion.least_bank import least_bank
from analyzer.motion.smooth import analyse_motion
from analyzer.physics.units import DEG
from analyzer.procedure.charted import resolve

CHART = resolve(CHARTED.at(HERE), dt.date(2026, 6, 1))


@pytest.mark.parametrize("step_s", [5.0, 10.0, 15.0])
@pytest.mark.parametrize("bank_deg", [18.0, 27.0, 40.0])
@pytest.mark.parametrize("direction", [1, -1])
def test_the_least_bank_of_a_turn_back_is_nearly_the_one_flown(step_s, bank_deg, direction):
    for late_s in np.arange(0.0, 1.0, 0.25) * step_s:
        legs = [Straight("out", 150.0 + late_s), Turn("back", direction * 200.0, bank_deg), Straight("on", 60.0)]
        legs += [Turn("again", -direction * 150.0, 18.0), Straight("home", 150.0)]  # turns enough to show the wind
        flown = fly(legs, speed_kt=120.0, wind=(70.0, 15.0), roll_deg_s=6.0)
        motion = analyse_motion(Log(step_s=step_s, noise_m=1.0).of(flown, HERE), CHART)
        begin = motion.track.time_s[0] + flown.begins["back"]
        end = motion.track.time_s[0] + flown.begins["on"]
        least = least_bank(motion, begin - step_s, end + step_s, direction)
        assert least is not None
        assert 0.8 * bank_deg < least.bank_rad / DEG < bank_deg + 2.0 * least.sd_rad / DEG + 1.0


def test_the_noise_of_the_positions_is_in_its_error():
    flown = fly([Straight("out", 150.0), Turn("back", 200.0, 20.0), Straight("home", 200.0)], speed_kt=120.0, roll_deg_s=6.0)
    errors = []
    for noise_m in (1.0, 20.0):
        motion = analyse_motion(replace(Log(step_s=5.0), noise_m=noise_m).of(flown, HERE), CHART)
        begin = motion.track.time_s[0] + flown.begins["back"]
        least = least_bank(motion, begin, begin + 70.0, 1)
        assert least is not None
        assert least.bank_rad < 20.0 * DEG + 3.0 * least.sd_rad
        errors.append(least.sd_rad)
    assert errors[1] > 5.0 * errors[0]


def test_two_positions_show_none():
    flown = fly([Straight("out", 150.0), Turn("back", 200.0, 20.0), Straight("home", 200.0)], speed_kt=120.0, roll_deg_s=6.0)
    motion = analyse_motion(Log(step_s=15.0, noise_m=1.0).of(flown, HERE), CHART)
    begin = motion.track.time_s[0] + flown.begins["back"]
    assert least_bank(motion, begin, begin + 20.0, 1) is None
