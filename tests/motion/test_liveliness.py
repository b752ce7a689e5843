"""A turn is known as well after hours of cruise as without them: the livelier minutes of a flight are smoothed less."""

import datetime as dt
import math

import numpy as np
import pytest
from all_day import part_of
from patterns import Pattern, fly_approach
from synthetic import HERE, START_S, Chart, Log

from analyzer.motion.likelihood import Design, NormalEquations
from analyzer.motion.liveliness import liveliness
from analyzer.motion.smooth import analyse_motion
from analyzer.motion.spline import Knots
from analyzer.procedure.charted import resolve

CRUISE_S = 7200.0
CHARTED = resolve(Chart().at(HERE), dt.date(2026, 6, 1))
ROLLS = (4.0, 5.0, 6.0, 8.0)


def behind_cruise(roll: float, step_s: float):
    """A 45/180 behind two hours of straight flight, as flown and as logged."""
    pattern = Pattern(arrival_deg=40.0, arrival_s=CRUISE_S, bank_deg=26.0, speed_kt=100.0, wind=(70.0, 12.0), roll_deg_s=roll)
    flown = fly_approach(pattern).flown
    return flown, Log(noise_m=0.5, seed=int(roll), step_s=step_s).of(flown, HERE)


@pytest.mark.parametrize("step_s", [1.0, 3.0, 5.0])
def test_the_stated_error_of_the_bank_holds_behind_hours_of_cruise(step_s):
    """Of a normal deviate 68 % lie within one standard deviation and 95 % within two."""
    rolling_scores, steady_scores = [], []
    for roll in ROLLS:
        flown, log = behind_cruise(roll, step_s)
        motion = analyse_motion(log, CHARTED)
        states = motion.states
        since = states.time_s - START_S
        true = np.interp(since, flown.time_s, flown.bank_deg)
        rate = np.abs(np.gradient(true, since))
        score = np.abs(np.degrees(states.bank_rad) - true) / np.degrees(motion.errors(states).bank_rad)
        rolling_scores += list(score[rate > 1.5])
        steady_scores += list(score[(rate < 0.1) & (np.abs(true) > 10.0)])
    for scores in (rolling_scores, steady_scores):
        assert np.mean(np.array(scores) < 1.0) > 0.6
        assert np.mean(np.array(scores) < 2.0) > 0.93


@pytest.mark.parametrize("step_s", [1.0, 3.0, 5.0])
def test_the_bank_is_as_in_the_log_of_the_approach_alone(step_s):
    flown, log = behind_cruise(6.0, step_s)
    whole = analyse_motion(log, CHARTED)
    alone = analyse_motion(part_of(log, CRUISE_S - 90.0, math.inf), CHARTED)
    off = {}
    for name, motion in (("whole", whole), ("alone", alone)):
        states = motion.states.between(START_S + CRUISE_S, math.inf)
        true = np.interp(states.time_s - START_S, flown.time_s, flown.bank_deg)
        turning = np.abs(true) > 10.0
        off[name] = float(np.sqrt(np.mean((np.degrees(states.bank_rad) - true)[turning] ** 2)))
    assert off["whole"] < 1.2 * off["alone"]


def test_no_minute_of_a_flight_without_a_turn_is_livelier():
    flown = fly_approach(Pattern(arrival_s=CRUISE_S)).flown
    log = part_of(Log(noise_m=0.5).of(flown, HERE), 0.0, CRUISE_S - 60.0)
    knots = Knots.over([(log.time_s[0], log.time_s[-1])])
    north_east = analyse_motion(log, CHARTED).curves.sample_north_east_m
    equations = NormalEquations.of(Design.of(knots, log.time_s), np.ascontiguousarray((north_east - north_east[0]).T))
    assert (liveliness(equations, 100.0) == 1.0).all()


def test_what_the_coefficients_add_up_to_is_the_likelihood():
    """Samples of two components: minus twice the logarithm of the density of what no polynomial of degree two explains."""
    chance = np.random.default_rng(8)
    time = np.arange(40.0)
    knots = Knots.over([(0.0, 39.0)])
    value = np.cumsum(np.cumsum(chance.normal(0.0, 0.3, (2, 40)), axis=1), axis=1) + chance.normal(0.0, 0.5, (2, 40))
    design = Design.of(knots, time)
    equations = NormalEquations.of(design, value)
    basis = np.array([design.seen(row[None])[0] for row in np.eye(knots.coefficients)]).T
    jerk = np.diff(np.eye(knots.coefficients), 3, axis=0)
    noise_sd = 0.5
    # an orthonormal base of what is left when the polynomials are taken away
    contrasts = np.linalg.svd(np.vander(time, 3))[0][:, 3:].T
    expected = []
    for ratio in (1.0, 10.0):
        # coefficients whose third differences have this variance, and of which the rest is not known beforehand
        spread = basis @ np.linalg.pinv(jerk) @ np.linalg.pinv(jerk).T @ basis.T * noise_sd**2 / ratio
        covariance = contrasts @ (spread + noise_sd**2 * np.eye(40)) @ contrasts.T
        seen = contrasts @ value.T
        expected.append(2.0 * np.linalg.slogdet(covariance)[1] + np.sum(seen * np.linalg.solve(covariance, seen)))
    added = [float(equations.unlikeliness(ratio, noise_sd).sum()) for ratio in (1.0, 10.0)]
    assert added[1] - added[0] == pytest.approx(expected[1] - expected[0], rel=1e-6)


@pytest.mark.parametrize("times", [4.0, 64.0])
def test_livelier_everywhere_is_a_smaller_ratio(times):
    time = np.arange(0.0, 60.0, 2.0)
    design = Design.of(Knots.over([(0.0, 58.0)]), time)
    value = np.sin(time / 7.0)[None] * 300.0
    livelier = NormalEquations.of(design.livelier(np.full(design.knots.coefficients, times)), value).solve(5.0)
    assert livelier == pytest.approx(NormalEquations.of(design, value).solve(5.0 / times), abs=1e-6)
