"""The noise that a log tells of itself, against noise that was put in."""

import datetime as dt
import math

import numpy as np
import pytest
from splines import fit_spline
from synthetic import FT, NM, START_S, Chart, Log, Straight, fly

from analyzer.motion.noise import Noise, measure_noise
from analyzer.motion.smooth import analyse_motion
from analyzer.motion.spline import Knots
from analyzer.procedure.charted import resolve

ASSUMED = 0.123


def wander(sd: float, lasts_s: float, time: np.ndarray, rng: np.random.Generator) -> np.ndarray:
    """A first-order Gauss-Markov process at even instants, two components."""
    kept = math.exp(-(time[1] - time[0]) / lasts_s)
    value = np.empty((len(time), 2))
    value[0] = rng.normal(0.0, sd, 2)
    for k in range(1, len(time)):
        value[k] = kept * value[k - 1] + rng.normal(0.0, sd * math.sqrt(1.0 - kept**2), 2)
    return value


def steady(time: np.ndarray) -> np.ndarray:
    return np.mod(time, 300.0) > 62.0


def circles(time: np.ndarray) -> np.ndarray:
    """Straight flight with a turn through 180° at 3°/s every five minutes, 60 m/s."""
    rate = np.where(np.mod(time, 300.0) < 60.0, math.radians(3.0), 0.0)
    step = time[1] - time[0]
    course = 0.6 + np.cumsum(rate) * step
    return np.cumsum(60.0 * step * np.column_stack([np.cos(course), np.sin(course)]), axis=0)


@pytest.mark.parametrize(("white", "sd", "lasts"), [(0.3, 3.0, 60.0), (1.0, 3.0, 60.0), (0.5, 6.0, 90.0), (2.0, 0.0, 60.0)])
@pytest.mark.parametrize("step", [0.5, 1.0])
def test_scatter_and_wander_are_told_apart(white, sd, lasts, step):
    rng = np.random.default_rng([5, round(10.0 * white), round(sd)])
    time = np.arange(0.0, 3600.0, step)
    sample = circles(time) + wander(sd, lasts, time, rng) + rng.normal(0.0, white, (len(time), 2))
    noise = measure_noise(time, sample, steady(time), ASSUMED)
    assert noise.measured
    # the random walk that a Gauss-Markov process is at first: density 2 sd²/T
    assert noise.walk_density == pytest.approx(2.0 * sd**2 / lasts, rel=0.3, abs=0.05 * white**2)
    assert noise.white_sd == pytest.approx(white, rel=0.1)


def test_a_long_log_of_which_a_part_is_taken_tells_the_same():
    # four hours at 5 Hz
    time = np.arange(0.0, 14_400.0, 0.2)
    rng = np.random.default_rng(8)
    sample = circles(time) + wander(3.0, 60.0, time, rng) + rng.normal(0.0, 1.0, (len(time), 2))
    noise = measure_noise(time, sample, steady(time), ASSUMED)
    assert noise.walk_density == pytest.approx(2.0 * 3.0**2 / 60.0, rel=0.15)
    assert noise.white_sd == pytest.approx(1.0, rel=0.05)


@pytest.mark.parametrize("digits", [1.0, 5.0])
def test_rounding_is_scatter(digits):
    time = np.arange(0.0, 1800.0)
    jitter = np.random.default_rng(3).normal(0.0, 0.3 * digits, (len(time), 2))  # a straight line's rounding is no scatter
    rounded = np.round((circles(time) + jitter) / digits) * digits
    noise = measure_noise(time, rounded, steady(time), ASSUMED)
    assert noise.white_sd == pytest.approx(digits * math.hypot(0.3, 1.0 / math.sqrt(12.0)), rel=0.1)


def test_a_turning_flight_without_noise_has_next_to_none():
    time = np.arange(0.0, 1800.0)
    noise = measure_noise(time, circles(time), steady(time), ASSUMED)
    assert noise.measured
    assert noise.white_sd < 0.01
    assert noise.walk_density < 1e-3


@pytest.mark.parametrize(
    "time",
    [np.arange(0.0, 3600.0, 5.0), np.arange(60.0), np.cumsum(np.random.default_rng(2).uniform(0.4, 9.0, 300))],
    ids=["coarse", "short", "uneven"],
)
def test_what_a_log_does_not_tell_is_assumed(time):
    value = np.random.default_rng(1).normal(0.0, 1.0, (len(time), 2))
    noise = measure_noise(time, value, np.ones(len(time), dtype=bool), ASSUMED)
    assert not noise.measured
    assert noise.walk_density == ASSUMED


def test_coarse_positions_whose_differences_are_zero_at_one_lag_only_tell_nothing():
    """Steps of 300 m each sixth second, and a millimetre of scatter: over a lag of six seconds only that is seen."""
    time = np.arange(0.0, 600.0)
    value = np.repeat(np.arange(100) * 300.0, 6)[:, None] + np.random.default_rng(3).normal(0.0, 1e-3, (600, 2))
    noise = measure_noise(time, value, np.ones(len(time), dtype=bool), ASSUMED)
    assert not noise.measured
    assert noise.walk_density == ASSUMED


