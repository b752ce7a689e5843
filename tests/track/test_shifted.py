"""Steps of a receiver are spread: speeds and banks are those flown, and far from the step nothing moves."""

from dataclasses import replace

import numpy as np
import pytest
from checked import NOISY, one_of
from flights import Flight, Reader, aside, csv_text, flown, noisy, samples_of
from patterns import Pattern, fly_approach
from synthetic import CHARTED, HERE, KT, START_S

from analyzer import debrief
from analyzer.debriefs.data import Approach
from analyzer.physics.units import FT
from analyzer.track.shifted import spread_shifts
from analyzer.track.track import Track


def shifted(flight: Flight, first: int, metres: float, towards: float) -> Flight:
    """The flight with all positions from one on moved in one direction. [radians from north]"""
    return aside(flight, first, len(flight), metres, towards)


@pytest.mark.parametrize("metres", [20.0, 60.0, 130.0])
@pytest.mark.parametrize("towards", [0.3, 2.0, 4.1])
@pytest.mark.parametrize("place", [70, 150, 290])
def test_no_position_is_moved_by_more_than_half_and_none_beyond_a_minute(metres, towards, place):
    raw = samples_of(shifted(noisy(flown(300), 0.3), place, metres, towards))
    samples, notes = spread_shifts(raw)
    assert [note.count for note in notes] == [1]
    speed = np.hypot(*samples.steps_m)  # flown at 60 m/s
    assert np.abs(speed - 60.0).max() < 0.02 * metres + 2.0  # spread over two minutes, and the noise
    beyond = np.abs(raw.time_s - raw.time_s[place]) > 61.0
    assert np.array_equal(samples.latitude_rad[beyond], raw.latitude_rad[beyond])
    assert np.array_equal(samples.longitude_rad[beyond], raw.longitude_rad[beyond])
    off_m = np.abs(samples.latitude_rad - raw.latitude_rad).max() * 6371e3
    assert off_m < 0.5 * metres + 1.0


def test_the_note_says_how_many_and_how_large(read: Reader) -> None:
    flight = shifted(shifted(flown(300), 60, 40.0, 1.0), 200, 60.0, 3.0)
    (text,) = (note.text for note in read(csv_text(flight)).notes if "aside" in note.text)
    assert text.startswith("2 steps aside from one position to the next, of 60 m at most, as no aircraft flies")


@pytest.mark.parametrize("step_s", [0.2, 1.0, 2.0, 5.0])
@pytest.mark.parametrize("noise_m", [0.0, 0.5, 5.0, 20.0])
@pytest.mark.parametrize("unit_deg", [0.0, 1e-4, 1.0 / 6000.0, 1.0 / 600.0])
def test_a_flight_with_noise_or_coarse_positions_stays_as_it_is(step_s, noise_m, unit_deg):
    flight = noisy(flown(400, step_s=step_s, speed_mps=90.0), noise_m)
    if unit_deg:
        latitude, longitude = (np.round(of / unit_deg) * unit_deg for of in (flight.latitude_deg, flight.longitude_deg))
        flight = replace(flight, latitude_deg=latitude, longitude_deg=longitude)
    samples = samples_of(flight)
    assert spread_shifts(samples)[0] is samples


@pytest.mark.parametrize("pace", [0.5, 2.0, 4.0])
def test_another_pace_of_the_clock_is_no_step(pace):
    elapsed = np.cumsum(np.where(np.arange(300) >= 100, pace, 1.0))
    samples = samples_of(replace(flown(times=elapsed - 1.0), time_s=flown(300).time_s))
    assert spread_shifts(samples)[0] is samples


@pytest.mark.parametrize("by_s", [-0.8, -0.4, 0.4, 0.8])
def test_a_clock_that_is_set_right_by_part_of_a_second_gives_no_other_speed(by_s):
    """All stamps from one on are earlier or later: the flight of that time seems to be gained or lost in one step."""
    flight = noisy(flown(300), 0.3)
    flight.time_s[150:] += by_s
    samples, notes = spread_shifts(samples_of(flight))
    assert [note.count for note in notes] == [1]
    speed = np.hypot(*samples.steps_m) / np.diff(samples.time_s)
    assert np.abs(speed - 60.0).max() < 3.0


def test_an_aircraft_that_was_set_elsewhere_is_not_brought_back():
    samples = samples_of(shifted(flown(300), 150, 400.0, 1.0))
    assert spread_shifts(samples)[0] is samples


PATTERN = Pattern(roll_deg_s=5.0, bank_deg=24.0)


def debriefed(track: Track) -> Approach:
    (approach,) = debrief(track, CHARTED.at(HERE)).approaches
    return approach


def fastest_kt(approach: Approach) -> float:
    assert approach.figures.indicated is not None
    return approach.figures.indicated.speed_mps / KT


@pytest.mark.parametrize("towards", [0.0, 1.6, 3.1, 4.7])
@pytest.mark.parametrize("metres", [35.0, 60.0])
@pytest.mark.parametrize(("name", "after_s"), [("outbound", 40.0), ("offset_turn", 5.0), ("reversal_turn", 20.0)])
def test_a_step_of_the_receiver_leaves_speed_and_bank_as_flown(read: Reader, name, after_s, metres, towards):
    """The bank is that of the builder; the airspeed is what the positions give without the step. It had been 40 kt more."""
    approach = fly_approach(PATTERN)
    track = NOISY.of(approach.flown)
    place = int(np.searchsorted(track.time_s - START_S, approach.begin(name) + after_s))
    degrees = np.degrees(track.latitude_rad), np.degrees(track.longitude_rad)
    flight = Flight(track.time_s, *degrees, track.altitude_m / FT)
    plain, spoiled = (debriefed(read(csv_text(of))) for of in (flight, shifted(flight, place, metres, towards)))
    for part in ("offset_turn", "reversal_turn"):
        assert one_of(spoiled, "turn_bank", part).measured == pytest.approx(PATTERN.bank_deg, abs=2.0)
    assert fastest_kt(spoiled) == pytest.approx(fastest_kt(plain), abs=3.0)
