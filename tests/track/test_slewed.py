"""A simulator's aircraft is moved over the map, or stands where it was set until it is let go: neither is flown."""

from dataclasses import replace

import numpy as np
import pytest
from flights import METRES_IN_A_DEGREE, Flight, Reader, csv_text, flown


def scattered(flight: Flight) -> Flight:
    """Its positions 0.3 m off, as a log has them."""
    off = np.random.default_rng(3).normal(0.0, 0.3 / METRES_IN_A_DEGREE, (2, len(flight)))
    return replace(flight, latitude_deg=flight.latitude_deg + off[0], longitude_deg=flight.longitude_deg + off[1])


FIRST = scattered(flown(150))
THEN = scattered(flown(200, at=(47.1, 8.2), speed_mps=55.0))


def one_after_the_other(*flights: Flight) -> Flight:
    """Their records, a second apart."""
    columns = zip(*((one.latitude_deg, one.longitude_deg, one.altitude_ft) for one in flights), strict=True)
    places = [np.concatenate(values) for values in columns]
    return Flight(FIRST.time_s[0] + np.arange(float(len(places[0]))), *places)


def moved(seconds: int, *, level: bool) -> Flight:
    """From the end of the first flight to the beginning of the other, in a straight line."""
    share = np.arange(1, seconds) / seconds
    ends = ((getattr(FIRST, name)[-1], getattr(THEN, name)[0]) for name in ("latitude_deg", "longitude_deg", "altitude_ft"))
    latitude, longitude, altitude = (begin + share * (end - begin) for begin, end in ends)
    return Flight(share, latitude, longitude, np.full(len(share), FIRST.altitude_ft[-1]) if level else altitude)


def standing(flight: Flight, seconds: int) -> Flight:
    return flight.take([*[0] * seconds, *range(len(flight))])


@pytest.mark.parametrize("level", [True, False])
@pytest.mark.parametrize("seconds", [10, 30, 60])
def test_no_record_of_the_way_over_the_map_is_kept(read: Reader, seconds: int, level: bool) -> None:
    """Some 8 NM: at 2,900 to 490 kt."""
    flights = one_after_the_other(FIRST, moved(seconds, level=level), THEN)
    track = read(csv_text(flights))
    both = one_after_the_other(FIRST, THEN)
    np.testing.assert_allclose(np.degrees(track.latitude_rad), both.latitude_deg, atol=1e-7)
    np.testing.assert_allclose(np.degrees(track.longitude_rad), both.longitude_deg, atol=1e-7)
    np.testing.assert_allclose(np.diff(track.time_s)[np.arange(349) != 149], 1.0, atol=1e-6)
    assert not track.put_right


@pytest.mark.parametrize("factor", [2, 4, 8])
def test_accelerated_time_is_none(read: Reader, factor: int) -> None:
    """The way leads on, in a turn as well: all records are flown, a factor of seconds apart."""
    fast = scattered(flown(400))
    track = read(
        csv_text(one_after_the_other(fast.take(range(100)), fast.take(range(100, 300, factor)), fast.take(range(300, 400))))
    )
    assert len(track) == 200 + 200 // factor
    assert track.time_s[-1] - track.time_s[0] == pytest.approx(399.0, abs=factor)


@pytest.mark.parametrize("seconds", [4, 30, 200])
def test_a_flight_begins_when_it_is_let_go(read: Reader, seconds: int) -> None:
    track = read(csv_text(one_after_the_other(FIRST, standing(THEN, seconds))))
    both = one_after_the_other(FIRST, THEN)
    np.testing.assert_allclose(np.degrees(track.latitude_rad), both.latitude_deg, atol=1e-7)
    np.testing.assert_allclose(np.diff(track.time_s), 1.0, atol=1e-6)
    (paused,) = track.put_right
    assert paused.word == f"pause, {seconds} s"
