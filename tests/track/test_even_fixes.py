"""Logs filled in between fixes at even intervals are noticed, by lines or by curves, and logs as they were flown are not."""

from datetime import UTC, datetime
from pathlib import Path

import numpy as np
import pytest
from patterns import Pattern, fly_approach
from scipy.interpolate import CubicHermiteSpline, CubicSpline
from synthetic import HERE, NM, Chart, Floats, Flown, Log, Straight, Turn, fly, standard_rate_bank

from analyzer import debrief, read_track
from analyzer.checks.finding import Finding
from analyzer.track.even_fixes import find_even_fixes
from analyzer.track.samples import Samples
from analyzer.track.track import Track

FLOWN = fly_approach(Pattern(arrival_deg=40.0, speed_kt=110.0, wind=(70.0, 12.0), roll_deg_s=4.0, final_s=150.0)).flown
M = np.radians(1.0 / 60.0) / NM  # a metre along a meridian: a minute of latitude is a nautical mile


def fixes(interval_s: float, noise_m: float = 0.3) -> Track:
    """What a receiver recorded of the flight: a fix now and then, with the scatter of a good receiver."""
    return Log(step_s=interval_s, noise_m=noise_m, altitude_ft=3040.0).of(FLOWN, HERE)


def places(track: Track) -> Floats:
    return np.column_stack([track.latitude_rad, track.longitude_rad])


def filled(how: str, recorded: Track, step_s: float, digits: int) -> tuple[Floats, Floats]:
    """The times and places of rows at even steps between fixes, rounded to so many digits of a degree."""
    time = recorded.time_s
    rows = np.arange(time[0], time[-1] + 1e-6, step_s)
    place = places(recorded)
    if how == "lines":
        between = np.column_stack([np.interp(rows, time, column) for column in place.T])
    elif how == "spline":
        between = CubicSpline(time, place)(rows)
    elif how == "Catmull-Rom":
        # E. Catmull and R. Rom, "A class of local interpolating splines" (1974): the tangent at a point is that of the chord
        # between its neighbours
        tangent = np.gradient(place, axis=0) / (time[1] - time[0])
        between = CubicHermiteSpline(time, place, tangent)(rows)
    else:
        flown = Log(step_s=0.1).of(FLOWN, HERE)
        speed = [np.gradient(column, flown.time_s) for column in places(flown).T]
        noise = np.random.default_rng(4).normal(0.0, 0.1 * M, place.shape)
        at = [np.interp(time, flown.time_s, column) for column in speed]
        between = CubicHermiteSpline(time, place, np.column_stack(at) + noise)(rows)
    return rows, np.radians(np.round(np.degrees(between), digits))


def found(rows: Floats, place: Floats) -> float | None:
    """The interval of the fixes found; None where the rows are taken as they are. [s]"""
    height = np.zeros(len(rows))
    even = find_even_fixes(Samples(rows, place[:, 0], place[:, 1], height, {}, np.arange(len(rows))))
    if even is None:
        return None
    assert even.is_fix[0]
    return round(even.interval_s, 6)


@pytest.mark.parametrize("interval_s", [2.0, 3.0, 4.0, 5.0, 10.0, 30.0])
@pytest.mark.parametrize("digits", [5, 7])
@pytest.mark.parametrize("noise_m", [0.0, 0.3, 3.0])
def test_straight_lines_between_fixes_some_seconds_apart_are_noticed(interval_s, digits, noise_m):
    assert found(*filled("lines", fixes(interval_s, noise_m), 1.0, digits)) == interval_s


def test_straight_lines_between_the_fixes_of_a_second_are_noticed():
    assert found(*filled("lines", fixes(1.0), 0.2, 7)) == 1.0


@pytest.mark.parametrize("interval_s", [5.0, 7.0, 10.0, 15.0, 20.0, 30.0])
@pytest.mark.parametrize("how", ["spline", "Catmull-Rom", "Hermite"])
def test_curves_between_fixes_are_noticed(how, interval_s):
    assert found(*filled(how, fixes(interval_s), 1.0, 7)) == interval_s


@pytest.mark.parametrize("how", ["Catmull-Rom", "Hermite"])
def test_curves_between_fixes_a_minute_apart_are_noticed(how):
    """The flight is too short for splines, whose few fixes in turns are not enough to be certain."""
    assert found(*filled(how, fixes(60.0), 1.0, 7)) == 60.0


def weaving(turn_s: float) -> Flown:
    """Turns to one side and the other all the time, each as long as the last: the regular manoeuvres of a pilot at a game."""
    return fly([Turn("turn", side * 3.0 * turn_s, BANK) for side in [1, -1] * round(300.0 / turn_s)], roll_deg_s=8.0)