@pytest.mark.parametrize(("white", "told"), [(0.0, False), (1e-8, False), (1e-6, True), (1e-4, True)])
def test_less_than_a_micrometre_is_no_noise(white, told):
    """A third difference of such scatter is the square root of 20 times it: 0.04 µm of 10 nm, 4 µm of 1 µm."""
    time = np.arange(0.0, 600.0)
    sample = np.random.default_rng(4).normal(0.0, white, (len(time), 2))
    noise = measure_noise(time, sample, np.ones(len(time), dtype=bool), ASSUMED)
    if told:
        assert noise.measured
        assert noise.white_sd == pytest.approx(white, rel=0.1)
    else:
        assert noise == Noise(0.0, 0.0, measured=True)


def test_a_log_without_any_noise_has_none_and_is_analysed():
    """Straight in at 120 kt, exactly level at 2,600 ft, then exactly down a straight line of 3° above a round Earth."""
    second, radius = np.arange(0.0, 331.0), 6_371_008.8
    arc = (6.66 - np.maximum(second - 260.0, 0.0) / 30.0) * NM / radius  # still to go, as an angle at the Earth's centre
    above = radius * (math.cos(math.radians(3.0)) / np.cos(math.radians(3.0) + arc) - 1.0) / FT
    heights = 2600.0 + above - above[0]
    flown = fly([Straight("inbound", 470.0)], (0.0, 10.0), 180.0)
    log = Log(altitude_ft=list(zip(second, heights, strict=True)), end_s=330.0)
    chart = Chart(side=None, within_nm=None, reversal={"kind": "none"})
    motion = analyse_motion(log.of(flown), resolve(chart.at(), dt.date(2026, 6, 1)))
    assert motion.curves.height is not None
    assert motion.curves.height.noise == Noise(0.0, 0.0, measured=True)
    off_ft = motion.states.altitude_m / FT - np.interp(motion.states.time_s - START_S, second, heights)
    corner = np.abs(motion.states.time_s - START_S - 260.0) < 10.0  # which no smooth curve goes round
    assert off_ft[~corner] == pytest.approx(0.0, abs=0.1)


@pytest.mark.parametrize(("white", "sd", "lasts"), [(0.3, 3.0, 60.0), (0.5, 6.0, 90.0), (0.1, 1.0, 40.0)])
def test_the_rate_of_a_curve_is_off_by_what_scatter_and_wander_state(white, sd, lasts):
    # Instants 17 s apart, of both components and twelve flights: some 1,700 errors, correlated through the wander. About 68 and
    # 95 % should lie within one and two standard deviations.
    time = np.arange(0.0, 1200.0)
    truth, asked = circles(time), np.arange(30.0, 1170.0, 17.0)
    course = 0.6 + np.cumsum(np.where(np.mod(time, 300.0) < 60.0, math.radians(3.0), 0.0))
    # the sums of `circles` run through the mean of two seconds' velocities
    middle = 0.5 * (course + np.append(course[1:], course[-1]))
    velocity = 60.0 * np.column_stack([np.cos(middle), np.sin(middle)])[asked.astype(int)]
    scores = []
    for seed in range(12):
        rng = np.random.default_rng([7, seed])
        sample = truth + wander(sd, lasts, time, rng) + rng.normal(0.0, white, (len(time), 2))
        curve, noise = fit_spline(Knots.over([(0.0, 1199.0)]), time, sample), measure_noise(time, sample, steady(time), ASSUMED)
        stated = np.hypot(curve.sd(asked, 1), noise.rate_sd(curve))
        scores.append(np.abs(curve.at(asked, 1) - velocity) / stated[:, None])
    score = np.concatenate(scores).ravel()
    assert 0.60 < np.mean(score < 1.0) < 0.85
    assert 0.91 < np.mean(score < 2.0) < 0.995


@pytest.mark.parametrize("step", [3.0, 4.0, 5.0])
@pytest.mark.parametrize(("sd", "lasts"), [(4.0, 180.0), (6.0, 90.0)])
@pytest.mark.parametrize(("fpm", "most"), [(0.0, 1.3), (700.0, 2.5)])
def test_heights_some_seconds_apart_show_their_wander(step, sd, lasts, fpm, most):
    """Three hours, level or with a descent every five minutes, begun and ended within 6 s, which may pass for wander."""
    time = np.arange(0.0, 10_800.0, step)
    sinking = np.clip(np.minimum(np.mod(time, 300.0) - 120.0, 240.0 - np.mod(time, 300.0)) / 6.0, 0.0, 1.0)
    height = -np.cumsum(fpm * FT / 60.0 * sinking) * step
    rng = np.random.default_rng([11, round(step), round(sd)])
    sample = (height + wander(sd, lasts, time, rng)[:, 0] + rng.normal(0.0, 0.5, len(time)))[:, None]
    everywhere = np.ones(len(time), dtype=bool)
    assert not measure_noise(time, sample, everywhere, ASSUMED).measured
    noise = measure_noise(time, sample, everywhere, ASSUMED, longest_step_s=5.0)
    assert noise.measured
    assert 0.8 < noise.walk_density / (2.0 * sd**2 / lasts) < most
    assert not measure_noise(time, sample, everywhere, ASSUMED, longest_step_s=step - 0.5).measured
