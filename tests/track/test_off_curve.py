"""Single fixes off the curve are dropped from logs of a fix every few seconds; turns, noise and coarse positions stay whole."""

from dataclasses import replace

import numpy as np
import pytest
from flights import METRES_IN_A_DEGREE, START, Flight, Reader, csv_text, flown, samples_of

from analyzer.physics.units import GRAVITY
from analyzer.track.off_curve import drop_off_curve


def noisy(flight: Flight, metres: float) -> Flight:
    noise = np.random.default_rng(5).normal(0.0, metres / METRES_IN_A_DEGREE, (2, len(flight)))
    return replace(flight, latitude_deg=flight.latitude_deg + noise[0], longitude_deg=flight.longitude_deg + noise[1])


def banked(step_s: float, begins_s: float, lasts_s: float, bank_deg: float, speed_mps: float = 70.0) -> Flight:
    """Straight on, then one turn at a steady bank, rolled at once, and straight on: integrated in steps of 10 ms."""
    fine = np.arange(0.0, 240.0, 0.01)
    rate = GRAVITY * np.tan(np.radians(bank_deg)) / speed_mps
    heading = 0.7 + np.cumsum(np.where((fine >= begins_s) & (fine < begins_s + lasts_s), rate, 0.0)) * 0.01
    at = np.arange(0.0, 239.0, step_s)
    north, east = (np.interp(at, fine, np.cumsum(speed_mps * part) * 0.01) for part in (np.cos(heading), np.sin(heading)))
    longitude = 8.0 + east / METRES_IN_A_DEGREE / np.cos(np.radians(47.0))
    return Flight(START.timestamp() + at, 47.0 + north / METRES_IN_A_DEGREE, longitude, np.full(len(at), 4000.0))


@pytest.mark.parametrize(("step_s", "metres"), [(2.0, 40.0), (4.0, 60.0), (5.0, 80.0), (8.0, 200.0)])
@pytest.mark.parametrize("place", [20, 33, 47])
def test_a_single_fix_aside_is_dropped_and_nothing_else(step_s, metres, place):
    """Straight on and in the S-turns alike."""
    flight = noisy(flown(70, step_s=step_s), 1.0).moved(place, metres)
    samples, notes = drop_off_curve(samples_of(flight))
    assert samples.row.tolist() == [row for row in range(70) if row != place]
    assert [note.count for note in notes] == [1]


def test_the_note_says_how_many_and_why(read: Reader) -> None:
    flight = flown(80, step_s=5.0).moved(30, 90.0).moved(50, -90.0)
    assert [note.text for note in read(csv_text(flight)).notes if "curve" in note.text] == [
        "2 positions off the curve flown before and after, further than a turn at 45° of bank: dropped"
    ]


@pytest.mark.parametrize("step_s", [1.0, 2.0, 5.0, 8.0, 12.0])
@pytest.mark.parametrize("lasts_s", [3.0, 7.0, 11.0, 25.0, 60.0])
@pytest.mark.parametrize("bank_deg", [-45.0, 25.0, 45.0])
def test_no_turn_of_up_to_45_degrees_loses_a_fix(step_s, lasts_s, bank_deg):
    """The bound on what the cubic misses holds wherever between the fixes a turn begins, and however long it lasts."""
    for begins_s in np.arange(100.0, 100.0 + step_s, step_s / 7.0):
        flight = banked(step_s, begins_s, lasts_s, bank_deg)
        assert len(drop_off_curve(samples_of(flight))[0]) == len(flight)


@pytest.mark.parametrize("step_s", [1.0, 5.0])
@pytest.mark.parametrize("noise_m", [5.0, 20.0, 60.0])
@pytest.mark.parametrize("unit_deg", [0.0, 1e-3, 1.0 / 600.0])
def test_noise_and_coarse_positions_are_usual(step_s, noise_m, unit_deg):
    flight = noisy(flown(400, step_s=step_s, speed_mps=90.0), noise_m)
    if unit_deg:
        coarse = [np.round(values / unit_deg) * unit_deg for values in (flight.latitude_deg, flight.longitude_deg)]
        flight = replace(flight, latitude_deg=coarse[0], longitude_deg=coarse[1])
    assert len(drop_off_curve(samples_of(flight))[0]) == 400


def test_a_step_that_stays_is_left_for_a_doubt():
    flight = flown(80, step_s=5.0)
    flight.latitude_deg[40:] += 300.0 / METRES_IN_A_DEGREE
    assert len(drop_off_curve(samples_of(flight))[0]) == 80
