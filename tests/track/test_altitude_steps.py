"""Altitudes between a step and the same step back are left empty, steps that stay are found; flights and scatter have none."""

from dataclasses import replace

import numpy as np
import pytest
from flights import Flight, Floats, Reader, csv_text, flown, samples_of

from analyzer.physics.units import FT, GRAVITY
from analyzer.track.altitude_steps import altitude_steps, drop_altitudes_aside

LEVELS_FT = ([0.0, 120.0, 180.0, 320.0, 500.0, 640.0], [4000.0, 4000.0, 3200.0, 3200.0, 2000.0, 2000.0])


def descending(noise_ft: float = 1.0, step_s: float = 1.0) -> Flight:
    flight = flown(round(640 / step_s), step_s=step_s)
    noise = np.random.default_rng(3).normal(0.0, noise_ft, len(flight))
    return replace(flight, altitude_ft=np.interp(flight.time_s - flight.time_s[0], *LEVELS_FT) + noise)


def stepped(flight: Flight, first: int, end: int, feet: float) -> Flight:
    altitude = flight.altitude_ft.copy()
    altitude[first:end] += feet
    return replace(flight, altitude_ft=altitude)


def empty(flight: Flight) -> list[int]:
    return np.flatnonzero(~np.isfinite(drop_altitudes_aside(samples_of(flight))[0].altitude_m)).tolist()


def steps_of(flight: Flight) -> Floats:
    steps = altitude_steps(flight.time_s, flight.altitude_ft * FT)
    return steps[steps != 0.0] / FT


@pytest.mark.parametrize("feet", [-200.0, -60.0, 60.0, 120.0])
@pytest.mark.parametrize("lasts", [5, 20, 29])
@pytest.mark.parametrize("first", [60, 130, 172, 250, 400])
def test_a_stretch_aside_is_left_empty_and_nothing_else(feet, lasts, first):
    """In level flight, in a descent of 800 ft/min, and where one ends."""
    assert empty(stepped(descending(), first, first + lasts, feet)) == list(range(first, first + lasts))


def test_the_note_says_how_many(read: Reader) -> None:
    notes = [note.text for note in read(csv_text(stepped(descending(), 60, 80, -90.0))).notes]
    assert "20 altitudes between a step that no aircraft makes and the same back: left empty" in notes


@pytest.mark.parametrize("feet", [-90.0, 60.0])
@pytest.mark.parametrize("end", [300, 100_000])
def test_a_step_that_stays_is_left_and_found(feet, end):
    flight = stepped(descending(), 200, end, feet)
    assert empty(flight) == []
    assert steps_of(flight)[0] == pytest.approx(feet, abs=5.0)


@pytest.mark.parametrize("unit_ft", [1.0, 10.0, 25.0, 100.0, 1.0 / FT, 10.0 / FT])
@pytest.mark.parametrize("step_s", [1.0, 2.0, 5.0])
def test_a_rounded_altitude_has_no_step(unit_ft, step_s):
    flight = descending(step_s=step_s)
    assert not len(steps_of(replace(flight, altitude_ft=np.round(flight.altitude_ft / unit_ft) * unit_ft)))


@pytest.mark.parametrize("way", [-1.0, 1.0])
def test_two_digits_at_once_are_no_step(way):
    """Altitudes to 100 ft that are new every 5 s and written every second, in a descent or climb at 1,300 ft/min."""
    second = np.arange(400)
    coarse_ft = np.round((6000.0 + way * 1300.0 / 60.0 * (second // 5 * 5)) / 100.0) * 100.0
    assert {0.0, 100.0, 200.0} == set(np.abs(np.diff(coarse_ft)))
    assert not altitude_steps(second.astype(float), coarse_ft * FT).any()


@pytest.mark.parametrize("noise_ft", [0.0, 5.0, 20.0, 60.0])
def test_scatter_has_no_step(noise_ft):
    assert not len(steps_of(descending(noise_ft)))


@pytest.mark.parametrize("step_s", [0.5, 1.0, 2.0, 4.0])
@pytest.mark.parametrize("load", [0.5, 1.0])
def test_pulling_out_of_a_steep_descent_is_no_step(step_s, load):
    """From 3,000 ft/min down to as much up, at a load of half a g and one beyond that of level flight."""
    fine = np.arange(0.0, 200.0, 0.01)
    down = 3000.0 * FT / 60.0
    rate = np.clip(-down + load * GRAVITY * np.clip(fine - 100.0, 0.0, None), -down, down)
    height = 3000.0 + np.cumsum(rate) * 0.01
    for late in np.arange(0.0, step_s, step_s / 5.0):
        time = np.arange(late, 199.0, step_s)
        assert not altitude_steps(time, np.interp(time, fine, height)).any()
