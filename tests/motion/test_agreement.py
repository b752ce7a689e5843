"""How a recorded column goes with what the positions say, on functions of time whose slope, offset and lag are chosen."""

import math

import numpy as np
import pytest

from analyzer.motion.agreement import Derived, of_directions, of_rates, of_speeds, summed, turning

TIME_S = np.arange(0.0, 601.0)
EDGE = 0.0  # nothing begins or ends between samples of functions that are known at any instant


def speed(time_s: np.ndarray) -> np.ndarray:
    """Some metres a second, over two minutes and over a third of that. [m/s]"""
    return 60.0 + 8.0 * np.sin(math.tau * time_s / 120.0) + 4.0 * np.sin(math.tau * time_s / 41.0)


def heading(time_s: np.ndarray) -> np.ndarray:
    """Turns of 120° one way and the other, all within some 40 s. [rad]"""
    return math.radians(60.0) * np.sin(math.tau * time_s / 80.0) + math.radians(170.0)


def rate(time_s: np.ndarray) -> np.ndarray:
    """What `heading` changes by in a second, in closed form. [rad/s]"""
    return math.radians(60.0) * math.tau / 80.0 * np.cos(math.tau * time_s / 80.0)


@pytest.mark.parametrize("factor", [0.9, 1.0, 1.07])
@pytest.mark.parametrize("late_s", [-6.4, 0.0, 3.4, 7.0])
def test_speeds(factor, late_s):
    found = of_speeds(TIME_S, factor * speed(TIME_S - late_s), Derived(TIME_S, speed(TIME_S)))
    assert found.lag_s == pytest.approx(late_s, abs=0.2)
    assert found.slope == pytest.approx(factor, abs=0.02)  # of medians, some seconds apart
    if late_s == 0.0:
        assert found.slope == pytest.approx(factor, abs=1e-9)
        off = np.abs(factor - 1.0) * speed(TIME_S)
        assert found.offset == pytest.approx((factor - 1.0) * 60.0, abs=0.3)
        assert found.scatter == pytest.approx(float(np.median(off)), abs=1e-9)


@pytest.mark.parametrize("late_s", [-5.3, 0.0, 4.6])
@pytest.mark.parametrize("off_deg", [-12.0, 0.0, 25.0, 355.0])
def test_directions(late_s, off_deg):
    found = of_directions(TIME_S, heading(TIME_S - late_s) + math.radians(off_deg), Derived(TIME_S, heading(TIME_S)))
    assert found.lag_s == pytest.approx(late_s, abs=0.2)
    assert found.slope == pytest.approx(1.0, abs=0.02)
    if late_s == 0.0:
        assert math.degrees(found.offset) == pytest.approx(-5.0 if off_deg == 355.0 else off_deg, abs=1e-6)
        assert math.degrees(found.scatter) == pytest.approx(5.0 if off_deg == 355.0 else abs(off_deg), abs=1e-6)


@pytest.mark.parametrize("factor", [-1.0, 0.5, 0.93, 1.0, 1.2])
@pytest.mark.parametrize("off_deg_s", [0.0, 0.2])
def test_rates(factor, off_deg_s):
    found = of_rates(
        Derived(TIME_S, heading(TIME_S)), lambda time_s: factor * rate(time_s) + math.radians(off_deg_s), 1.0, EDGE
    )
    assert found.slope == pytest.approx(factor, abs=0.01)
    assert math.degrees(found.offset) == pytest.approx(off_deg_s, abs=0.01)
    assert found.slope_sd < 0.01
    assert found.lag_s == 0.0


@pytest.mark.parametrize("late_s", [-6.6, -2.0, 3.4, 5.0])
def test_rates_that_come_late_are_compared_where_they_belong(late_s):
    found = of_rates(Derived(TIME_S, heading(TIME_S)), lambda time_s: rate(time_s - late_s), 1.0, EDGE)
    assert found.lag_s == pytest.approx(late_s, abs=0.2)
    assert found.slope == pytest.approx(1.0, abs=0.02)


def test_the_error_that_is_stated_of_a_slope_is_the_one_that_it_has():
    """Noise on what the positions say, another each time: slopes scatter by what is stated."""
    rng, slopes, stated = np.random.default_rng(5), [], []
    for _ in range(200):
        seen = Derived(TIME_S, heading(TIME_S) + rng.normal(0.0, math.radians(8.0), len(TIME_S)))
        found = of_rates(seen, rate, 1.0, EDGE)
        slopes.append(found.slope)
        stated.append(found.slope_sd)
    assert float(np.std(slopes)) == pytest.approx(float(np.sqrt(np.mean(np.square(stated)))), rel=0.25)


def test_the_error_of_a_slope_from_few_turns_counts_how_few_they_are():
    """Six windows for a slope and a drift leave four degrees of freedom: an error of six would be a fifth too small."""
    time_s, rng, slopes, stated = np.arange(0.0, 141.0), np.random.default_rng(6), [], []
    for _ in range(600):
        seen = Derived(time_s, heading(time_s) + rng.normal(0.0, math.radians(5.0), len(time_s)))
        found = of_rates(seen, rate, 1.0, EDGE)
        slopes.append(found.slope)
        stated.append(found.slope_sd)
    assert float(np.std(slopes)) == pytest.approx(float(np.sqrt(np.mean(np.square(stated)))), rel=0.15)


