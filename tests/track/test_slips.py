"""Slips of a clock of whole seconds are mended; steady clocks, other jitter, pauses and accelerated time are left alone."""

from dataclasses import replace

import numpy as np
import pytest
from flights import METRES_IN_A_DEGREE, Flight, Floats, Reader, csv_text, flown, samples_of

from analyzer.track.order import drop_repeated_instants
from analyzer.track.slips import mend_slips


def stamped(delay_s: Floats, noise_m: float = 0.0) -> Flight:
    """A flight of a position a second whose stamps are late by a delay, and then cut to the second."""
    true_s = np.arange(len(delay_s)) + 0.37
    flight = flown(times=true_s)
    noise = np.random.default_rng(7).normal(0.0, noise_m / METRES_IN_A_DEGREE, (2, len(true_s)))
    return replace(
        flight,
        time_s=np.floor(flight.time_s + delay_s),
        latitude_deg=flight.latitude_deg + noise[0],
        longitude_deg=flight.longitude_deg + noise[1],
    )


def error_s(flight: Flight, delay_s: Floats) -> Floats:
    """How far the times after the mending are from those flown, but for one amount for all."""
    samples = drop_repeated_instants(samples_of(flight))[0]
    mended, _ = mend_slips(samples)
    off = mended.time_s - (samples_of(flown(times=np.arange(len(delay_s)) + 0.37)).time_s)[samples.row]
    return np.asarray(off - np.median(off))


@pytest.mark.parametrize("noise_m", [0.0, 1.0, 2.5])
@pytest.mark.parametrize("period_s", [150.0, 300.0])
def test_times_keep_pace_with_the_flight_again(noise_m, period_s):
    """A delay that drifts by one and a half seconds to and fro."""
    delay = 0.75 + 0.75 * np.sin(2.0 * np.pi * np.arange(600) / period_s)
    flight = stamped(delay, noise_m)
    samples = drop_repeated_instants(samples_of(flight))[0]
    assert np.ptp(samples.time_s - samples.row) == 1.0  # as logged
    assert np.abs(error_s(flight, delay)[5:-5]).max() < 0.01  # a slip next to the end shows in too few steps


def test_the_note_says_how_often(read: Reader) -> None:
    delay = 0.75 + 0.75 * np.sin(2.0 * np.pi * np.arange(600) / 300.0)
    notes = [note.text for note in read(csv_text(stamped(delay))).notes if "slips" in note.text]
    assert notes == ["the clock of whole seconds slips by a second 4 times, to and fro: times between moved by that"]


@pytest.mark.parametrize("step_s", [1.0, 1.1, 1.3, 2.0, 0.9])
def test_other_intervals_cut_to_seconds_are_left_alone(step_s):
    """Their stamps run a second ahead again and again, and never come back."""
    flight = flown(400, step_s=step_s)
    cut = drop_repeated_instants(samples_of(replace(flight, time_s=np.floor(flight.time_s))))[0]
    assert mend_slips(cut)[0].time_s.tolist() == cut.time_s.tolist()


@pytest.mark.parametrize("pace", [2.0, 4.0])
def test_accelerated_time_is_no_slip(pace):
    elapsed = np.cumsum(np.where((np.arange(400) >= 100) & (np.arange(400) < 130), pace, 1.0))
    flight = replace(flown(times=elapsed), time_s=flown(400).time_s)
    assert mend_slips(samples_of(flight))[1] == ()


def test_a_missing_record_and_a_sound_log_are_left_alone():
    flight = flown(300)
    assert mend_slips(samples_of(flight))[1] == ()
    assert mend_slips(samples_of(flight.take(np.delete(np.arange(300), [50, 120, 121]))))[1] == ()


@pytest.mark.parametrize("noise_m", [10.0, 25.0])
def test_scatter_is_no_slip(noise_m):
    assert mend_slips(samples_of(stamped(np.zeros(600), noise_m)))[1] == ()


@pytest.mark.parametrize("towards", [0.8, 1.6, 2.4])
def test_a_step_aside_and_back_is_no_slip(towards):
    """As long as a slip makes it, but not along the flight."""
    flight = flown(300)
    latitude, longitude = flight.latitude_deg.copy(), flight.longitude_deg.copy()
    heading = np.arctan2(longitude[101] - longitude[99], latitude[101] - latitude[99]) + towards
    latitude[100:108] += 90.0 * np.cos(heading) / METRES_IN_A_DEGREE
    longitude[100:108] += 90.0 * np.sin(heading) / METRES_IN_A_DEGREE / np.cos(np.radians(47.0))
    assert mend_slips(samples_of(replace(flight, latitude_deg=latitude, longitude_deg=longitude)))[1] == ()


def test_a_record_that_is_missing_without_a_gap_in_time_is_one_slip(read: Reader) -> None:
    """Two seconds flown in one, with nothing to show for it but the flight."""
    flight = flown(300).take(np.delete(np.arange(300), 120))
    samples, _ = mend_slips(samples_of(replace(flight, time_s=flown(299).time_s)))
    assert samples.time_s.tolist() == flight.time_s.tolist()
    notes = [note.text for note in read(csv_text(replace(flight, time_s=flown(299).time_s))).notes if "slips" in note.text]
    assert notes == ["the clock of whole seconds slips by a second once: the times after it moved by that"]
