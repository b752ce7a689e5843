"""A hole filled with rows on a straight line is a hole again, where the flight turned meanwhile; a flight is left alone."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from patterns import Pattern, fly_approach
from synthetic import HERE, Chart, Log

from analyzer import debrief, read_track
from analyzer.track.track import Track

FLOWN = fly_approach(Pattern(arrival_deg=40.0, speed_kt=110.0, wind=(70.0, 12.0), roll_deg_s=4.0, final_s=150.0)).flown
CHART = Chart().at(HERE)


def logged(noise_m: float) -> Track:
    return Log(noise_m=noise_m, altitude_ft=3040.0).of(FLOWN, HERE)


def turning_s() -> float:
    """The middle of the turn back, in seconds after the first record."""
    (approach,) = debrief(logged(0.3), CHART).approaches
    part = approach.reversal.part("reversal_turn")
    return 0.5 * (part.start_s + part.end_s) - logged(0.3).time_s[0]


def filled(track: Track, from_s: float, to_s: float) -> Track:
    """The log with rows on the chord between two instants."""
    since = track.time_s - track.time_s[0]
    ends = [int(np.searchsorted(since, second)) for second in (from_s, to_s)]
    places = [
        np.where((since >= from_s) & (since <= to_s), np.interp(since, since[ends], values[ends]), values)
        for values in (track.latitude_rad, track.longitude_rad)
    ]
    return replace(track, latitude_rad=places[0], longitude_rad=places[1])


def read(tmp_path: Path, track: Track, digits: int) -> Track:
    rows = ["time,latitude,longitude,altitude_msl_ft"]
    for second, *place, altitude in zip(
        track.time_s, np.degrees(track.latitude_rad), np.degrees(track.longitude_rad), track.altitude_m / 0.3048, strict=True
    ):
        rows.append(f"{second:.0f},{place[0]:.{digits}f},{place[1]:.{digits}f},{altitude:.0f}")
    path = tmp_path / "log.csv"
    path.write_text("\n".join(rows) + "\n")
    return read_track(path)


def lines(track: Track) -> list[str]:
    return [note.text for note in track.notes if "straight line" in note.text]


@pytest.mark.parametrize("digits", [5, 6, 7])
@pytest.mark.parametrize("noise_m", [0.0, 0.3, 2.0])
@pytest.mark.parametrize("seconds", [12.0, 25.0, 40.0])
def test_rows_on_a_chord_of_a_turn_are_left_out(tmp_path, seconds, noise_m, digits):
    """Sitting on the chord they would show two corners, so a bank that was not flown, with no doubt about it."""
    middle = turning_s()
    track = read(tmp_path, filled(logged(noise_m), middle - seconds / 2.0, middle + seconds / 2.0), digits)
    (note,) = lines(track)
    assert f"{seconds - 1.0:.0f} positions on 1 straight line" in note
    assert np.max(np.diff(track.time_s)) == seconds
    (approach,) = debrief(track, CHART).approaches
    banks = {finding.part: finding.verdict for finding in approach.findings if finding.check == "turn_bank"}
    assert banks["reversal_turn"] == "not assessed"
    assert set(banks.values()) == {"not assessed", "inside"}


@pytest.mark.parametrize("digits", [4, 5, 6, 7])
@pytest.mark.parametrize("noise_m", [0.0, 0.3, 2.0])
def test_a_flight_is_left_alone_however_its_positions_are_rounded(tmp_path, noise_m, digits):
    assert not lines(read(tmp_path, logged(noise_m), digits))


def test_a_line_along_straight_flight_does_no_harm_and_stays(tmp_path):
    """On the outbound leg, 60 s to 85 s before the turn back."""
    middle = turning_s()
    whole = logged(0.3)
    track = read(tmp_path, filled(whole, middle - 200.0, middle - 175.0), 7)
    assert not lines(track)
    assert len(track) == len(whole)


@pytest.mark.parametrize("jump_m", [150.0, 600.0])
def test_a_straight_flight_that_is_moved_elsewhere_is_no_line_between_corners(tmp_path, jump_m):
    """The step of a jump is long, where the corner of a filled hole has steps of one speed: the jump is left for its doubt."""
    track = logged(0.0)
    at = int(np.searchsorted(track.time_s - track.time_s[0], turning_s() - 180.0))
    east = np.where(np.arange(len(track)) >= at, jump_m / 6_371_000.0 / np.cos(track.latitude_rad), 0.0)
    assert not lines(read(tmp_path, replace(track, longitude_rad=track.longitude_rad + east), 7))


@pytest.mark.parametrize("seconds", [15, 20, 30, 40, 50])
def test_a_turn_that_was_coasted_past_is_doubted_and_has_no_bank(seconds):
    """A tracker without a fix goes on straight, then jumps to where the aircraft is: some turns never show in the bank."""
    track, middle = logged(0.3), turning_s()
    for late in (0, 10, 20):
        first = int(middle) - seconds + late
        rows = slice(first, first + seconds)
        places = []
        for values in (track.latitude_rad, track.longitude_rad):
            coasted = np.array(values)
            coasted[rows] = values[first] + (values[first] - values[first - 1]) * np.arange(seconds)
            places.append(coasted)
        result = debrief(replace(track, latitude_rad=places[0], longitude_rad=places[1]), CHART)
        assert any("jumps" in doubt for doubt in result.doubts)
        assert not [finding for one in result.approaches for finding in one.findings if finding.verdict == "outside"]
