"""The smoothing spline against polynomials, an independent Kalman smoother, and its own samples taken otherwise."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from kalman import STEP, smooth
from splines import fit_spline

from analyzer.errors import LogError
from analyzer.motion.spline import Knots, SmoothingSpline

coefficients = st.floats(-50.0, 50.0)


def one_stretch(end_s: float) -> Knots:
    return Knots.over([(0.0, end_s)])


def body(seconds: int, jerk_sd: float, rng: np.random.Generator) -> np.ndarray:
    """Position, velocity, acceleration and jerk of a body at every second, its jerk drawn anew at each."""
    state = np.array([0.0, 50.0, 0.0, 0.0])
    states = []
    for _ in range(seconds + 1):
        state[3] = rng.normal(0.0, jerk_sd)
        states.append(state)
        state = STEP @ state
    return np.array(states)


def uneven(rng: np.random.Generator, end_s: float) -> np.ndarray:
    return np.sort(np.concatenate([[0.0, end_s], rng.uniform(0.0, end_s, round(1.3 * end_s))]))


@settings(max_examples=25, deadline=None)
@given(st.lists(coefficients, min_size=6, max_size=6), st.integers(0, 1000), st.booleans())
def test_a_parabola_comes_out_as_it_went_in(parts, seed, even):
    # No jerk, no penalty: polynomials of degree two are the null space of the penalty, whatever the smoothing chosen.
    time = np.arange(0.0, 61.0) if even else uneven(np.random.default_rng(seed), 60.0)
    size, coefficient = np.array([1.0, 1.0, 0.02]), np.array(parts).reshape(3, 2)
    powers = time[:, None] ** np.arange(3) * size
    spline = fit_spline(one_stretch(time[-1]), time, powers @ coefficient)
    between = np.linspace(0.0, time[-1], 333)
    slope = np.stack([np.zeros_like(between), np.ones_like(between), 2.0 * between], axis=1) * size
    path = between[:, None] ** np.arange(3) * size @ coefficient
    rounding = 1e-6 * (1.0 + np.abs(path).max())
    assert spline.at(between) == pytest.approx(path, abs=rounding)
    assert spline.at(between, 1) == pytest.approx(slope @ coefficient, abs=rounding)
    assert spline.at(between, 2) == pytest.approx(np.tile(2.0 * 0.02 * coefficient[2], (333, 1)), abs=rounding)


@pytest.mark.parametrize("steps", ["even", "uneven"])
@pytest.mark.parametrize(("noise_m", "jerk"), [(2.0, 0.3), (0.2, 1.0), (8.0, 0.05)])
def test_curve_and_error_are_those_of_a_kalman_smoother(steps, noise_m, jerk):
    rng = np.random.default_rng([round(10 * noise_m), len(steps)])
    seconds = 90
    time = np.arange(seconds + 1.0) if steps == "even" else uneven(rng, float(seconds))
    states = body(seconds, jerk, rng)
    at = np.minimum(time.astype(int), seconds - 1)
    powers = (time - at)[:, None] ** np.arange(4) / np.array([1.0, 1.0, 2.0, 6.0])
    sample = np.sum(powers * states[at], axis=1) + rng.normal(0.0, noise_m, len(time))
    spline = fit_spline(one_stretch(float(seconds)), time, sample[:, None])
    smoothed = smooth(time, sample, seconds, spline.noise_sd, spline.noise_sd / np.sqrt(spline.ratio))
    whole = np.arange(float(seconds))
    for order in range(3):
        assert spline.at(whole, order)[:, 0] == pytest.approx(smoothed.mean[:, order], abs=1e-3 * noise_m)
        assert spline.sd(whole, order) == pytest.approx(np.sqrt(smoothed.covariance[:, order, order]), rel=1e-3)


def test_the_smoothing_is_the_most_likely_one():
    # Within the half unit of log-likelihood that one standard deviation of λ is worth, against a filter's likelihood.
    rng = np.random.default_rng(8)
    for noise_m, jerk in [(2.0, 0.3), (0.3, 0.8), (10.0, 0.1)]:
        time = np.arange(121.0)
        sample = body(120, jerk, rng)[:, 0] + rng.normal(0.0, noise_m, 121)
        spline = fit_spline(one_stretch(120.0), time, sample[:, None])

        def deviance(decades: float, factor: float, sample=sample, time=time, spline=spline) -> float:
            noise, root = factor * spline.noise_sd, np.sqrt(spline.ratio * 10.0**decades)
            return smooth(time, sample, 120, noise, noise / root).deviance

        chosen = deviance(0.0, 1.0)
        others = [deviance(d, f) for d in (-1.5, -0.5, -0.2, 0.2, 0.5, 1.5) for f in (0.85, 1.0, 1.18)]
        assert chosen < min(others) + 1.0
        assert max(others) > chosen + 4.0  # the likelihood does tell them apart


def test_twenty_samples_a_second_give_the_curve_of_their_means():
    rng = np.random.default_rng(20)
    time = np.arange(0.0, 120.0, 0.05) + 0.025
    sample = np.column_stack([900.0 * np.sin(time / 25.0), 900.0 * np.cos(time / 25.0)]) + rng.normal(0.0, 4.0, (len(time), 2))
    knots = Knots.over([(time[0], time[-1])])
    fast = fit_spline(knots, time, sample)
    middle = time.reshape(-1, 20).mean(axis=1)
    slow = fit_spline(Knots.over([(middle[0], middle[-1])]), middle, sample.reshape(-1, 20, 2).mean(axis=1))
    inside = np.arange(5.0, 115.0)
    for order, share in [(0, 0.5), (1, 0.5), (2, 0.5)]:
        difference = np.abs(fast.at(inside, order) - slow.at(inside, order))
        assert difference.max() < share * slow.sd(inside, order).min()
    assert fast.noise_sd == pytest.approx(4.0, rel=0.05)
    assert slow.noise_sd == pytest.approx(4.0 / np.sqrt(20.0), rel=0.3)


def two_stretches(rng: np.random.Generator) -> tuple[Knots, np.ndarray, np.ndarray]:
    time = np.concatenate([np.arange(80.0), np.arange(200.0, 290.0)])
    value = np.column_stack([40.0 * time, 500.0 * np.sin(time / 20.0)]) + rng.normal(0.0, 2.0, (len(time), 2))
    return Knots.over([(0.0, 79.0), (200.0, 289.0)]), time, value


def test_nothing_is_carried_across_a_gap():
    knots, time, value = two_stretches(np.random.default_rng(4))
    before = fit_spline(knots, time, value)
    # moved far away and set in motion: a parabola more, which no penalty sees, so the smoothing stays what it was
    moved = value + np.where(time > 100.0, 3e4 - 70.0 * time + 0.2 * time**2, 0.0)[:, None]
    after = fit_spline(knots, time, moved)
    inside = np.linspace(0.0, 79.0, 200)
    for order in range(3):
        assert after.at(inside, order) == pytest.approx(before.at(inside, order), abs=0.001)  # of 30 km, 70 m/s and 0.4 m/s²
        assert after.sd(inside, order) == pytest.approx(before.sd(inside, order), rel=0.001)
    assert set(knots.grid()) == {float(t) for t in time}


def test_the_error_grows_where_samples_are_missing_and_at_the_ends():
    rng = np.random.default_rng(5)
    time = np.array([t for t in range(121) if not 50 < t < 70], dtype=float)
    value = body(120, 0.3, rng)[time.astype(int), :1] + rng.normal(0.0, 2.0, (len(time), 1))
    spline: SmoothingSpline = fit_spline(one_stretch(120.0), time, value)
    middle, hole, end = (float(spline.sd(np.array([t]))[0]) for t in (25.0, 60.0, 120.0))
    assert hole > 4.0 * middle
    assert end > 1.5 * middle


def test_inputs_are_left_alone_and_answers_repeat():
    knots, time, value = two_stretches(np.random.default_rng(6))
    kept = time.copy(), value.copy()
    first, second = fit_spline(knots, time, value), fit_spline(knots, time, value)
    first.at(time, 2), first.sd(time, 2)
    assert (time == kept[0]).all()
    assert (value == kept[1]).all()
    assert (first.coefficient == second.coefficient).all()


def test_samples_that_fix_no_curve_are_an_error():
    time = np.zeros(8)
    with pytest.raises(LogError, match="degenerate"):
        fit_spline(Knots.over([(0.0, 30.0)]), time, np.zeros((8, 2)))
