"""The error of an altitude within a log, as the log tells it: none of a simulator's, and what a receiver's wander comes to."""

import datetime as dt
from dataclasses import replace

import numpy as np
import pytest
from synthetic import FT, Chart, Log, Straight, Turn, fly

from analyzer.motion.motion import Motion
from analyzer.motion.smooth import analyse_motion
from analyzer.procedure.charted import resolve

WAY = fly([Straight("out", 900.0), Turn("round", 180.0, 20.0), Straight("in", 900.0)], (0.0, -5.0), 0.0)
LEVEL_FT = 4000.0


def logged(noise_ft: np.ndarray | float, step_s: float = 1.0) -> Motion:
    """A level flight of half an hour with an error of its altitude."""
    track = Log(noise_m=1.0, step_s=step_s, altitude_ft=LEVEL_FT).of(WAY)
    track = replace(track, altitude_m=track.altitude_m + np.broadcast_to(noise_ft, track.altitude_m.shape) * FT)
    return analyse_motion(track, resolve(Chart().at(), dt.date(2026, 6, 1)))


def wander(sd_ft: float, seconds: float, n: int, seed: int) -> np.ndarray:
    """A first-order Gauss-Markov process."""
    rng, keep = np.random.default_rng(seed), np.exp(-1.0 / seconds)
    value = np.empty(n)
    value[0] = rng.normal(0.0, sd_ft)
    for k in range(1, n):
        value[k] = keep * value[k - 1] + rng.normal(0.0, sd_ft * np.sqrt(1.0 - keep**2))
    return value


def test_a_simulator_s_log_has_next_to_none():
    assert logged(0.0).height_noise_sd_m / FT < 0.5


def test_rounding_is_there_in_a_log_without_other_noise():
    # to the nearest 25 ft the standard deviation is 25/√12 = 7.2 ft
    second = np.arange(len(Log().of(WAY).time_s))
    climbed = np.round(np.minimum(second * 8.7, 4000.0) / 25.0) * 25.0
    assert 7.0 < logged(climbed).height_noise_sd_m / FT < 15.0


@pytest.mark.parametrize("step_s", [1.0, 3.0, 5.0])
@pytest.mark.parametrize("rate_fpm", [500.0, 700.0, 1000.0])
def test_coarse_digits_are_not_taken_for_a_wander(step_s, rate_fpm):
    # rounding is off by half a digit at most, and by digit/√12 on the whole
    second, digit_ft = np.arange(len(Log(step_s=step_s).of(WAY).time_s)) * step_s, 100.0
    begins = np.arange(200.0, 1800.0, 300.0)
    ends = np.column_stack([begins, begins + 1000.0 / rate_fpm * 60.0]).ravel()
    lost = np.interp(second, ends, np.repeat(np.arange(len(begins) + 1), 2)[1:-1] * 1000.0)
    noise_ft = logged(np.round((9040.0 - lost) / digit_ft) * digit_ft, step_s).height_noise_sd_m / FT
    assert digit_ft / np.sqrt(12.0) - 0.1 < noise_ft < digit_ft / 2.0


@pytest.mark.parametrize("sd_ft", [40.0, 60.0])
def test_a_wander_under_coarse_digits_is_not_taken_for_rounding(sd_ft):
    """The mean over logs; where digits hide a part of it, it is no less than what is assumed where nothing shows."""
    n = len(Log().of(WAY).time_s)
    found = [logged(np.round(wander(sd_ft, 90.0, n, seed) / 25.0) * 25.0).height_noise_sd_m / FT for seed in range(4)]
    assert np.mean(found) > 20.0


@pytest.mark.parametrize("sd_ft", [5.0, 12.0, 25.0])
def test_the_wander_of_a_receiver_is_measured(sd_ft):
    # the mean over logs, since one log of half an hour holds but a score of wanders
    found = [logged(wander(sd_ft, 90.0, len(Log().of(WAY).time_s), seed)).height_noise_sd_m / FT for seed in range(4)]
    assert np.mean(found) == pytest.approx(sd_ft, rel=0.35)


def test_where_the_log_does_not_tell_it_is_taken_as_twenty_feet():
    # a sample every 20 s is too coarse for the wander to be seen
    motion = logged(0.0, step_s=20.0)
    assert motion.curves.height is not None
    assert not motion.curves.height.noise.measured
    assert motion.height_noise_sd_m / FT == pytest.approx(20.0, abs=1.0)


def test_what_a_log_is_off_by_throughout_counts_against_a_charted_altitude_only():
    motion = logged(0.0)
    assert motion.level_sd_m >= motion.height_noise_sd_m
