"""A ground speed that jumps by a factor which a clock's pace may have, but not one of two, is doubted where it lasts."""

from dataclasses import replace

import numpy as np
import pytest
from patterns import Pattern, fly_approach
from synthetic import HERE, KT, Chart, Log

from analyzer import debrief
from analyzer.checks.overall import overall
from analyzer.track.speed_jumps import speed_jumps
from analyzer.track.track import Track

FLOWN = fly_approach(Pattern(arrival_deg=40.0, wind=(70.0, 15.0))).flown
CHART = Chart().at(HERE)


def logged(noise_m: float, step_s: float = 1.0) -> Track:
    return Log(noise_m=noise_m, step_s=step_s).of(FLOWN)


def accelerated(track: Track, from_s: float, to_s: float, times: float) -> Track:
    """The same places every second of a clock that runs slower than the flight meanwhile: what a simulator logs."""
    since = track.time_s - track.time_s[0]
    step = np.diff(since)
    step[(since[:-1] >= from_s) & (since[:-1] < to_s)] /= times
    shown = np.concatenate([[0.0], np.cumsum(step)])
    rows = np.arange(0.0, shown[-1], 1.0)
    at = np.interp(rows, shown, since)
    places = [np.interp(at, since, values) for values in (track.latitude_rad, track.longitude_rad, track.altitude_m)]
    return replace(track, time_s=track.time_s[0] + rows, latitude_rad=places[0], longitude_rad=places[1], altitude_m=places[2])


@pytest.mark.parametrize("noise_m", [0.0, 1.0])
@pytest.mark.parametrize("times", [1.5, 3.0])
def test_a_stretch_of_another_pace_is_doubted_where_it_lasts(times, noise_m):
    result = debrief(accelerated(logged(noise_m), 130.0, 190.0, times), CHART)
    (doubt,) = [doubt for doubt in result.doubts if "ground speed goes from" in doubt]
    assert "no aircraft" in doubt
    assert {finding.verdict for finding in result.approaches[0].findings} <= {"not assessed", "information"}
    assert overall(result.approaches[0].findings, result.approaches[0].reversal)[0] == "not assessed"


def test_a_pace_that_does_not_end_is_doubted_throughout():
    result = debrief(accelerated(logged(0.0), 300.0, 1e9, 1.5), CHART)
    assert any("ground speed goes from" in doubt for doubt in result.doubts)
    assert all(overall(one.findings, one.reversal)[0] == "not assessed" for one in result.approaches)


@pytest.mark.parametrize("step_s", [0.2, 1.0, 5.0])
@pytest.mark.parametrize("noise_m", [0.0, 2.0, 10.0])
def test_a_flight_at_its_own_pace_is_not_doubted(noise_m, step_s):
    """Its ground speed changes by twice the wind in each turn."""
    assert not any("ground speed goes from" in doubt for doubt in debrief(logged(noise_m, step_s), CHART).doubts)


def test_times_that_jitter_are_no_surges():
    """Stamps of a network, each off by up to half a second: speeds differ from step to step, and not for long."""
    track = logged(0.0)
    late = np.random.default_rng(8).uniform(0.0, 0.8, len(track))
    assert not any("ground speed goes from" in d for d in debrief(replace(track, time_s=track.time_s + late), CHART).doubts)


def test_braking_on_the_runway_is_no_surge_however_uneven_the_records_are():
    """From 105 kt to taxi at 27 kt with 4 kt a second, a quarter of a g, records one to four seconds apart; then a clock that
    runs at two thirds of its pace from one record on, the speed 1.5 times what it was."""
    rng = np.random.default_rng(5)
    for _ in range(200):
        time_s = np.cumsum(rng.integers(1, 5, 90)).astype(float)
        braking = np.maximum(105.0 - 4.0 * np.maximum(time_s - 120.0, 0.0), 27.0) * KT
        along_m = np.cumsum(braking * np.diff(time_s, prepend=0.0)) + rng.normal(0.0, 0.3, 90)
        took = np.diff(time_s)
        assert speed_jumps(np.diff(along_m) / took, took, 1.3) == []
        jumped = np.where(np.arange(len(took)) < 40, 105.0, 157.5) * KT + rng.normal(0.0, 0.3, len(took))
        assert speed_jumps(jumped, took, 1.3) == [40]
