"""Stale records between those of a flight are dropped; a flight, an aircraft at rest and a coarse lattice are left alone."""

from dataclasses import replace

import numpy as np
import pytest
from flights import METRES_IN_A_DEGREE, Flight, Reader, csv_text, flown, samples_of

from analyzer.track.stale import drop_stale


def with_stale(flight: Flight, places: list[int], late_s: float) -> tuple[Flight, list[bool]]:
    """The flight with some of its records again, with a later time; and which of the rows are those of the flight."""
    times = np.concatenate([flight.time_s, flight.time_s[places] + late_s])
    order = np.argsort(times, kind="stable")
    flight = replace(flight.take([*range(len(flight)), *places]), time_s=times).take(order)
    return flight, (order < len(times) - len(places)).tolist()


@pytest.mark.parametrize("late_s", [1.2, 3.2, 10.2, 18.7])
@pytest.mark.parametrize("seed", range(4))
def test_a_position_that_comes_again_some_seconds_late_is_dropped(late_s, seed):
    places = np.random.default_rng(seed).choice(280, 15, replace=False).tolist()
    flight, own = with_stale(flown(300), places, late_s)
    samples, notes = drop_stale(samples_of(flight))
    assert samples.row.tolist() == np.flatnonzero(own).tolist()
    assert [note.count for note in notes] == [15]


def test_the_note_says_how_many(read: Reader) -> None:
    flight, _ = with_stale(flown(300), [40, 41, 150], 5.3)
    track = read(csv_text(flight))
    assert [note.text for note in track.notes] == ["3 records with a position of up to 20 s before, passed on late: dropped"]
    assert len(track) == 300


def test_one_that_is_held_for_some_records_is_dropped_whole():
    flight = flown(100)
    for values in (flight.latitude_deg, flight.longitude_deg):
        values[50:53] = values[45]
    assert drop_stale(samples_of(flight))[0].row.tolist() == [*range(50), *range(53, 100)]


def test_an_aircraft_that_jitters_at_rest_stays():
    """A receiver on the apron, to a metre: the same few places over and over."""
    still = flown(300, speed_mps=0.0)
    north, east = (np.random.default_rng(seed).integers(-3, 4, 300) / METRES_IN_A_DEGREE for seed in (1, 2))
    flight = replace(still, latitude_deg=still.latitude_deg + north, longitude_deg=still.longitude_deg + east)
    samples, notes = drop_stale(samples_of(flight))
    assert len(samples) == 300
    assert notes == ()


@pytest.mark.parametrize("unit_deg", [1.0 / 600.0, 1.0 / 6000.0, 1e-3, 1e-4])
@pytest.mark.parametrize("noise_m", [0.0, 5.0, 20.0])
@pytest.mark.parametrize("speed_mps", [20.0, 60.0])
def test_positions_on_a_coarse_lattice_stay(unit_deg, noise_m, speed_mps):
    """Between two values of a lattice the noise of a receiver goes back and forth."""
    flight = flown(600, speed_mps=speed_mps)
    random = np.random.default_rng(3)
    on = [
        np.round((values + random.normal(0.0, noise_m, 600) / METRES_IN_A_DEGREE) / unit_deg) * unit_deg
        for values in (flight.latitude_deg, flight.longitude_deg)
    ]
    flight = replace(flight, latitude_deg=on[0], longitude_deg=on[1])
    assert len(drop_stale(samples_of(flight))[0]) == 600


def test_an_orbit_of_a_minute_may_come_back_to_its_first_place():
    """A closed form: a circle at 6°/s and 60 m/s, whose places repeat each minute to the last digit."""
    angle = np.radians(6.0 * (np.arange(240) % 60))
    radius = 60.0 / np.radians(6.0) / METRES_IN_A_DEGREE
    flight = replace(flown(240), latitude_deg=radius * np.sin(angle), longitude_deg=radius * np.cos(angle))
    assert len(drop_stale(samples_of(flight))[0]) == 240
