"""Cells that hold more than a number: their unit, a flight level, or a latitude and a longitude together."""

from collections.abc import Callable

import numpy as np
import pytest
from flights import Flight, Reader, flown, rows

from analyzer.errors import LogError
from analyzer.track.options import ReadOptions

FT = 0.3048  # exactly, by the agreement of 1959


def log(header: str, cells: Callable[[str, str, str, float], str], at: tuple[float, float] = (47.0, 8.0)) -> tuple[Flight, str]:
    """A flight, and its log of rows as they are made of time, latitude, longitude and altitude."""
    flight = flown(120, at=at)
    made = []
    for row, altitude in zip(rows(flight), flight.altitude_ft, strict=True):
        time, latitude, longitude = row.split(",")[:3]
        made.append(cells(time, latitude, longitude, float(altitude)))
    return flight, "\n".join([header, *made]) + "\n"


@pytest.mark.parametrize(
    ("written", "within_ft"),
    [
        (lambda ft: f"{ft:.1f} ft", 0.06), (lambda ft: f"{ft:.1f}ft", 0.06), (lambda ft: f"{ft:.0f} Feet", 0.6),
        (lambda ft: f"{ft * FT:.2f} m", 0.03), (lambda ft: f'"{ft:,.0f} ft"', 0.6), (lambda ft: f"FL{ft / 100:03.0f}", 51.0),
        (lambda ft: f"{ft:.0f} ft.", 0.6),
    ],
)  # fmt: skip
def test_altitudes_with_their_unit_in_every_cell(read: Reader, written: Callable[[float], str], within_ft: float) -> None:
    flight, text = log("time,lat,lon,altitude", lambda t, y, x, ft: f"{t},{y},{x},{written(ft)}")
    track = read(text)
    np.testing.assert_allclose(track.altitude_m / FT, flight.altitude_ft, atol=within_ft)
    assert any("has its unit in every cell" in note.text for note in track.notes)


def test_a_unit_that_the_name_contradicts_is_asked_about(read: Reader) -> None:
    _, text = log("time,lat,lon,alt_ft", lambda t, y, x, ft: f"{t},{y},{x},{ft * FT:.1f} m")
    with pytest.raises(LogError, match=r"alt_ft.* m'"):
        read(text)


def test_a_cell_in_another_unit_than_the_rest_is_no_altitude(read: Reader) -> None:
    """As where a device was set anew under way: feet among metres would be a jump."""
    _, text = log("time,lat,lon,altitude", lambda t, y, x, ft: f"{t},{y},{x},{ft * FT:.1f} m")
    lines = text.splitlines()
    lines[50] = lines[50].rpartition(",")[0] + ",3000 ft"
    track = read("\n".join(lines) + "\n")
    assert int(np.isnan(track.altitude_m).sum()) <= 1
    assert float(np.nanmax(np.abs(np.diff(track.altitude_m)))) < 100.0


def test_letters_of_the_hemisphere_are_no_units(read: Reader) -> None:
    """4820.74S is no 4,820.74 seconds."""
    flight, text = log("time,lat,lon,alt_ft", lambda t, y, x, ft: f"{t},{abs(float(y)):.6f}{'NS'[float(y) < 0]},"
                       f"{abs(float(x)):.6f}{'EW'[float(x) < 0]},{ft:.0f}", (-33.0, -70.0))  # fmt: skip
    track = read(text)
    np.testing.assert_allclose(np.degrees(track.latitude_rad), flight.latitude_deg, atol=1e-6)
    np.testing.assert_allclose(np.degrees(track.longitude_rad), flight.longitude_deg, atol=1e-6)


@pytest.mark.parametrize(
    ("name", "written"),
    [
        ("Position", '"{y},{x}"'), ("position", '"{y}, {x}"'), ("Place", "{y} {x}"), ("where", "({y}; {x})"),
        ("LonLat", '"{x},{y}"'), ("Location", '"{y}°, {x}°"'),
    ],
)  # fmt: skip
def test_both_coordinates_in_one_cell(read: Reader, name: str, written: str) -> None:
    flight, text = log(f"time,{name},alt_ft", lambda t, y, x, ft: f"{t},{written.format(y=y, x=x)},{ft:.0f}")
    track = read(text)
    np.testing.assert_allclose(np.degrees(track.latitude_rad), flight.latitude_deg, atol=1e-6)
    np.testing.assert_allclose(np.degrees(track.longitude_rad), flight.longitude_deg, atol=1e-6)
    assert any("in one cell: taken apart" in note.text for note in track.notes)


def test_a_longitude_that_can_be_no_latitude_comes_first(read: Reader) -> None:
    flight, text = log("time,at,alt_ft", lambda t, y, x, ft: f'{t},"{float(x) + 150.0:.6f},{y}",{ft:.0f}')
    track = read(text)
    np.testing.assert_allclose(np.degrees(track.latitude_rad), flight.latitude_deg, atol=1e-6)


def test_two_places_in_a_row_are_not_chosen_from(read: Reader) -> None:
    """That of the aircraft and that of a station, say."""
    _, text = log("time,own,other,alt_ft", lambda t, y, x, ft: f'{t},"{y},{x}","{y},{x}",{ft:.0f}')
    with pytest.raises(LogError, match="no column for latitude and longitude among time, own, other, alt_ft"):
        read(text)


def test_names_that_give_the_scale_of_whole_numbers(read: Reader) -> None:
    flight, text = log("time,latitudeE7,longitudeE7,alt_ft", lambda t, y, x, ft: f"{t},{round(float(y) * 1e7)},"
                       f"{round(float(x) * 1e7)},{ft:.0f}")  # fmt: skip
    track = read(text, ReadOptions())
    np.testing.assert_allclose(np.degrees(track.latitude_rad), flight.latitude_deg, atol=1e-6)
