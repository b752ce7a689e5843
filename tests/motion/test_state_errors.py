"""The standard deviations that are stated of speeds, directions and rates, against the errors of flights whose truth is known.

They have to cover the errors without being idle: the root mean square of error over standard deviation lies between a third
and 1.2. The wander of a receiver and sideslip, which these flights have none of, are in the standard deviations too, so that it
is below one.
"""

import datetime as dt
import math
from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from synthetic import FT, HERE, KT, NM, START_S, Chart, Floats, Flown, Log, Straight, Turn, fly

from analyzer.motion.motion import Motion
from analyzer.motion.smooth import analyse_motion
from analyzer.physics.units import wrap
from analyzer.procedure.charted import resolve

CHARTED = resolve(Chart().at(), dt.date(2026, 6, 1))
SPEED_KT, WIND = 120.0, (40.0, 20.0)
CLIMB_S, LEVEL_S, CLIMB_FPM = 60.0, 160.0, 600.0
QUANTITIES = (
    "ground_speed_mps", "track_rad", "heading_rad", "true_airspeed_mps", "turn_rate_rad_s", "bank_rad", "vertical_speed_mps",
)  # fmt: skip


@cache
def flown() -> Flown:
    path = [Straight("in", 60.0)]
    for number, degrees in enumerate((90.0, -120.0, 180.0, -90.0, 200.0)):
        path += [Turn(f"turn {number}", degrees, 20.0), Straight(f"straight {number}", 40.0)]
    return fly(path, (1.0, 1.5), 10.0, SPEED_KT, WIND, roll_deg_s=5.0)


def motion_of(noise_m: float, noise_ft: float, seed: int) -> Motion:
    climb = [(0.0, 3000.0), (CLIMB_S, 3000.0), (LEVEL_S, 3000.0 + CLIMB_FPM * (LEVEL_S - CLIMB_S) / 60.0)]
    track = Log(noise_m=noise_m, seed=seed, altitude_ft=climb).of(flown())
    scatter = np.random.default_rng([seed, 3]).normal(0.0, noise_ft * FT, len(track.time_s))
    return analyse_motion(replace(track, altitude_m=track.altitude_m + scatter), CHARTED)


def truth(second: Floats) -> dict[str, Floats]:
    """What is true of the flight at some seconds, by its construction."""
    way, turned = flown(), math.radians(HERE.outbound_true_deg)
    east, north = (way.at(second, np.gradient(along_nm * NM, way.time_s)) for along_nm in (way.x_nm, way.y_nm))
    climbs = (second > CLIMB_S) & (second < LEVEL_S)
    return {
        "ground_speed_mps": np.hypot(east, north),
        "track_rad": np.arctan2(east, north) + turned,
        "heading_rad": np.radians(way.at(second, way.heading_deg)) + turned,
        "true_airspeed_mps": np.full(len(second), SPEED_KT * KT),
        "turn_rate_rad_s": way.at(second, np.gradient(np.radians(way.heading_deg), way.time_s)),
        "bank_rad": np.radians(way.at(second, way.bank_deg)),
        "vertical_speed_mps": np.where(climbs, CLIMB_FPM / 60.0 * FT, 0.0),
    }


@cache
def scores(noise_m: float, noise_ft: float) -> dict[str, Floats]:
    """Errors over their standard deviations, of seconds in which the aircraft neither rolls nor begins or ends its climb."""
    found: dict[str, list[Floats]] = {name: [] for name in QUANTITIES}
    for seed in range(3):
        motion = motion_of(noise_m, noise_ft, seed)
        states, errors = motion.states, motion.errors(motion.states)
        second = states.time_s - START_S
        steady = np.abs(np.gradient(flown().at(second, flown().bank_deg))) < 0.01
        steady &= (np.abs(second - CLIMB_S) > 10.0) & (np.abs(second - LEVEL_S) > 10.0)
        steady[:8] = steady[-8:] = False
        for name, true in truth(second).items():
            off = getattr(states, name) - true
            off = wrap(off) if name in ("track_rad", "heading_rad") else off
            found[name].append((off / getattr(errors, name))[steady])
    return {name: np.concatenate(values) for name, values in found.items()}


@pytest.mark.parametrize("name", QUANTITIES)
@pytest.mark.parametrize(("noise_m", "noise_ft"), [(2.0, 10.0), (8.0, 30.0)])
def test_the_errors_are_as_large_as_is_stated(name, noise_m, noise_ft):
    assert 1.0 / 3.0 < np.sqrt(np.mean(np.square(scores(noise_m, noise_ft)[name]))) < 1.2


def test_what_is_not_known_has_no_error():
    straight = fly([Straight("in", 200.0)], (0.0, -3.0))
    motion = analyse_motion(Log(noise_m=2.0, altitude_ft=None).of(straight), CHARTED)
    errors = motion.errors(motion.states)
    for name in ("altitude_m", "vertical_speed_mps", "heading_rad", "true_airspeed_mps"):
        assert np.isnan(getattr(errors, name)).all(), name
    for name in ("distance_m", "ground_speed_mps", "track_rad"):
        assert np.isfinite(getattr(errors, name)).all(), name


def test_where_altitude_is_missing_for_minutes_neither_it_nor_its_rate_has_an_error():
    track = Log(noise_m=2.0).of(flown())
    second = track.time_s - START_S
    missing = (second > 100.0) & (second < 300.0)
    motion = analyse_motion(replace(track, altitude_m=np.where(missing, np.nan, track.altitude_m)), CHARTED)
    states, errors = motion.states, motion.errors(motion.states)
    gone = np.isnan(states.altitude_m)
    assert gone.any()
    assert not gone.all()
    for name in ("altitude_m", "vertical_speed_mps"):
        assert (np.isnan(getattr(errors, name)) == gone).all(), name


def test_a_track_is_known_to_no_more_than_a_half_circle():
    parked = fly([Straight("parked", 120.0)], (0.0, -3.0), 0.0, 0.01)
    motion = analyse_motion(Log(noise_m=5.0).of(parked), CHARTED)
    assert (motion.errors(motion.states).track_rad <= math.pi).all()


@pytest.mark.parametrize("noise_m", [1.0, 3.0])
def test_a_recorded_bank_is_known_as_well_in_a_roll_as_in_a_steady_turn(noise_m):
    """It owes nothing to the positions; to half a degree, which is an assumption of the program."""
    track = Log(noise_m=noise_m).of(flown())
    bank_rad = np.radians(flown().at(track.time_s - START_S, flown().bank_deg))
    motion = analyse_motion(replace(track, recorded={"bank_rad": bank_rad}), CHARTED)
    assert motion.bank_recorded(motion.states).all()
    assert np.degrees(motion.errors(motion.states).bank_rad) == pytest.approx(np.full(len(motion.states), 0.5))
