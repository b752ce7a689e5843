"""Latitudes and longitudes with letters, in degrees and minutes, in one cell or several; and decimals that are minutes."""

from collections.abc import Callable, Sequence

import numpy as np
import pytest
from flights import Flight, Reader, flown, rows
from hypothesis import given
from hypothesis import strategies as st

from analyzer.errors import LogError
from analyzer.track.angles import joined_degrees, minutes_for_decimals, written_degrees
from analyzer.track.track import Track

FLIGHT = flown(60, at=(-47.3, -8.2))  # in the south and west, so that a sign that is lost shows
CLOSE_DEG = 2e-6  # minutes are written to four decimals


def log(names: str, write: Callable[[float, float], Sequence[str]], flight: Flight = FLIGHT) -> str:
    """The flight with what `write` makes of latitude and longitude."""
    lines = [f"time,{names},alt_ft"]
    for row, latitude, longitude in zip(rows(flight), flight.latitude_deg, flight.longitude_deg, strict=True):
        time, _, _, altitude = row.split(",")
        lines.append(",".join([time, *write(latitude, longitude), altitude]))
    return "\n".join(lines)


def assert_flown(track: Track, flight: Flight = FLIGHT) -> None:
    np.testing.assert_allclose(np.degrees(track.latitude_rad), flight.latitude_deg, atol=CLOSE_DEG)
    np.testing.assert_allclose(np.degrees(track.longitude_rad), flight.longitude_deg, atol=CLOSE_DEG)


def noted(track: Track, words: str) -> bool:
    return any(words in note.text for note in track.notes)


def parts(value: float) -> tuple[int, float]:
    """Whole degrees and minutes of the size of an angle."""
    degrees, rest = divmod(abs(value), 1.0)
    return int(degrees), rest * 60.0


def minutes(value: float) -> str:
    degrees, rest = parts(value)
    return f"{degrees} {rest:.4f}"


ORDERS = {
    "after each": ("{0},{1},{2},{3}", lambda lat, n, lon, e: (lat, n, lon, e)),
    "before each": ("{1},{0},{3},{2}", lambda lat, n, lon, e: (n, lat, e, lon)),
}


@pytest.mark.parametrize("order", ORDERS)
@pytest.mark.parametrize(
    "names", [("lat", "N/S", "lon", "E/W"), ("latitude", "lat_hem", "longitude", "lon_hem"), ("lat", "NS", "lon", "EW")]
)
def test_letters_in_columns_of_their_own_are_applied(read: Reader, names: Sequence[str], order: str) -> None:
    form, arranged = ORDERS[order]
    content = log(form.format(*names), lambda lat, lon: arranged(f"{-lat:.7f}", "S", f"{-lon:.7f}", "W"))
    track = read(content)
    assert_flown(track)
    assert noted(track, f"the letters of {names[1]!r} are applied to the latitude")
    assert noted(track, f"the letters of {names[3]!r} are applied to the longitude")


def test_letters_beside_signs_that_agree_change_nothing(read: Reader) -> None:
    assert_flown(read(log("lat,N/S,lon,E/W", lambda lat, lon: (f"{lat:.7f}", "S", f"{lon:.7f}", "W"))))


def test_letters_against_the_signs_are_refused(read: Reader) -> None:
    with pytest.raises(LogError, match=r"line 2: the latitude is negative and 'N/S' says 'N': one is wrong"):
        read(log("lat,N/S,lon,E/W", lambda lat, lon: (f"{lat:.7f}", "N", f"{lon:.7f}", "W")))


def test_a_column_of_one_letter_elsewhere_is_no_hemisphere(read: Reader) -> None:
    """A state called S somewhere in the row does not turn the flight over."""
    north = flown(60)
    content = log("lat,lon,state", lambda lat, lon: (f"{lat:.7f}", f"{lon:.7f}", "S"), north)
    assert_flown(read(content), north)


@pytest.mark.parametrize(
    "write",
    [
        lambda lat, lon: (f"S{-lat:.7f}", f"W{-lon:.7f}"),
        lambda lat, lon: (f"{-lat:.7f} S", f"{-lon:.7f}w"),
        lambda lat, lon: (f"{-lat:.7f}°S", f"{-lon:.7f}° W"),
        lambda lat, lon: (f"S {minutes(lat)}", f"W00{minutes(lon)}"),
        lambda lat, lon: (f"-{minutes(lat)}", f"-{minutes(lon)}"),
        lambda lat, lon: (f"{minutes(lat).replace(' ', '°')}'S", f"{minutes(lon).replace(' ', '° ')}′ W"),
        lambda lat, lon: (f"{minutes(lat).replace(' ', ':')}S", f"{minutes(lon).replace(' ', '-')}W"),
    ],
)
def test_one_cell_may_hold_letters_and_minutes(read: Reader, write: Callable[[float, float], Sequence[str]]) -> None:
    track = read(log("lat,lon", write))
    assert_flown(track)
    assert noted(track, "'lat' is written with letters or minutes")


