"""Wind and airspeed where a pilot holds the indicated airspeed, in a descent or in gusts, and where one does not."""

import math

import numpy as np
import pytest

from analyzer.motion.airspeed import held_airspeed
from analyzer.motion.wind import Fit
from analyzer.motion.wind_fit import estimate_wind
from analyzer.motion.wind_prior import ACCELERATION
from analyzer.physics.units import FT, KT


def test_the_true_airspeed_of_a_held_indication():
    # Tables of the standard atmosphere: 1/√σ is 1.0000 at sea level, 1.0773 at 5,000 ft and 1.1637 at 10,000 ft. At 100 kt
    # compressibility takes a thousandth off.
    heights = np.array([0.0, 5000.0, 10_000.0]) * FT
    assert held_airspeed(107.73 * KT, heights) / KT == pytest.approx([100.0, 107.73, 116.37], rel=1.5e-3)


def test_without_heights_the_airspeed_is_the_same_throughout():
    assert (held_airspeed(60.0, np.full(4, np.nan)) == 60.0).all()
    gap = held_airspeed(60.0, np.array([900.0, np.nan, 900.0]))
    assert gap == pytest.approx(np.full(3, 60.0))


def test_high_up_the_mach_number_is_held():
    # Above the tropopause the temperature does not change, so that the airspeed of one Mach number is one airspeed.
    held = held_airspeed(230.0, np.array([11_500.0, 12_500.0, 13_500.0]))
    assert held == pytest.approx(np.full(3, 230.0))


@pytest.mark.parametrize("speed_mps", [0.0, 0.5, 400.0, 3000.0])
@pytest.mark.parametrize("height_m", [-5000.0, 0.0, 9000.0, 90_000.0])
def test_absurd_speeds_and_heights_give_a_number(speed_mps, height_m):
    assert np.isfinite(held_airspeed(speed_mps, np.array([0.0, height_m, height_m]))).all()


def wandering(rng: np.random.Generator, count: int, sd_mps: float) -> np.ndarray:
    """What the airspeed departs by at nodes 5 s apart, for some 40 s."""
    kept, value = math.exp(-5.0 / 40.0), [rng.normal(0.0, sd_mps)]
    for _ in range(count - 1):
        value.append(kept * value[-1] + rng.normal(0.0, sd_mps * math.sqrt(1.0 - kept**2)))
    return np.array(value)


def test_a_descent_at_one_indicated_airspeed_is_no_wind():
    """Out at 8,000 ft, round, and back down to 4,000 ft in still air: 6 % of the airspeed goes, all of it on one heading."""
    rng = np.random.default_rng(8)
    headings = np.radians(np.concatenate([np.zeros(24), np.arange(0.0, 181.0, 15.0), np.full(60, 180.0)]))
    time_s = 5.0 * np.arange(float(len(headings)))
    height = np.interp(time_s, [0.0, 185.0, 485.0], np.array([8000.0, 8000.0, 4000.0]) * FT)
    held = 110.0 * KT / np.sqrt((1.0 - 2.25577e-5 * height) ** 4.2559)  # of the standard atmosphere
    too_fast_kt = []
    for _ in range(30):
        airspeed = held + wandering(rng, len(time_s), 0.7)
        velocity = airspeed[:, None] * np.column_stack([np.cos(headings), np.sin(headings)])
        estimate = estimate_wind(time_s, velocity + rng.normal(0.0, 0.1, velocity.shape), height)
        assert estimate is not None
        too_fast_kt.append(float(np.mean((estimate.true_airspeed_mps - airspeed)[-12:])) / KT)
    assert abs(np.mean(too_fast_kt)) < 3.0 * np.std(too_fast_kt) / math.sqrt(len(too_fast_kt))


def _accelerates(fit: Fit) -> bool:
    """Whether a fit is the one whose accelerations are found: the other has none to speak of."""
    return float(np.abs(fit.unknown[ACCELERATION]).max()) > 0.02


@pytest.mark.parametrize("cruise_s", [0.0, 7200.0])
@pytest.mark.parametrize("lost_kt", [0.0, 30.0])
def test_an_airspeed_that_is_held_is_taken_for_one_and_one_that_is_lost_is_not(lost_kt, cruise_s):
    """What a pilot departs by from minute to minute is no change that goes on through a turn, however well one explains it.

    Nor is it decided by how steadily an autopilot held the airspeed for two hours before.
    """
    rng = np.random.default_rng(5)
    turn = np.arange(0.0, 181.0, 15.0)
    before = int(cruise_s / 5.0)
    flown = [np.zeros(before + 30), turn, np.full(30, 180.0), 180.0 + turn, np.full(30, 360.0)]
    headings = np.radians(np.concatenate(flown))
    time_s, changed = 5.0 * np.arange(float(len(headings))) - cruise_s, []
    for _ in range(40):
        meant = (110.0 - np.interp(time_s, [150.0, 215.0], [0.0, lost_kt])) * KT
        airspeed = meant + np.concatenate([np.zeros(before), wandering(rng, len(time_s) - before, 1.0)])
        velocity = airspeed[:, None] * np.column_stack([np.cos(headings), np.sin(headings)]) + rng.normal(0.0, 6.0, 2)
        estimate = estimate_wind(time_s, velocity + rng.normal(0.0, 0.2, velocity.shape), np.full(len(time_s), 900.0))
        assert estimate is not None
        # the fit of a flight whose accelerations are found is the last, where it counts at all
        changed.append(estimate.fits[-1].odds if len(estimate.fits) == 2 else float(_accelerates(estimate.fits[0])))
    assert np.mean(changed) > 0.75 if lost_kt else np.mean(changed) < 0.25