BANK = standard_rate_bank(120.0)
LEG = Straight("leg", 300.0)
FLIGHTS = {
    "an approach": FLOWN,
    "an autopilot's straight legs": fly([LEG, Turn("turn", 90.0, BANK), LEG, LEG, Turn("turn", -90.0, BANK), LEG]),
    "a circle": fly([Turn("turn", 1080.0, BANK)], roll_deg_s=4.0),
    "turns of 10 s": weaving(10.0),
    "turns of 30 s": weaving(30.0),
}


@pytest.mark.parametrize("step_s", [0.5, 1.0, 2.0, 5.0])
@pytest.mark.parametrize("digits", [5, 6, 7, 9])
@pytest.mark.parametrize("noise_m", [0.0, 0.02, 0.3, 3.0])
@pytest.mark.parametrize("name", FLIGHTS)
def test_a_flight_as_it_was_flown_is_left_alone(name, noise_m, digits, step_s):
    track = Log(step_s=step_s, noise_m=noise_m).of(FLIGHTS[name], HERE)
    assert found(track.time_s, np.radians(np.round(np.degrees(places(track)), digits))) is None


@pytest.mark.parametrize("step_s", [0.1, 0.2])
@pytest.mark.parametrize("noise_m", [0.0, 0.05])
def test_a_flight_logged_several_times_a_second_is_left_alone(step_s, noise_m):
    """Closed forms of a turn at 3°/s out of straight flight and back into it, at 60 m/s: no tick of a simulator is in them."""
    time = np.arange(0.0, 600.0, step_s)
    turned = np.radians(3.0) * np.clip(np.mod(time, 150.0) - 60.0, 0.0, 60.0) + np.pi * np.floor(time / 150.0)
    along = np.cumsum(60.0 * step_s * np.exp(1j * turned))
    noise = np.random.default_rng(2).normal(0.0, noise_m, (2, len(time)))
    place = np.column_stack([along.real + noise[0], along.imag + noise[1]]) * M
    assert found(time, np.radians(np.round(np.degrees(place), 7))) is None