def test_what_a_direction_is_off_by_throughout_is_not_what_it_is_off_by_at_times():
    """30° in a third of the time, else nothing: the median is zero, the mean 10°."""
    at_times = np.where(TIME_S % 90.0 < 30.0, math.radians(30.0), 0.0)
    found = of_directions(TIME_S, heading(TIME_S) + at_times, Derived(TIME_S, heading(TIME_S)))
    assert math.degrees(found.offset) == pytest.approx(0.0, abs=1e-6)


def test_a_lag_at_the_end_of_what_is_tried_is_none():
    for late_s in (-12.0, 12.0):
        assert of_directions(TIME_S, heading(TIME_S - late_s), Derived(TIME_S, heading(TIME_S))).lag_s == 0.0


def test_what_is_drawn_out_between_samples_adds_to_the_error_of_a_slope():
    """A rate of turn that is off by 0.6° a second over the step of the log, against what was turned in all."""
    seen = Derived(TIME_S, heading(TIME_S))
    error = [of_rates(seen, rate, 7.0, math.radians(edge)).slope_sd for edge in (0.0, 0.6, 1.2)]
    turned = math.sqrt(float(np.sum((np.diff(heading(np.arange(0.0, 600.0, 28.0)))) ** 2)))  # windows of four steps
    assert error[1] ** 2 - error[0] ** 2 == pytest.approx((math.radians(4.2) / turned) ** 2, rel=0.05)
    assert error[2] ** 2 - error[0] ** 2 == pytest.approx((math.radians(8.4) / turned) ** 2, rel=0.05)


def test_nothing_to_compare():
    nothing = np.full_like(TIME_S, np.nan)
    for found in (
        of_speeds(TIME_S, nothing, Derived(TIME_S, speed(TIME_S))),
        of_directions(TIME_S, nothing, Derived(TIME_S, heading(TIME_S))),
        of_rates(Derived(TIME_S, heading(TIME_S)), lambda time_s: np.full(len(time_s), np.nan), 1.0, EDGE),
    ):
        assert math.isnan(found.slope)
        assert found.lag_s == 0.0


def test_a_flight_that_does_not_turn_tells_no_slope():
    still = Derived(TIME_S, np.zeros_like(TIME_S))
    assert of_rates(still, lambda time_s: np.zeros(len(time_s)), 1.0, 0.01).slope_sd == math.inf
    assert of_directions(TIME_S, np.zeros_like(TIME_S), still).slope_sd == math.inf
    short = np.arange(0.0, 45.0)  # two windows of 20 s
    assert of_rates(Derived(short, heading(short)), rate, 1.0, EDGE).slope_sd == math.inf


def test_noise_is_no_lag():
    rng = np.random.default_rng(3)
    recorded = 60.0 + rng.normal(0.0, 2.0, len(TIME_S))
    assert of_speeds(TIME_S, recorded, Derived(TIME_S, 60.0 + rng.normal(0.0, 2.0, len(TIME_S)))).lag_s == 0.0


def test_between_seconds_and_in_gaps():
    derived = Derived(np.array([0.0, 1.0, 2.0, 10.0, 11.0]), np.array([0.0, 2.0, 4.0, 20.0, 22.0]))
    found = derived.at(np.array([-0.5, 0.5, 2.0, 6.0, 10.0, 10.25, 11.5]))
    assert found.tolist() == pytest.approx([math.nan, 1.0, 4.0, math.nan, 20.0, 20.5, math.nan], nan_ok=True)


def test_a_rate_is_summed_to_its_integral():
    """∫ (3 − t/2) dt = 3t − t²/4, which straight lines between seconds sum exactly; not across a hole."""
    time_s = np.array([0.0, 1.0, 2.0, 3.0, 4.0, 5.0, 9.0, 10.0])
    windows = np.array([[0, 1, 4, 6], [4, 5, 6, 7]])
    found = summed(time_s, 3.0 - time_s / 2.0, windows)
    of = 3.0 * time_s - time_s**2 / 4.0
    assert found.tolist() == pytest.approx([of[4] - of[0], of[5] - of[1], math.nan, of[7] - of[6]], nan_ok=True)


@pytest.mark.parametrize(
    ("knots", "bank_deg", "degrees_a_second"), [(120.0, 18.24, 3.0), (150.0, 45.0, 7.28), (100.0, -60.0, -18.9)]
)
def test_a_coordinated_turn(knots, bank_deg, degrees_a_second):
    """1,091 tan(bank) / knots, whose constant is rounded: FAA-H-8083-25C chapter 5, figures 5-56 to 5-58."""
    found = turning(np.array([math.radians(bank_deg)]), np.array([knots * 1852.0 / 3600.0]))
    assert math.degrees(float(found[0])) == pytest.approx(degrees_a_second, rel=0.003)
    assert degrees_a_second == pytest.approx(1091.0 * math.tan(math.radians(bank_deg)) / knots, rel=0.003)
