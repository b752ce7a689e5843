"""Simulators pause and run faster: the flight logged so is the flight itself, and only its clock differs."""

from dataclasses import dataclass, replace
from datetime import UTC, datetime
from pathlib import Path

import numpy as np
import pytest
from patterns import Pattern, fly_approach
from synthetic import HERE, Chart, Log

from analyzer import debrief, read_track
from analyzer.report.pictures.page_pictures import draw_pictures
from analyzer.report.pictures.subject import Subject
from analyzer.track.track import Track

FLOWN = fly_approach(Pattern(arrival_deg=40.0, wind=(70.0, 15.0))).flown


@dataclass(frozen=True, eq=False)
class Rows:
    """A log as rows: times [s], places [deg] and altitudes [ft]."""

    time_s: np.ndarray
    latitude_deg: np.ndarray
    longitude_deg: np.ndarray
    altitude_ft: np.ndarray

    def written(self, path: Path) -> Path:
        lines = ["time,latitude,longitude,altitude_ft"]
        for time, *place, altitude in zip(self.time_s, self.latitude_deg, self.longitude_deg, self.altitude_ft, strict=True):
            stamp = datetime.fromtimestamp(float(time), UTC).strftime("%Y-%m-%dT%H:%M:%S.%f")
            lines.append(f"{stamp}Z,{place[0]:.7f},{place[1]:.7f},{altitude:.1f}")
        path.write_text("\n".join(lines) + "\n")
        return path

    def take(self, rows):
        return Rows(*(values[rows] for values in (self.time_s, self.latitude_deg, self.longitude_deg, self.altitude_ft)))

    def paused(self, at_s: float, seconds: float, *, logged: bool) -> "Rows":
        """Standing still from an instant on, with rows every second or without any."""
        place = int(np.searchsorted(self.time_s, self.time_s[0] + at_s))
        later = replace(self, time_s=self.time_s + np.where(np.arange(len(self.time_s)) >= place, seconds, 0.0))
        if not logged:
            return later
        order = np.concatenate([np.arange(place), np.full(int(seconds), place), np.arange(place, len(self.time_s))])
        rows = later.take(order)
        rows.time_s[place : place + int(seconds)] = self.time_s[place] + np.arange(int(seconds))
        return rows

    def accelerated(self, from_s: float, to_s: float, times: float) -> "Rows":
        since = self.time_s - self.time_s[0]
        step = np.diff(since)
        step[(since[:-1] >= from_s) & (since[:-1] < to_s)] /= times
        return replace(self, time_s=self.time_s[0] + np.concatenate([[0.0], np.cumsum(step)]))


def rows(noise_m: float = 0.0, step_s: float = 1.0) -> Rows:
    track = Log(noise_m=noise_m, step_s=step_s).of(FLOWN)
    return Rows(
        np.array(track.time_s), np.degrees(track.latitude_rad), np.degrees(track.longitude_rad), track.altitude_m / 0.3048
    )


def said(track: Track, word: str) -> list[str]:
    return [note.text for note in track.notes if word in note.text]


@pytest.mark.parametrize("logged", [True, False])
@pytest.mark.parametrize("noise_m", [0.0, 5.0])
@pytest.mark.parametrize(
    ("at_s", "seconds"), [(150.0, 3.0), (330.0, 3.0), (150.0, 20.0), (150.0, 60.0), (330.0, 40.0), (150.0, 3600.0)]
)
def test_a_pause_that_is_closed_changes_nothing_but_the_clock(tmp_path, logged, noise_m, at_s, seconds):
    """On the outbound leg and in the reversing turn: places and figures are those of the flight without it."""
    whole = read_track(rows(noise_m).written(tmp_path / "whole.csv"))
    paused = read_track(rows(noise_m).paused(at_s, seconds, logged=logged).written(tmp_path / "paused.csv"))
    # a clock set forward by an hour looks the same in a log without rows
    (note,) = said(paused, "pause") or said(paused, "set forward")
    assert f"{seconds:.0f} s in all" in note or (seconds == 3600.0 and "by 1 h" in note)
    assert len(paused) == len(whole)
    assert np.max(np.abs(paused.time_s - whole.time_s)) < 1e-3
    chart = Chart().at(HERE)
    one, other = debrief(whole, chart).approaches[0], debrief(paused, chart).approaches[0]
    assert [(f.check, f.verdict) for f in one.findings] == [(f.check, f.verdict) for f in other.findings]
    assert other.figures.wind.speed_mps == pytest.approx(one.figures.wind.speed_mps, abs=0.5)


@pytest.mark.parametrize("times", [2, 4, 8])
@pytest.mark.parametrize("noise_m", [0.0, 5.0])
@pytest.mark.parametrize(("from_s", "to_s"), [(130.0, 190.0), (470.0, 530.0)])
def test_accelerated_time_is_read_at_the_speed_flown(tmp_path, times, noise_m, from_s, to_s):
    whole = read_track(rows(noise_m).written(tmp_path / "whole.csv"))
    faster = read_track(rows(noise_m).accelerated(from_s, to_s, times).written(tmp_path / "faster.csv"))
    (note,) = said(faster, "accelerated")
    assert f"accelerated {times} times in 1 stretch" in note
    assert np.max(np.abs(faster.time_s - whole.time_s)) < times  # its ends are known to a step


