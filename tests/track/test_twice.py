"""One flight logged twice in two zones is one flight; laps, circuits and days of flying are what they are."""

from dataclasses import replace

import numpy as np
import pytest
from flights import METRES_IN_A_DEGREE, Flight, Reader, csv_text, flown, samples_of

from analyzer.errors import LogError
from analyzer.track.twice import drop_second_copy


def joined(*flights: Flight) -> Flight:
    values = (np.concatenate([getattr(flight, name) for flight in flights]) for name in flown(2).__dataclass_fields__)
    return Flight(*values)


def later(flight: Flight, delay_s: float, off_m: float = 0.0) -> Flight:
    noise = np.random.default_rng(3).normal(0.0, max(off_m, 1e-9) / METRES_IN_A_DEGREE, len(flight))
    return replace(flight, time_s=flight.time_s + delay_s, latitude_deg=flight.latitude_deg + noise)


@pytest.mark.parametrize("hours", [1.0, 2.0, 5.5, 10.0])
@pytest.mark.parametrize("off_m", [0.0, 15.0])
def test_the_same_path_whole_half_hours_later_is_dropped(read: Reader, hours: float, off_m: float) -> None:
    """Two receivers, one of which writes local time: zones are whole or half hours from UTC."""
    flight = flown(900)
    track = read(csv_text(joined(flight, later(flight, hours * 3600.0 + 0.4, off_m))))
    assert len(track) == 900
    assert [note.count for note in track.notes if "same flight by another clock" in note.text] == [900]


@pytest.mark.parametrize("delay_s", [3540.0, 3700.0, 1200.0])
def test_at_any_other_delay_it_is_another_flight(delay_s):
    flight = flown(900)
    assert len(drop_second_copy(samples_of(joined(flight, later(flight, delay_s))))[0]) == 1800


def test_the_same_way_at_another_speed_is_another_flight():
    slower = later(flown(900, speed_mps=55.0), 3600.0)
    assert len(drop_second_copy(samples_of(joined(flown(900), slower)))[0]) == 1800


def test_an_aircraft_that_stands_for_hours_stays():
    still = flown(900, speed_mps=0.0)
    assert len(drop_second_copy(samples_of(joined(still, later(still, 3600.0))))[0]) == 1800


def test_times_of_single_precision_are_refused_by_their_name(read: Reader) -> None:
    """IEEE 754: a number of 24 bits near 1.8e9 is a multiple of 2^7 = 128."""
    flight = flown(900)
    coarse = flight.time_s.astype(np.float32)
    assert set(np.diff(np.unique(coarse)).tolist()) == {128.0}
    lines = [
        f"{time:.0f},{latitude:.7f},{longitude:.7f},4000"
        for time, latitude, longitude in zip(coarse.tolist(), flight.latitude_deg, flight.longitude_deg, strict=True)
    ]
    with pytest.raises(LogError, match=r"900 records share .* the times were kept as numbers of single precision"):
        read("\n".join(["time,lat,lon,alt_ft", *lines]))


def test_times_without_their_seconds_are_refused_by_their_name(read: Reader) -> None:
    """What a spreadsheet saves of 2026-05-01 14:00:31 whose cell shows hours and minutes."""
    flight = flown(900)
    minutes = np.floor(flight.time_s / 60.0) * 60.0
    lines = [
        f"{time:.0f},{latitude:.7f},{longitude:.7f},4000"
        for time, latitude, longitude in zip(minutes.tolist(), flight.latitude_deg, flight.longitude_deg, strict=True)
    ]
    with pytest.raises(LogError, match=r"900 records share 1[56] whole minutes: the seconds are missing"):
        read("\n".join(["time,lat,lon,alt_ft", *lines]))
    assert len(read("\n".join(["time,lat,lon,alt_ft", *lines[::60]]))) in (15, 16)  # a position a minute is what it is