def test_degrees_and_minutes_in_two_columns(read: Reader) -> None:
    def split(lat: float, lon: float) -> Sequence[str]:
        return (f"-{parts(lat)[0]}", f"{parts(lat)[1]:.4f}", f"-{parts(lon)[0]}", f"{parts(lon)[1]:.4f}")

    track = read(log("lat_deg,lat_min,lon_deg,lon_min", split))
    assert_flown(track)
    assert noted(track, "latitude is the degrees of 'lat_deg' with the minutes of 'lat_min'")
    with pytest.raises(LogError, match="are no whole degrees with minutes below 60"):
        read(log("lat_deg,lat_min,lon", lambda lat, lon: (f"{lat:.7f}", "12.5", f"{lon:.7f}")))


def test_a_degree_of_zero_keeps_its_sign(read: Reader) -> None:
    flight = flown(60, at=(-0.4, -0.3))

    def split(lat: float, lon: float) -> Sequence[str]:
        return ("-0", f"{parts(lat)[1]:.4f}", "-0", f"{parts(lon)[1]:.4f}")

    assert_flown(read(log("lat deg,lat min,lon deg,lon min", split, flight)), flight)


def test_degrees_and_minutes_written_together(read: Reader) -> None:
    """As in NMEA 0183: ddmm.mmmm and dddmm.mmmm."""

    def joined(value: float) -> str:
        degrees, rest = parts(value)
        return f"{degrees}{rest:07.4f}"

    track = read(log("lat,N/S,lon,E/W", lambda lat, lon: (joined(lat), "S", joined(lon), "W")))
    assert_flown(track)
    assert noted(track, "join degrees and minutes")


def test_a_longitude_in_the_place_of_the_latitude_is_not_taken_for_degrees_and_minutes(read: Reader) -> None:
    flight = flown(60, at=(47.3, -120.3))
    with pytest.raises(LogError, match="are exchanged, like most rows"):
        read(log("lon,lat", lambda lat, lon: (f"{lat:.7f}", f"{lon:.7f}"), flight))


class TestDecimalsThatAreMinutes:
    @staticmethod
    def content(flight: Flight) -> str:
        def wrong(value: float) -> str:
            degrees, rest = parts(value)
            return f"{'-' if value < 0.0 else ''}{degrees}.{rest / 100.0:.6f}".replace(".0.", ".")

        return log("lat,lon", lambda lat, lon: (wrong(lat), wrong(lon)), flight)

    @pytest.mark.parametrize("at", [(47.998, 8.2), (-47.002, -8.2), (47.3, -8.001)])
    def test_a_jump_at_the_full_degree_shows_it(self, read: Reader, at: tuple[float, float]) -> None:
        flight = flown(120, at=at)
        assert np.ptp(np.floor(flight.latitude_deg)) + np.ptp(np.floor(flight.longitude_deg)) == 1.0
        track = read(self.content(flight))
        assert_flown(track, flight)
        assert noted(track, "hold minutes in the place of decimals")

    @pytest.mark.parametrize("at", [(47.998, 8.2), (-47.002, -8.2), (47.3, -8.001), (47.59, 8.2)])
    def test_true_decimals_across_a_degree_are_left_alone(self, read: Reader, at: tuple[float, float]) -> None:
        flight = flown(120, at=at)
        track = read(log("lat,lon", lambda lat, lon: (f"{lat:.7f}", f"{lon:.7f}"), flight))
        assert_flown(track, flight)
        assert not noted(track, "minutes")


@given(st.floats(-179.99, 179.99))
def test_what_is_written_is_read_back(degrees: float) -> None:
    whole, rest = parts(degrees)
    letter = "W" if degrees < 0.0 else "E"
    for cell in (f"{letter}{whole:03d} {rest:.9f}", f"{whole}°{int(rest)}'{(rest % 1.0) * 60.0:.7f}\"{letter}"):
        if "60.0" not in cell:
            assert written_degrees([cell], "longitude")[0] == pytest.approx(degrees, abs=1e-8)
    together = np.copysign(whole * 100.0 + rest, degrees)
    assert joined_degrees(np.array([together]))[0] == pytest.approx(degrees, abs=1e-9)
    assert minutes_for_decimals(np.array([together / 100.0]))[0] == pytest.approx(degrees, abs=1e-9)


@pytest.mark.parametrize(
    "cell", ["48.5 12", "48 61", "N48.3 E", "48.3 E", "N-48.2", "4818.27 N", "x", "", "9" * 400, "48 12 " * 50]
)
def test_what_is_no_latitude_is_none(cell: str) -> None:
    assert np.isnan(written_degrees([cell], "latitude")[0])
