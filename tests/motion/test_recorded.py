"""Recorded columns: used where they agree with the positions, refused with a word on why where they do not."""

import datetime as dt
import math
from dataclasses import replace

import numpy as np
import pytest
from patterns import Pattern, fly_approach
from synthetic import KT, START_S, Chart, Flown, Log, Place, Straight, fly

from analyzer.motion.model import Motion
from analyzer.motion.smooth import analyse_motion
from analyzer.procedure.charted import resolve

NORTH = Place(outbound_true_deg=0.0, variation_deg=0.0)
NOISY = Log(noise_m=2.0)
APPROACH = fly_approach(Pattern(wind=(220.0, 20.0), roll_deg_s=5.0, intercept=True))


def motion_of(flown: Flown, **recorded: np.ndarray) -> Motion:
    track = replace(NOISY.of(flown, NORTH), recorded=recorded)
    return analyse_motion(track, resolve(Chart().at(NORTH), dt.date(2026, 6, 1)))


def column(flown: Flown, values: np.ndarray, factor: float) -> np.ndarray:
    return flown.at(NOISY.of(flown, NORTH).time_s - START_S, values) * factor


BANK = column(APPROACH.flown, APPROACH.flown.bank_deg, math.pi / 180.0)
HEADING = column(APPROACH.flown, APPROACH.flown.heading_deg, math.pi / 180.0)


def said(motion: Motion) -> str:
    return " ".join(note.text for note in motion.notes)


def test_a_recorded_bank_that_agrees_is_used():
    motion = motion_of(APPROACH.flown, bank_rad=BANK)
    assert motion.bank_recorded(motion.states).all()
    assert motion.states.bank_rad == pytest.approx(BANK[: len(motion.states)], abs=1e-9)
    assert "recorded bank agrees" in said(motion)


@pytest.mark.parametrize("wrong", [-BANK, BANK / 2.0, BANK + 0.1, np.zeros_like(BANK)])
def test_a_bank_of_another_sign_scale_or_zero_is_refused(wrong):
    motion = motion_of(APPROACH.flown, bank_rad=wrong)
    assert not motion.bank_recorded(motion.states).any()
    assert "recorded bank not used" in said(motion)
    without = motion_of(APPROACH.flown)
    assert (motion.states.bank_rad == without.states.bank_rad).all()


@pytest.mark.parametrize("off_deg", [-20.0, 15.0])
def test_a_magnetic_heading_taken_for_a_true_one_is_refused(off_deg):
    motion = motion_of(APPROACH.flown, heading_rad=HEADING + math.radians(off_deg))
    assert motion.recorded("heading_rad", motion.states) is None
    assert "recorded heading not used" in said(motion)


def test_heading_and_airspeed_tell_the_wind_without_a_turn():
    # From 280° at 30 kt, heading 010° at 110 kt: nothing in the track alone tells it.
    flown = fly([Straight("on", 400.0)], (0.0, -6.0), 10.0, 110.0, (280.0, 30.0))
    n = len(NOISY.of(flown, NORTH).time_s)
    assert motion_of(flown).wind is None
    heading = np.full(n, math.radians(10.0))
    motion = motion_of(flown, heading_rad=heading, true_airspeed_mps=np.full(n, 110.0 * KT))
    wind = motion.wind_between(START_S, START_S + 400.0)
    assert wind is not None
    assert wind.speed_mps / KT == pytest.approx(30.0, abs=2.0)
    assert math.degrees(wind.from_true_rad) == pytest.approx(280.0, abs=5.0)
    assert "recorded" in wind.source
    assert motion_of(flown, heading_rad=heading).wind is None


def test_a_column_with_holes_is_used_where_it_is():
    gaps = BANK.copy()
    gaps[200:230] = np.nan
    motion = motion_of(APPROACH.flown, bank_rad=gaps)
    recorded = motion.bank_recorded(motion.states)
    assert recorded[:200].all()
    assert not recorded[201:229].any()
    assert recorded[230:].all()
    assert np.isfinite(motion.states.bank_rad).all()
    assert motion.states.bank_rad[100:190] == pytest.approx(BANK[100:190], abs=1e-9)


def test_heading_and_airspeed_tell_the_wind_of_a_flight_without_turns():
    # 110 kt on 010°, 30 kt from 250°: the ground speed is 18 kt more than the airspeed, and that is the wind.
    flown = fly([Straight("on", 400.0)], (0.0, -6.0), 10.0, 110.0, (250.0, 30.0))
    n = len(NOISY.of(flown, NORTH).time_s)
    motion = motion_of(flown, heading_rad=np.full(n, math.radians(10.0)), true_airspeed_mps=np.full(n, 110.0 * KT))
    wind = motion.wind_between(START_S, START_S + 400.0)
    assert wind is not None
    assert wind.speed_mps == pytest.approx(30.0 * KT, abs=3.0 * wind.sd_mps)
    assert math.degrees(wind.from_true_rad) == pytest.approx(250.0, abs=5.0)