@pytest.mark.parametrize(("from_s", "to_s"), [(130.0, 134.0), (130.0, 137.0), (150.0, 160.0)])
def test_a_burst_of_some_records_is_found_too(tmp_path, from_s, to_s):
    whole, faster = rows(), rows().accelerated(from_s, to_s, 4)
    track = read_track(faster.written(tmp_path / "burst.csv"))
    assert said(track, "accelerated 4 times in 1 stretch")
    assert np.max(np.abs(track.time_s - whole.time_s)) < 1e-3


def test_a_receiver_that_loses_its_fix_goes_on_elsewhere_and_is_no_pause(tmp_path):
    """Twenty seconds of one place, then on from where the flight by then was."""
    lost = rows()
    for values in (lost.latitude_deg, lost.longitude_deg):
        values[150:170] = values[150]
    track = read_track(lost.written(tmp_path / "lost.csv"))
    assert not said(track, "pause")
    assert track.time_s[-1] - track.time_s[0] == pytest.approx(rows().time_s[-1] - rows().time_s[0])


def test_an_aircraft_that_stops_on_the_ground_is_not_paused(tmp_path):
    """Slowed down over half a minute, stood for a minute, gone again: no pause, whose flight goes on at once."""
    speed = np.concatenate(
        [np.full(60, 50.0), np.linspace(50.0, 0.0, 30), np.zeros(60), np.linspace(0.0, 50.0, 30), np.full(60, 50.0)]
    )
    along = np.cumsum(speed)
    stopped = Rows(
        1.78e9 + np.arange(len(speed)), 41.2 + along / 111_111.0, np.full(len(speed), -38.4), np.full(len(speed), 100.0)
    )
    assert not said(read_track(stopped.written(tmp_path / "stopped.csv")), "pause")


@pytest.mark.parametrize("step_s", [1.0, 5.0])
@pytest.mark.parametrize("noise_m", [0.0, 10.0])
def test_nothing_is_put_right_where_nothing_is_wrong(tmp_path, step_s, noise_m):
    track = read_track(rows(noise_m, step_s).written(tmp_path / "log.csv"))
    assert not said(track, "pause")
    assert not said(track, "accelerated")


def test_a_jump_of_speed_that_is_no_power_of_two_is_left_alone(tmp_path):
    track = read_track(rows().accelerated(130.0, 190.0, 2.9).written(tmp_path / "odd.csv"))
    assert not said(track, "accelerated")


def test_what_was_put_right_is_marked_where_it_happened(tmp_path):
    spoiled = rows().paused(150.0, 30.0, logged=True).accelerated(260.0, 340.0, 4.0)
    track = read_track(spoiled.written(tmp_path / "log.csv"))
    pause, fast = track.put_right
    assert (pause.word, fast.word) == ("pause, 30 s", "time × 4")
    start = track.time_s[0]
    assert (pause.start_s - start, pause.end_s - start) == pytest.approx((149.0, 150.0), abs=1.1)
    # by the time as flown, without the pause
    assert (fast.start_s - start, fast.end_s - start) == pytest.approx((230.0, 310.0), abs=1.1)
    result = debrief(track, Chart().at(HERE))
    plan, *_, strips = draw_pictures(Subject(result, result.approaches[0]), "p")
    for picture in (plan, strips):
        assert "times corrected" in picture.caption
        assert "pause, 30 s" in picture.views[0].svg
        assert "time × 4" in picture.views[0].svg


@pytest.mark.parametrize("course_deg", [0.0, 25.0, 60.0])
@pytest.mark.parametrize(("braking_mps2", "taxi_mps"), [(2.5, 8.0), (4.0, 8.0), (4.0, 16.0)])
@pytest.mark.parametrize(("unit_deg", "noise_m"), [(0.01 / 60.0, 0.0), (1.0 / 3600.0, 0.0), (1e-7, 6.0)])
def test_braking_after_a_landing_is_no_change_of_clock(tmp_path, unit_deg, noise_m, course_deg, braking_mps2, taxi_mps):
    """Positions in hundredths of a minute, in seconds of arc, or of a poor receiver: speeds differ from step to step."""
    speed = np.concatenate([np.full(300, 55.0), np.maximum(55.0 - braking_mps2 * np.arange(1, 26), taxi_mps)])
    along, random = np.cumsum(speed), np.random.default_rng(5)
    north, east = along * np.cos(np.radians(course_deg)), along * np.sin(np.radians(course_deg))
    latitude = 41.2 + (north + random.normal(0.0, noise_m, len(speed))) / 111_111.0
    longitude = -38.4 + (east + random.normal(0.0, noise_m, len(speed))) / (111_111.0 * np.cos(np.radians(41.2)))
    places = (np.round(value / unit_deg) * unit_deg for value in (latitude, longitude))
    landing = Rows(1.78e9 + np.arange(len(speed)), *places, np.full(len(speed), 100.0))
    assert not said(read_track(landing.written(tmp_path / "landing.csv")), "accelerated")
