"""Holes filled in with straight lines of altitude are no measurements; logs that are smooth or coarse are left alone."""

from dataclasses import replace

import numpy as np
import pytest
from flights import METRES_IN_A_DEGREE, Flight, Reader, csv_text, flown, samples_of

from analyzer.track.filled_lines import drop_filled_lines


def received(noise_ft: float, digits: int = 1, count: int = 400) -> Flight:
    """A flight as a receiver of that scatter logs it."""
    flight, random = flown(count), np.random.default_rng(8)
    moved = random.normal(0.0, 0.5 / METRES_IN_A_DEGREE, (2, count))
    return Flight(
        flight.time_s,
        np.round(flight.latitude_deg + moved[0], 7),
        np.round(flight.longitude_deg + moved[1], 7),
        np.round(flight.altitude_ft + random.normal(0.0, noise_ft, count), digits),
    )


def filled(flight: Flight, first: int, last: int, names: tuple[str, ...]) -> Flight:
    """The flight with what it names on the straight line between two of its rows."""
    new = {}
    for name, digits in (("latitude_deg", 7), ("longitude_deg", 7), ("altitude_ft", 1)):
        if name in names:
            values = getattr(flight, name).copy()
            values[first : last + 1] = np.round(np.linspace(values[first], values[last], last - first + 1), digits)
            new[name] = values
    return replace(flight, **new)


@pytest.mark.parametrize("lasts", [25, 45, 90])
def test_altitudes_on_a_line_are_left_empty(lasts):
    flight = filled(received(1.6), 150, 150 + lasts, ("altitude_ft",))
    samples, notes = drop_filled_lines(samples_of(flight))
    empty = np.flatnonzero(np.isnan(samples.altitude_m))
    # chance puts a row next to a line on it now and then, never one inside off it
    assert set(range(151, 150 + lasts)) <= set(empty.tolist()) <= set(range(149, 152 + lasts))
    assert len(samples) == 400
    assert [note.count for note in notes] == [len(empty)]


def test_rows_whose_positions_are_on_a_line_too_are_left_out(read: Reader) -> None:
    flight = filled(received(1.6), 150, 195, ("latitude_deg", "longitude_deg", "altitude_ft"))
    samples, notes = drop_filled_lines(samples_of(flight))
    assert samples.row.tolist() == [*range(151), *range(195, 400)]
    assert [note.text for note in notes] == [
        "44 rows with position and altitude on a line to the last digit, so filled in: left out"
    ]
    assert len(read(csv_text(flight))) == 400 - 44


@pytest.mark.parametrize("noise_ft", [0.0, 0.05, 0.5, 1.6, 20.0])
@pytest.mark.parametrize("digits", [-2, -1, 0, 1, 2])
def test_a_flight_as_it_was_logged_stays_whole(noise_ft, digits):
    """Level by an autopilot, down at an even rate and level again, with any scatter, and rounded from 100 ft to hundredths."""
    flight = received(noise_ft)
    level = np.interp(np.arange(400), [0, 150, 300, 399], [4000.0, 4000.0, 2500.0, 2500.0])
    flight = replace(flight, altitude_ft=np.round(level + np.random.default_rng(2).normal(0.0, noise_ft, 400), digits))
    samples, notes = drop_filled_lines(samples_of(flight))
    assert len(samples) == 400
    assert np.isfinite(samples.altitude_m).all()
    assert notes == ()


@pytest.mark.parametrize("noise_ft", [1.6, 20.0])
def test_where_every_descent_is_a_line_the_flight_was_made_so(noise_ft):
    """A made flight that scatters in level flight alone: nobody filled a hole, and its long descents stay."""
    flight, random = received(noise_ft, count=900), np.random.default_rng(5)
    level = np.interp(np.arange(900), [0, 200, 260, 400, 600, 899], [6000.0, 6000.0, 5000.0, 5000.0, 2500.0, 2500.0])
    scatter = np.where(np.abs(np.gradient(level)) > 0.0, 0.0, random.normal(0.0, noise_ft, 900))
    samples, notes = drop_filled_lines(samples_of(replace(flight, altitude_ft=np.round(level + scatter, 1))))
    assert np.isfinite(samples.altitude_m).all()
    assert notes == ()


def test_a_filled_descent_is_noticed_where_others_scatter():
    flight, random = received(1.6, count=900), np.random.default_rng(5)
    level = np.interp(np.arange(900), [0, 200, 260, 400, 600, 899], [6000.0, 6000.0, 5000.0, 5000.0, 2500.0, 2500.0])
    noisy = replace(flight, altitude_ft=np.round(level + random.normal(0.0, 1.6, 900), 1))
    samples, _ = drop_filled_lines(samples_of(filled(noisy, 450, 500, ("altitude_ft",))))
    assert set(range(451, 500)) <= set(np.flatnonzero(np.isnan(samples.altitude_m)).tolist()) <= set(range(449, 502))


@pytest.mark.parametrize("lasts", [25, 60])
def test_of_altitudes_that_are_stuck_the_last_one_is_none_either(lasts, read: Reader):
    """The sensor comes back with the altitude of the next row."""
    flight = received(1.6)
    altitude = flight.altitude_ft.copy()
    altitude[151 : 151 + lasts] = altitude[150]
    stuck = replace(flight, altitude_ft=altitude)
    samples, _ = drop_filled_lines(samples_of(stuck))
    assert np.flatnonzero(np.isnan(samples.altitude_m)).tolist() == list(range(151, 151 + lasts))
    notes = [note.text for note in read(csv_text(stuck)).notes]
    assert f"{lasts} altitudes stuck at one value to the last digit: left empty" in notes
