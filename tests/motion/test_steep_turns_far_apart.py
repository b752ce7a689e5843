"""Steep turns with two or three positions each: they are flown, and no noise of a log that is exact on its straight legs."""

import datetime as dt

import numpy as np
import pytest
from patterns import Pattern, fly_approach
from synthetic import CHARTED, HERE, Log

from analyzer.motion.noise import scatter_at_most
from analyzer.motion.smooth import analyse_motion
from analyzer.physics import geodesy
from analyzer.procedure.charted import resolve


@pytest.mark.parametrize("shape", ["45/180", "80/260"])
@pytest.mark.parametrize("noise_m", [0.5, 3.0])
def test_the_curve_goes_by_the_positions_of_a_steep_turn(shape, noise_m):
    """35° of bank at 110 kt: half a turn takes 26 s, less than two steps of the log."""
    pattern = Pattern(shape=shape, speed_kt=110.0, bank_deg=35.0, intercept=True, roll_deg_s=8.0)
    track = Log(step_s=15.0, noise_m=noise_m).of(fly_approach(pattern).flown, HERE)
    motion = analyse_motion(track, resolve(CHARTED.at(HERE), dt.date(2026, 6, 1)))
    off = np.hypot(*(motion.path.at(track.time_s) - motion.curves.sample_north_east_m).T)
    assert off.max() < 30.0
    assert float(np.abs(np.degrees(motion.states.bank_rad)).max()) == pytest.approx(35.0, abs=6.0)


@pytest.mark.parametrize("noise_m", [1.0, 30.0])
def test_scatter_as_the_straight_legs_show_it(noise_m):
    pattern = Pattern(speed_kt=110.0, bank_deg=20.0, intercept=True, final_s=600.0)
    track = Log(step_s=15.0, noise_m=noise_m).of(fly_approach(pattern).flown, HERE)
    most = scatter_at_most(np.column_stack(geodesy.north_east(track.latitude_rad, track.longitude_rad)))
    assert 0.5 * noise_m < most < 2.0 * noise_m


def test_noise_of_coarse_positions_is_smoothed():
    """A scatter of 30 m, as of positions to a thousandth of a degree, is in the straight legs too."""
    pattern = Pattern(speed_kt=110.0, bank_deg=20.0, intercept=True, final_s=600.0)
    track = Log(step_s=10.0, noise_m=30.0).of(fly_approach(pattern).flown, HERE)
    motion = analyse_motion(track, resolve(CHARTED.at(HERE), dt.date(2026, 6, 1)))
    assert motion.path.noise_sd == pytest.approx(30.0, rel=0.35)
