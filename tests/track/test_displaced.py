"""Stretches that step aside and back are dropped; flights, clocks that change pace and lasting steps are left alone."""

from dataclasses import replace

import numpy as np
import pytest
from flights import Reader, aside, csv_text, flown, noisy, samples_of

from analyzer.track.displaced import drop_displaced


@pytest.mark.parametrize("seconds", [4, 5, 12, 29])
@pytest.mark.parametrize("metres", [25.0, 60.0, 150.0])
@pytest.mark.parametrize("towards", [0.3, 2.0, 4.1])
def test_a_stretch_aside_is_dropped_and_nothing_else(seconds, metres, towards):
    """A signal that is reflected by a hillside comes from further away for some seconds."""
    flight = aside(noisy(flown(300), 0.5), 100, 100 + seconds, metres, towards)
    samples, notes = drop_displaced(samples_of(flight))
    assert samples.row.tolist() == [*range(100), *range(100 + seconds, 300)]
    assert [note.count for note in notes] == [seconds]


def test_the_note_says_how_many(read: Reader) -> None:
    flight = aside(aside(flown(300), 50, 56, 60.0, 1.0), 200, 210, 60.0, 3.0)
    assert [note.text for note in read(csv_text(flight)).notes if "aside" in note.text] == [
        "16 positions aside of the path after 2 steps that no aircraft flies, and before the same back: dropped"
    ]


@pytest.mark.parametrize(("first", "end"), [(100, 300), (100, 140), (0, 20)])
def test_a_step_that_stays_or_lasts_is_left_for_a_doubt(first, end):
    """Which side of it is true nothing in the positions says."""
    flight = aside(flown(300), first, end, 60.0, 1.0)
    assert len(drop_displaced(samples_of(flight))[0]) == 300


@pytest.mark.parametrize("pace", [2.0, 4.0])
def test_accelerated_time_is_no_step(pace):
    elapsed = np.cumsum(np.where((np.arange(300) >= 100) & (np.arange(300) < 112), pace, 1.0))
    flight = replace(flown(times=elapsed - 1.0), time_s=flown(300).time_s)
    assert len(drop_displaced(samples_of(flight))[0]) == 300


@pytest.mark.parametrize("late_s", [-7.0, 3.0])
def test_a_clock_that_is_off_for_some_seconds_is_no_step(late_s):
    flight = flown(300)
    flight.time_s[100:115] += late_s * 0.1
    assert len(drop_displaced(samples_of(flight))[0]) == 300


@pytest.mark.parametrize("step_s", [0.2, 1.0, 2.0, 5.0])
@pytest.mark.parametrize("noise_m", [0.0, 0.5, 5.0, 20.0])
@pytest.mark.parametrize("unit_deg", [0.0, 1e-4, 1.0 / 6000.0, 1.0 / 600.0])
def test_a_flight_with_noise_or_coarse_positions_stays_whole(step_s, noise_m, unit_deg):
    flight = noisy(flown(400, step_s=step_s, speed_mps=90.0), noise_m)
    if unit_deg:
        coarse = [np.round(values / unit_deg) * unit_deg for values in (flight.latitude_deg, flight.longitude_deg)]
        flight = replace(flight, latitude_deg=coarse[0], longitude_deg=coarse[1])
    assert len(drop_displaced(samples_of(flight))[0]) == 400
