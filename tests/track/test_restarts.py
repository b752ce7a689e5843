"""A clock that falls back and runs on: a state loaded again, or two recordings in one file. Neither flight is lost or mixed."""

from dataclasses import replace
from datetime import UTC, datetime

import numpy as np
import pytest
from flights import HEADER, Flight, Reader, csv_text, flown, rows

from analyzer.track.read import ReadOptions
from analyzer.track.track import Track

FIRST = flown(200)
OTHER = flown(160, speed_mps=75.0)


def one_after_the_other(*flights: Flight) -> str:
    return "\n".join([HEADER, *(row for flight in flights for row in rows(flight))])


def later(flight: Flight, seconds: float) -> Flight:
    return replace(flight, time_s=flight.time_s + seconds)


def assert_follows(track: Track, *flights: Flight) -> None:
    """All samples of the flights in the order of the file, a second apart."""
    latitude = np.concatenate([flight.latitude_deg for flight in flights])
    np.testing.assert_allclose(np.degrees(track.latitude_rad), latitude, atol=1e-7)
    np.testing.assert_allclose(np.diff(track.time_s), 1.0, atol=1e-6)


@pytest.mark.parametrize("since_s", [0, 60, 150])
def test_a_state_loaded_again_sets_the_clock_back_with_the_flight(read: Reader, since_s: int) -> None:
    again = later(OTHER, float(since_s))
    track = read(one_after_the_other(FIRST, again))
    assert_follows(track, FIRST, again)
    assert track.begins_s == (pytest.approx(FIRST.time_s[-1] + 1.0),)
    (note,) = [note for note in track.notes if "falls back" in note.text]
    assert f"1 time while the records go on, first by {199 - since_s:,} s after 200 records" in note.text
    (moved,) = track.put_right
    assert moved.word == f"+{200 - since_s:,} s"


def test_elapsed_seconds_that_begin_again(read: Reader) -> None:
    lines = [
        f"{since:.1f},{row.split(',', 1)[1]}"
        for flight in (FIRST, OTHER, FIRST)
        for since, row in zip(flight.time_s - flight.time_s[0], rows(flight), strict=True)
    ]
    start = datetime(2026, 5, 1, 14, 0, tzinfo=UTC)
    track = read("\n".join(["elapsed_s,lat_deg,lon_deg,alt_ft", *lines]), ReadOptions(start=start))
    assert_follows(track, FIRST, OTHER, FIRST)
    assert track.time_s[0] == start.timestamp()
    np.testing.assert_allclose(np.array(track.begins_s) - start.timestamp(), [200.0, 360.0])


def test_a_clock_set_back_in_flight_begins_no_other_flight(read: Reader) -> None:
    moved = replace(FIRST, time_s=FIRST.time_s - np.where(np.arange(200) >= 120, 70.0, 0.0))
    track = read(csv_text(moved))
    assert_follows(track, FIRST)
    assert track.begins_s == ()


@pytest.mark.parametrize(
    "order",
    [
        [*range(120, 200), *range(120)],  # recordings in another order
        [*range(40), *range(60, 90), *range(40, 60), *range(90, 200)],  # a block that came late
        [*range(100), *range(60, 200)],  # a block that was sent again
        [*range(200), *range(200)],  # the same file twice
    ],
)
def test_the_same_flight_in_another_order_is_one(read: Reader, order: list[int]) -> None:
    track = read(csv_text(FIRST.take(order)))
    assert_follows(track, FIRST)
    assert track.begins_s == ()


def test_two_receivers_in_one_aircraft_are_one_flight(read: Reader) -> None:
    """One stands 20 m north of the other, half a second later."""
    second = replace(
        flown(200, times=np.arange(200.0) + 0.5), latitude_deg=flown(200, times=np.arange(200.0) + 0.5).latitude_deg + 2e-4
    )
    track = read(one_after_the_other(FIRST, second))
    assert track.begins_s == ()
    assert track.time_s[-1] - track.time_s[0] == pytest.approx(199.5)
