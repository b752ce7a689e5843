"""What the altitude adds to the bank: an aircraft that is lifted weighs more and banks less in the same turn."""

import datetime as dt
import math
from dataclasses import replace

import numpy as np
from synthetic import START_S, Chart, Log, Straight, Turn, fly

from analyzer.motion.motion import Motion
from analyzer.motion.smooth import analyse_motion
from analyzer.procedure.charted import resolve

G = 9.80665
SWING_M, PERIOD_S = 8.0, 25.0  # the altitude swings so far, which is 0.5 m/s² up and down


def swinging(noise_m: float = 0.0, wander_m: float = 0.0) -> tuple[Motion, np.ndarray]:
    """A flight of turns at 30 degrees whose altitude swings, and its true vertical acceleration at every state."""
    legs = [Straight("in", 60.0)]
    for number in range(5):
        legs += [Turn(f"turn {number}", 300.0, 30.0), Straight(f"straight {number}", 60.0)]
    track = Log().of(fly(legs, (1.0, 1.0)))
    seconds = track.time_s - START_S
    rng = np.random.default_rng(4)
    error, kept = np.zeros(len(seconds)), math.exp(-1.0 / 90.0)
    for k in range(1, len(seconds)):
        error[k] = kept * error[k - 1] + rng.normal(0.0, wander_m * math.sqrt(1.0 - kept**2))
    pulse = 2.0 * math.pi / PERIOD_S
    altitude = 900.0 + SWING_M * np.cos(pulse * seconds) + error + rng.normal(0.0, noise_m, len(seconds))
    motion = analyse_motion(replace(track, altitude_m=altitude), resolve(Chart().at(), dt.date(2026, 6, 1)))
    lift = -SWING_M * pulse**2 * np.cos(pulse * (motion.states.time_s - START_S))
    return motion, lift


def test_bank_of_a_turn_that_is_lifted_and_let_down():
    motion, lift = swinging()
    turning = np.abs(motion.states.turn_rate_rad_s) > math.radians(4.0)
    # the flight is laid out at 30 degrees with the weight of level flight: tan b = a/(g + z")
    expected = np.degrees(np.arctan(math.tan(math.radians(30.0)) * G / (G + lift[turning])))
    assert np.ptp(expected) > 2.0
    steady = np.abs(np.degrees(motion.states.bank_rad[turning]) - expected)
    assert np.quantile(steady, 0.9) < 0.3  # the rest is where turns begin and end at once


def test_a_good_altitude_is_believed_and_a_wandering_one_is_not():
    good, _ = swinging(noise_m=0.1)
    bad, _ = swinging(noise_m=0.5, wander_m=25.0)
    assert good.curves.height is not None
    assert bad.curves.height is not None
    assert good.curves.height.lift_share > 0.9
    assert bad.curves.height.lift_share < 0.7
    turning = np.abs(good.states.turn_rate_rad_s) > math.radians(4.0)
    assert np.median(bad.bank_sd_rad(bad.states)[turning]) > 1.2 * np.median(good.bank_sd_rad(good.states)[turning])
