"""Logs that were filled in by straight lines: the fixes really recorded are found again, and the rest is left out."""

from datetime import UTC, datetime
from pathlib import Path

import numpy as np
import pytest
from patterns import Pattern, fly_approach
from synthetic import HERE, NM, Chart, Log, Straight, Turn, fly

from analyzer import debrief, read_track
from analyzer.track.track import Track

FLOWN = fly_approach(Pattern(arrival_deg=40.0, speed_kt=110.0, wind=(70.0, 12.0), roll_deg_s=4.0, final_s=150.0)).flown
TRUE = Log(altitude_ft=3040.0).of(FLOWN, HERE)


def filled(tmp_path: Path, fixes_s: np.ndarray, step_s: float = 5.0) -> Track:
    """A log with even steps, straight between the fixes of a flight, to a millionth of a degree."""
    since = TRUE.time_s - TRUE.time_s[0]
    grid = np.arange(0.0, fixes_s[-1] + 1e-9, step_s)
    lines = ["time,latitude,longitude,altitude_msl_ft"]
    places = [np.interp(grid, fixes_s, np.interp(fixes_s, since, values)) for values in (TRUE.latitude_rad, TRUE.longitude_rad)]
    for second, *place in zip(grid, *np.degrees(places), strict=True):
        stamp = datetime.fromtimestamp(float(TRUE.time_s[0] + second), UTC).strftime("%Y-%m-%dT%H:%M:%S.%f")
        lines.append(f"{stamp}Z,{place[0]:.6f},{place[1]:.6f},3040")
    path = tmp_path / "log.csv"
    path.write_text("\n".join(lines) + "\n")
    return read_track(path)


def off_m(track: Track, at_s: np.ndarray) -> np.ndarray:
    """How far the track's positions at some seconds are from the flight's. A minute of latitude is a nautical mile."""
    since, flown = track.time_s - TRUE.time_s[0], TRUE.time_s - TRUE.time_s[0]
    off = []
    for values, truth, scale in (
        (track.latitude_rad, TRUE.latitude_rad, 1.0),
        (track.longitude_rad, TRUE.longitude_rad, np.cos(TRUE.latitude_rad[0])),
    ):
        off.append((np.interp(at_s, since, values) - np.interp(at_s, flown, truth)) * scale * 60.0 * np.degrees(1.0) * NM)
    return np.hypot(*off)


def test_a_standard_rate_turn_shows_that_a_log_was_filled_in(tmp_path):
    """The turns of `FLOWN` are at 3°/s, none steeper: in the log of a second a fix every four to six is enough to see them."""
    at_s = fixes(np.cumsum(np.random.default_rng(3).choice([4.0, 5.0, 6.0], 400)))
    track = filled(tmp_path, at_s, step_s=1.0)
    assert track.filled_in
    turns = [finding for finding in debrief(track, Chart().at(HERE)).approaches[0].findings if finding.check == "turn_bank"]
    assert turns
    assert {finding.verdict for finding in turns} == {"not assessed"}


ON_THE_GRID = np.cumsum(np.random.default_rng(1).choice([10.0, 15.0], 200))
BETWEEN = np.cumsum(np.random.default_rng(2).choice([12.0, 16.0, 18.0, 22.0], 200))


def fixes(of: np.ndarray) -> np.ndarray:
    ends = float(TRUE.time_s[-1] - TRUE.time_s[0])
    return np.concatenate([[0.0], of[of < ends]])


def test_fixes_on_the_steps_of_the_log_are_kept_as_they_are(tmp_path):
    track = filled(tmp_path, fixes(ON_THE_GRID))
    assert track.filled_in
    since = np.round(track.time_s - TRUE.time_s[0], 3)
    turning = np.abs(np.interp(fixes(ON_THE_GRID), FLOWN.time_s, FLOWN.bank_deg)) > 5.0
    assert set(fixes(ON_THE_GRID)[turning]) <= set(since)
    assert len(track) < 0.6 * fixes(ON_THE_GRID)[-1] / 5.0
    assert any("straight lines between fewer true fixes" in note.text for note in track.notes)


def test_corners_that_the_steps_cut_are_found_where_the_lines_meet(tmp_path):
    at_s = fixes(BETWEEN)
    track = filled(tmp_path, at_s)
    assert track.filled_in
    off = off_m(track, at_s[1:-1])
    # rounding to a millionth of a degree is 0.1 m, and a meeting place of lines is known some times worse
    assert np.median(off) < 1.0
    assert np.mean(off < 5.0) > 0.75


@pytest.mark.parametrize("of", [ON_THE_GRID, BETWEEN])
def test_the_farthest_point_is_known_as_well_as_is_said(tmp_path, of):
    chart = Chart().at(HERE)
    true, seen = debrief(TRUE, chart), debrief(filled(tmp_path, fixes(of)), chart)
    one, other = true.approaches[0].figures.farthest, seen.approaches[0].figures.farthest
    assert abs(one.distance_m - other.distance_m) < 2.0 * other.stated_sd_m
    assert other.stated_sd_m < 0.05 * NM


def test_ground_speeds_are_those_flown_within_their_errors(tmp_path):
    motion = debrief(filled(tmp_path, fixes(ON_THE_GRID)), Chart().at(HERE)).motion
    true = debrief(TRUE, Chart().at(HERE)).motion
    states = motion.states
    speed = np.interp(states.time_s, true.states.time_s, true.states.ground_speed_mps)
    off = np.abs(states.ground_speed_mps - speed) / motion.errors(states).ground_speed_mps
    assert np.mean(off < 2.0) > 0.95


def read_again(tmp_path: Path, track: Track) -> Track:
    """A track as read from a file of its positions."""
    lines = ["time,latitude,longitude,altitude_msl_ft"]
    for time, *place in zip(track.time_s, np.degrees(track.latitude_rad), np.degrees(track.longitude_rad), strict=True):
        lines.append(f"{time:.1f},{place[0]:.7f},{place[1]:.7f},3040")
    path = tmp_path / "log.csv"
    path.write_text("\n".join(lines) + "\n")
    return read_track(path)


@pytest.mark.parametrize("step_s", [1.0, 2.0, 5.0, 10.0])
@pytest.mark.parametrize("noise_m", [0.0, 0.3, 3.0])
def test_a_log_of_true_fixes_is_left_alone(tmp_path, step_s, noise_m):
    track = Log(noise_m=noise_m, step_s=step_s, altitude_ft=3040.0).of(FLOWN, HERE)
    assert not read_again(tmp_path, track).filled_in


@pytest.mark.parametrize("step_s", [10.0, 12.0, 15.0])
@pytest.mark.parametrize("bank_deg", [20.0, 40.0])
def test_a_flight_of_short_turns_and_legs_in_few_positions_is_left_alone(tmp_path, step_s, bank_deg):
    """Round and round with half a minute on each leg: what lies on a line within a minute or two of a turn was flown so."""
    laps = [leg for lap in range(4) for leg in (Turn(f"t{lap}", 180.0, bank_deg), Straight(f"s{lap}", 35.0 + 7.0 * lap))]
    flown = fly([Straight("arrival", 120.0), *laps, Straight("final", 240.0)], speed_kt=110.0, roll_deg_s=5.0)
    assert not read_again(tmp_path, Log(altitude_ft=3040.0, step_s=step_s, noise_m=1.0).of(flown, HERE)).filled_in
