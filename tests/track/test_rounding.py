"""The last digit of coarse positions is that of their lattice, and a flight on a lattice is not taken for one on lines."""

from datetime import UTC, datetime

import numpy as np
import pytest
from patterns import Pattern, fly_approach
from synthetic import HERE, Log

from analyzer import read_track
from analyzer.track.rounding import last_digit_rad, written_digit_rad
from analyzer.track.track import Track

FLOWN = fly_approach(Pattern(arrival_deg=40.0, speed_kt=110.0, wind=(70.0, 12.0), roll_deg_s=4.0, final_s=150.0)).flown
MINUTE = 1.0 / 60.0  # degree


def logged(step_s: float = 1.0, noise_m: float = 0.5) -> Track:
    return Log(step_s=step_s, noise_m=noise_m, altitude_ft=3040.0).of(FLOWN, HERE)


@pytest.mark.parametrize("unit_deg", [1e-1 * MINUTE, 1e-2 * MINUTE, MINUTE / 60.0, 1e-4, 1e-3])
@pytest.mark.parametrize("digits", [6, 7, 9, 15])
def test_the_last_digit_is_the_unit_that_positions_were_rounded_to(unit_deg, digits):
    """Hundredths of a minute are 0.000167° apart, however many decimals of a degree they are written with."""
    latitude = np.degrees(logged().latitude_rad)
    written = np.round(np.round(latitude / unit_deg) * unit_deg, digits)
    assert np.degrees(last_digit_rad(np.radians(written))) == pytest.approx(unit_deg, rel=0.01)


@pytest.mark.parametrize("digits", [5, 6, 7])
def test_positions_on_no_coarser_lattice_have_the_last_digit_that_is_written(digits):
    written = np.round(np.degrees(logged().latitude_rad), digits)
    assert np.degrees(last_digit_rad(np.radians(written))) == pytest.approx(10.0**-digits, rel=1e-3)


@pytest.mark.parametrize("unit_deg", [1e-1 * MINUTE, 1e-2 * MINUTE, MINUTE / 60.0])
@pytest.mark.parametrize("step_s", [1.0, 2.0, 5.0])
def test_a_flight_in_hundredths_of_a_minute_was_not_filled_in(tmp_path, unit_deg, step_s):
    """Receivers of the nineties give hundredths of a minute, 18 m: rows that are received, not made."""
    track = logged(step_s)
    lines = ["time,latitude,longitude,altitude_msl_ft"]
    for second, *place in zip(track.time_s, np.degrees(track.latitude_rad), np.degrees(track.longitude_rad), strict=True):
        stamp = datetime.fromtimestamp(float(second), UTC).strftime("%Y-%m-%dT%H:%M:%S")
        lines.append(",".join([f"{stamp}Z", *(f"{round(angle / unit_deg) * unit_deg:.7f}" for angle in place), "3040"]))
    path = tmp_path / "log.csv"
    path.write_text("\n".join(lines) + "\n")
    read = read_track(path)
    assert not read.filled_in
    assert not [note.text for note in read.notes if "filled in" in note.text]


@pytest.mark.parametrize("unit_deg", [1e-3, 1e-4, 1e-5, 1e-3 / 60.0, 1e-2 / 60.0, 0.1 / 3600.0])
def test_a_written_digit_is_one_of_degrees_minutes_or_seconds(unit_deg):
    angles = np.round((47.0 + np.cumsum(np.random.default_rng(4).uniform(0.0, 9e-4, 400))) / unit_deg) * unit_deg
    assert np.degrees(written_digit_rad(np.radians(angles))) == pytest.approx(unit_deg, rel=0.002)


@pytest.mark.parametrize("step_deg", [2.754e-3, 2.6e-3, 4.7e-4])
@pytest.mark.parametrize("noise_deg", [0.0, 1e-5])
def test_a_steady_flight_along_a_meridian_is_not_rounded_to_its_steps(step_deg, noise_deg):
    angles = 47.0 + step_deg * np.arange(150) + np.random.default_rng(4).normal(0.0, noise_deg, 150)
    assert written_digit_rad(np.radians(angles)) == 0.0
