"""The spline's own error against what it really is: Monte Carlo with known noise, seeded."""

import math

import numpy as np
import pytest
from kalman import STEP
from splines import fit_spline

from analyzer.motion.spline import Knots

RUNS, SECONDS = 150, 150
ASKED = np.array([30.0, 75.0, 120.0])  # farther apart than the smoothing reaches, so that their errors are independent


def flights(jerk_sd: float, rng: np.random.Generator) -> np.ndarray:
    """States of `RUNS` bodies at every second: (seconds + 1, runs, 4)."""
    state = np.tile([0.0, 50.0, 0.0, 0.0], (RUNS, 1))
    states = []
    for _ in range(SECONDS + 1):
        state[:, 3] = rng.normal(0.0, jerk_sd, RUNS)
        states.append(state)
        state = state @ STEP.T
    return np.array(states)


def three_sd(share: float, count: int) -> float:
    """Three standard deviations of an observed share, by the binomial."""
    return 3.0 * math.sqrt(share * (1.0 - share) / count)


@pytest.mark.parametrize(("noise_m", "jerk_sd"), [(2.0, 0.3), (5.0, 0.1)])
def test_errors_are_as_large_as_stated(noise_m, jerk_sd):
    rng = np.random.default_rng([17, round(noise_m)])
    truth = flights(jerk_sd, rng)
    time, knots = np.arange(SECONDS + 1.0), Knots.over([(0.0, float(SECONDS))])
    scores, noise = [], []
    for run in range(RUNS):
        spline = fit_spline(knots, time, truth[:, run, :1] + rng.normal(0.0, noise_m, (SECONDS + 1, 1)))
        noise.append(spline.noise_sd)
        errors = [spline.at(ASKED, order)[:, 0] - truth[ASKED.astype(int), run, order] for order in range(3)]
        scores.append([error / spline.sd(ASKED, order) for order, error in enumerate(errors)])
    score = np.abs(np.array(scores))  # (runs, orders, instants)
    for order in range(3):
        count = score[:, order].size
        assert np.mean(score[:, order] < 1.0) == pytest.approx(0.6827, abs=three_sd(0.6827, count))
        assert np.mean(score[:, order] < 2.0) == pytest.approx(0.9545, abs=three_sd(0.9545, count))
    # the mean of so many estimates, each from some 130 degrees of freedom, is within 1 % (one sd) of the noise put in
    assert np.mean(noise) == pytest.approx(noise_m, rel=0.03)


def test_noise_is_told_from_a_real_turn():
    # A circle at 3°/s and 60 m/s is no draw from the model; what is left after smoothing is still the noise.
    rng = np.random.default_rng(3)
    time = np.arange(0.0, 181.0)
    angle, radius = np.radians(3.0) * time, 60.0 / np.radians(3.0)
    circle = radius * np.column_stack([np.sin(angle), 1.0 - np.cos(angle)])
    for noise_m in (0.5, 2.0, 6.0):
        fitted = [
            fit_spline(Knots.over([(0.0, 180.0)]), time, circle + rng.normal(0.0, noise_m, circle.shape)) for _ in range(8)
        ]
        assert np.mean([spline.noise_sd for spline in fitted]) == pytest.approx(noise_m, rel=0.05)


@pytest.mark.parametrize(("seconds", "noise_m"), [(600, 0.3), (3600, 1.0), (600, 3.0)])
def test_noise_of_a_straight_flight(seconds, noise_m):
    # The smoothing has no turn to keep here, and the positions grow to 200 km: a matter of numerical care.
    time = np.arange(seconds + 1.0)
    value = np.column_stack([48.0 * time, 36.0 * time]) + np.random.default_rng(1).normal(0.0, noise_m, (seconds + 1, 2))
    assert fit_spline(Knots.over([(0.0, float(seconds))]), time, value).noise_sd == pytest.approx(noise_m, rel=0.1)


def test_rounded_positions_get_the_smoothing_they_need():
    # Positions rounded to 10 m: an error of 10/√12 m, which is what the smoothing sees as noise.
    time = np.arange(0.0, 301.0)
    path = np.column_stack([61.3 * time, 7.7 * time + 0.013 * time**2])
    spline = fit_spline(Knots.over([(0.0, 300.0)]), time, np.round(path / 10.0) * 10.0)
    assert spline.noise_sd == pytest.approx(10.0 / math.sqrt(12.0), rel=0.1)
    assert np.abs(spline.at(time) - path)[20:-20].max() < 3.0
