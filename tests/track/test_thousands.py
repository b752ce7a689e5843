"""Thousands in altitudes, marked by blanks, apostrophes, points and commas, are read, or refused with a reason."""

import numpy as np
import pytest
from flights import HEADER, Flight, Reader, flown, rows

from analyzer.errors import LogError
from analyzer.track.options import ReadOptions


def climbed(to_ft: float = 1600.0, from_ft: float = 600.0) -> Flight:
    flight = flown(200)
    flight.altitude_ft[:] = np.rint(np.linspace(from_ft, to_ft, 200))
    return flight


def text(flight: Flight, mark: str, delimiter: str = ",", quote: str = "") -> str:
    lines = []
    for row, altitude in zip(rows(flight), flight.altitude_ft, strict=True):
        cells = [*row.split(",")[:3], f"{quote}{altitude:,.0f}{quote}".replace(",", mark)]
        lines.append(delimiter.join(cells))
    return "\n".join([HEADER.replace(",", delimiter), *lines]) + "\n"


@pytest.mark.parametrize("mark", [" ", "\u00a0", "\u2009", "\u202f", "'", "\u2019"])
def test_blanks_and_apostrophes_between_groups_of_three_digits_mark_thousands(read: Reader, mark: str) -> None:
    """ISO 80000-1, 7.3.1: digits may be separated in groups of three by a small space; the apostrophe is Swiss custom."""
    track = read(text(climbed(), mark))
    np.testing.assert_allclose(track.altitude_m, climbed().altitude_ft * 0.3048)


@pytest.mark.parametrize("from_ft", [20.0, 600.0, 1200.0])
@pytest.mark.parametrize("delimiter", [",", ";"])
def test_points_mark_thousands_where_they_are_no_decimals(read: Reader, from_ft: float, delimiter: str) -> None:
    track = read(text(climbed(from_ft=from_ft, to_ft=2100.0), ".", delimiter))
    np.testing.assert_allclose(track.altitude_m, climbed(from_ft=from_ft, to_ft=2100.0).altitude_ft * 0.3048)
    assert any("mark thousands" in note.text for note in track.notes)


@pytest.mark.parametrize("noise_m", [0.02, 0.3])
def test_altitudes_written_to_the_millimetre_keep_their_points(read: Reader, noise_m: float) -> None:
    """A hop along a runway, 20 to 60 m above the sea, by a receiver with noise."""
    flight = flown(200)
    height = np.linspace(20.0, 60.0, 200) + np.random.default_rng(1).normal(0.0, noise_m, 200)
    lines = [f"{row.rpartition(',')[0]},{metres:.3f}" for row, metres in zip(rows(flight), height, strict=True)]
    track = read("\n".join([HEADER.replace("alt_ft", "alt_m"), *lines]), ReadOptions())
    np.testing.assert_allclose(track.altitude_m, height, atol=0.001)


def test_commas_in_quotation_marks_mark_thousands_and_bare_ones_are_refused(read: Reader) -> None:
    np.testing.assert_allclose(read(text(climbed(), ",", quote='"')).altitude_m, climbed().altitude_ft * 0.3048)
    with pytest.raises(LogError) as caught:
        read(text(climbed(), ","))
    message = str(caught.value)
    first = next(number for number, feet in enumerate(climbed().altitude_ft, 2) if feet >= 1000.0)
    count = int((climbed().altitude_ft >= 1000.0).sum())
    assert f"{count} of 200 rows have more cells than the header, which has 4; the first has 5, on line {first}: " in message
    assert "thousands mark? Export the log without it, or with numbers in quotation marks" in message


def test_a_column_without_numbers_is_quoted(read: Reader) -> None:
    lines = [f"{row.rpartition(',')[0]},FL 026" for row in rows(climbed())]
    with pytest.raises(LogError, match="no row has an altitude: 'alt_ft' holds none but 'FL 026'"):
        read("\n".join([HEADER, *lines]))