def test_a_log_whose_middle_interval_lies_between_two_of_its_own_is_left_alone():
    """Half of the steps are of 2 s, half of 3 s: the median of 2.5 s is that of no step."""
    flown = Log(step_s=1.0, noise_m=1.0).of(FLOWN, HERE)
    rows = np.cumsum([0, *np.tile([2, 3], len(flown) // 5 - 1)])
    assert found(flown.time_s[rows], places(flown)[rows]) is None


@pytest.mark.parametrize("silent_s", [5, 10, 20])
@pytest.mark.parametrize("phase_s", range(0, 60, 6))
def test_a_log_that_is_silent_for_some_seconds_of_each_minute_is_left_alone(silent_s, phase_s):
    """A hold of legs and turns of a minute, by a recorder that writes its file once a minute and loses what comes meanwhile.

    Every record that is left is one of the flight: none was filled in.
    """
    lap = [Straight("leg", 60.0), Turn("turn", 180.0, BANK)]
    hold = Log(noise_m=0.5).of(fly([Straight("way in", 100.0), *(6 * lap)], roll_deg_s=6.0), HERE)
    rows = np.flatnonzero((np.rint(hold.time_s).astype(int) + phase_s) % 60 >= silent_s)
    assert found(hold.time_s[rows], np.radians(np.round(np.degrees(places(hold)[rows]), 7))) is None


@pytest.mark.parametrize("seconds", [3, 5, 10])
@pytest.mark.parametrize("digits", [6, 7, 9])
def test_noise_that_a_receiver_has_smoothed_is_left_alone(seconds, digits):
    """A filter in a receiver leaves errors that change slowly: white noise, smoothed twice over some seconds."""
    track = Log().of(FLOWN, HERE)
    noise = np.random.default_rng(6).normal(0.0, 3.0 * M, (len(track) + 2 * seconds - 2, 2))
    window = np.ones(seconds) / seconds
    slow = np.column_stack([np.convolve(np.convolve(column, window, "valid"), window, "valid") for column in noise.T])
    assert found(track.time_s, np.radians(np.round(np.degrees(places(track) + slow), digits))) is None


def write(tmp_path: Path, rows: Floats, place: Floats, altitude_ft: Floats | None = None) -> Track:
    lines = ["time,latitude,longitude,altitude_msl_ft"]
    feet = np.full(len(rows), 3040.0) if altitude_ft is None else altitude_ft
    for time, (latitude, longitude), height in zip(rows, np.degrees(place), feet, strict=True):
        stamp = datetime.fromtimestamp(float(time), UTC).strftime("%Y-%m-%dT%H:%M:%S.%f")
        lines.append(f"{stamp}Z,{latitude:.7f},{longitude:.7f},{height:.1f}")
    path = tmp_path / "log.csv"
    path.write_text("\n".join(lines) + "\n")
    return read_track(path)


@pytest.mark.parametrize(("how", "words"), [("lines", "straight lines"), ("spline", "curves")])
def test_only_the_fixes_are_read(tmp_path, how, words):
    recorded = fixes(5.0)
    track = write(tmp_path, *filled(how, recorded, 1.0, 7))
    assert track.filled_in
    assert track.fixes_every_s == 5.0
    assert np.allclose(track.time_s, recorded.time_s)
    assert np.abs(places(track) - places(recorded)).max() < 1e-7 * np.radians(1.0)
    assert any(f"filled in by {words} between true fixes 5 s apart" in note.text for note in track.notes)


@pytest.mark.parametrize(("how", "interval_s"), [("lines", 3.0), ("lines", 10.0), ("spline", 10.0), ("Catmull-Rom", 5.0)])
def test_speeds_and_banks_are_those_flown_within_their_errors(tmp_path, how, interval_s):
    track = write(tmp_path, *filled(how, fixes(interval_s), 1.0, 7))
    motion, true = (debrief(log, Chart().at(HERE)).motion for log in (track, Log(altitude_ft=3040.0).of(FLOWN, HERE)))
    states, errors = motion.states, motion.errors(motion.states)
    for name in ("ground_speed_mps", "bank_rad", "distance_m"):
        flown = np.interp(states.time_s, true.states.time_s, getattr(true.states, name))
        off = np.abs(getattr(states, name) - flown) / getattr(errors, name)
        assert np.mean(off < 2.0) > 0.95


def test_turns_show_between_near_fixes_and_not_between_far_ones(tmp_path):
    """Turns of 51° and 36° take a fix and a half of the near ones, which would not show 30°; that of 180° takes six."""
    for interval_s, longer in ((10.0, "inside"), (30.0, "not assessed")):
        result = debrief(write(tmp_path, *filled("lines", fixes(interval_s), 1.0, 7)), Chart().at(HERE))
        turns = {finding.part: finding for finding in result.approaches[0].findings if finding.check == "turn_bank"}
        assert turns.pop("reversal_turn").verdict == longer
        assert {finding.verdict for finding in turns.values()} <= {"not assessed"}
        if interval_s == 10.0:
            assert all("does not show its bank in positions 10 s apart" in str(finding.reason) for finding in turns.values())


LEVEL_FT = 3600.0
CHART = Chart(floors_ft={"outbound": 2400.0}).at(HERE)
OUT_S = 200.0  # on the outbound leg, where there is a fix


def lowest(tmp_path: Path, turned_s: float, rate_fpm: float) -> Finding:
    """The lowest altitude in a log filled in between fixes 10 s apart, where half a minute down was followed by one up."""
    recorded = fixes(10.0)
    bottom_ft = LEVEL_FT - rate_fpm * 0.5
    corners = [turned_s - 30.0, turned_s, turned_s + 30.0]
    at_fixes = np.interp(recorded.time_s - recorded.time_s[0], corners, [LEVEL_FT, bottom_ft, LEVEL_FT])
    rows, place = filled("lines", recorded, 1.0, 7)
    track = write(tmp_path, rows, place, np.interp(rows, recorded.time_s, at_fixes))
    return next(one for one in debrief(track, CHART).approaches[0].findings if one.check == "altitude_floor")


@pytest.mark.parametrize("after_fix_s", [0.0, 2.0, 5.0, 7.0])
@pytest.mark.parametrize("rate_fpm", [500.0, 1000.0, 1500.0])
def test_the_lowest_altitude_may_be_between_fixes_and_its_error_allows_for_that(tmp_path, after_fix_s, rate_fpm):
    """Down and up again at once, as in a go-around: at 1,000 ft/min 83 ft of it fit between fixes 10 s apart."""
    finding = lowest(tmp_path, OUT_S + after_fix_s, rate_fpm)
    assert abs(finding.measured - (LEVEL_FT - rate_fpm * 0.5)) < 2.0 * finding.sd


def test_in_level_flight_nothing_lower_fits_between_fixes(tmp_path):
    """20 ft is what an altitude is assumed to be off where the log does not show it; only a dip adds to that."""
    level, dip = lowest(tmp_path, OUT_S, 0.0), lowest(tmp_path, OUT_S + 5.0, 1000.0)
    assert level.measured == pytest.approx(LEVEL_FT, abs=1.0)
    assert level.sd == pytest.approx(20.0, abs=1.0)
    assert dip.measured - (LEVEL_FT - 500.0) > 2.0 * level.sd
