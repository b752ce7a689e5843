"""Altitudes written again between measurements are left empty; rounded ones, level flight and irregular logs stay whole."""

from dataclasses import replace

import numpy as np
import pytest
from flights import Flight, Floats, Reader, csv_text, flown, samples_of

from analyzer.physics.units import FT
from analyzer.track.held_altitudes import drop_held_altitudes

LEVELS_FT = ([0.0, 120.0, 180.0, 320.0, 500.0, 640.0], [4000.0, 4000.0, 3200.0, 3200.0, 2000.0, 2000.0])


def descending(step_s: float = 1.0, wander_ft: float = 4.0) -> Flight:
    """Two descents between level stretches, as a barometer with a little wander gives them."""
    flight = flown(round(640 / step_s), step_s=step_s)
    elapsed = flight.time_s - flight.time_s[0]
    wander = wander_ft * np.sin(elapsed / 7.0)
    return replace(flight, altitude_ft=np.interp(elapsed, *LEVELS_FT) + wander)


def held(flight: Flight, rows: int) -> Flight:
    return replace(flight, altitude_ft=flight.altitude_ft[np.arange(len(flight)) // rows * rows])


def left(flight: Flight) -> Floats:
    return np.flatnonzero(np.isfinite(drop_held_altitudes(samples_of(flight))[0].altitude_m))


@pytest.mark.parametrize("rows", [2, 4, 8, 20])
@pytest.mark.parametrize("step_s", [0.5, 1.0, 2.0])
def test_only_new_altitudes_are_left(rows, step_s):
    flight = held(descending(step_s), rows)
    assert left(flight).tolist() == list(range(0, len(flight), rows))


@pytest.mark.parametrize("unit_ft", [10.0, 25.0])
@pytest.mark.parametrize("rows", [3, 5])
@pytest.mark.parametrize("noise_ft", [8.0, 20.0])
def test_rounded_ones_that_scatter_are_new_by_one_clock(unit_ft, rows, noise_ft):
    """In 25 ft hardly any change is of more than one unit, and steps of 75 ft had looked like jumps."""
    flight = descending(wander_ft=0.0)
    scatter = np.random.default_rng(5).normal(0.0, noise_ft, len(flight))
    flight = held(replace(flight, altitude_ft=flight.altitude_ft + scatter), rows)
    coarse = replace(flight, altitude_ft=np.round(flight.altitude_ft / unit_ft) * unit_ft)
    kept = left(coarse)
    assert kept.tolist() == list(range(0, len(flight), rows))
    assert coarse.altitude_ft[kept] == pytest.approx(flight.altitude_ft[kept], abs=unit_ft / 2.0)


def test_rounded_ones_that_now_and_then_change_by_two_units_are_new_by_one_clock():
    """At 330 ft/min an altitude that is new every 5 s changes by 25 ft nine times of ten, and by 50 ft the tenth."""
    flight = flown(640)
    steady = held(replace(flight, altitude_ft=9000.0 - 5.5 * np.arange(640.0)), 5)
    coarse = replace(steady, altitude_ft=np.round(steady.altitude_ft / 25.0) * 25.0)
    assert left(coarse).tolist() == list(range(0, len(flight), 5))


@pytest.mark.parametrize("rate_fpm", [300.0, 600.0, 1200.0])
def test_a_steady_descent_that_is_rounded_stays_whole(rate_fpm):
    """Of an exact rate it changes by a digit every so many records."""
    flight = flown(640)
    steady = replace(flight, altitude_ft=9000.0 - rate_fpm / 60.0 * np.arange(640.0))
    coarse = replace(steady, altitude_ft=np.round(steady.altitude_ft / 25.0) * 25.0)
    assert len(left(coarse)) == len(flight)


def test_they_are_those_measured():
    """At the records that are left the held log has the altitude of the flight."""
    flight = descending()
    samples, _ = drop_held_altitudes(samples_of(held(flight, 8)))
    kept = np.isfinite(samples.altitude_m)
    assert samples.altitude_m[kept] / FT == pytest.approx(flight.altitude_ft[kept])


def test_the_note_says_how_often(read: Reader) -> None:
    notes = [note.text for note in read(csv_text(held(descending(), 8))).notes]
    assert "the altitude is new every 8 s only, and written again between: 560 altitudes left empty" in notes


@pytest.mark.parametrize("unit_ft", [1.0, 10.0, 25.0, 100.0, 1.0 / FT])
@pytest.mark.parametrize("wander_ft", [0.0, 4.0, 30.0])
def test_a_rounded_altitude_stays_whole(unit_ft, wander_ft):
    flight = descending(wander_ft=wander_ft)
    coarse = replace(flight, altitude_ft=np.round(flight.altitude_ft / unit_ft) * unit_ft)
    assert len(left(coarse)) == len(flight)


@pytest.mark.parametrize("step_s", [1.0, 5.0])
def test_altitudes_that_change_with_every_record_stay_whole(step_s):
    assert len(left(descending(step_s))) == len(descending(step_s))


def test_altitudes_held_for_times_of_no_order_are_left_alone():
    flight = descending()
    starts = np.cumsum(np.random.default_rng(3).integers(2, 12, 200))
    rows = np.concatenate([[0], starts[starts < len(flight)]])
    held_to = rows[np.searchsorted(rows, np.arange(len(flight)), side="right") - 1]
    assert len(left(replace(flight, altitude_ft=flight.altitude_ft[held_to]))) == len(flight)
