"""An altitude that jumps and stays is of another unit, source or setting: no verdict rests on the altitudes of such a log."""

from dataclasses import replace

import numpy as np
import pytest
from patterns import Pattern, fly_approach
from synthetic import HERE, Chart, Log

from analyzer import debrief
from analyzer.track.track import Track

FT = 0.3048
FLOWN = fly_approach(Pattern(arrival_deg=40.0, wind=(70.0, 15.0))).flown
CHART = Chart().at(HERE)


def logged(altitude_m: np.ndarray | None = None, noise_m: float = 0.0) -> Track:
    track = Log(noise_m=1.0).of(FLOWN)
    level = np.interp(
        track.time_s - track.time_s[0], [0, 150, 220, 420, 500, 2_000], [3_050.0, 3_050.0, 2_650.0, 2_650.0, 1_900.0, 700.0]
    )
    altitude = np.round(level + np.random.default_rng(2).normal(0.0, noise_m / FT, len(level))) * FT
    return replace(track, altitude_m=altitude if altitude_m is None else altitude_m)


def said(track: Track) -> list[str]:
    return [doubt for doubt in debrief(track, CHART).doubts if "altitude jumps" in doubt]


@pytest.mark.parametrize("change", [lambda h: h * FT, lambda h: h + 400.0 * FT, lambda h: h - 900.0 * FT])
@pytest.mark.parametrize(("first", "end"), [(200, 1_000_000), (200, 400), (0, 300)])
def test_no_altitude_is_judged_in_a_log_whose_altitudes_jump(first, end, change):
    """Feet that become metres on the way, a second source, another setting of the altimeter."""
    true = logged().altitude_m
    inside = np.arange(len(true)) >= first
    inside &= np.arange(len(true)) < end
    track = logged(np.where(inside, change(true), true))
    assert said(track)
    for approach in debrief(track, CHART).approaches:
        for finding in approach.findings:
            if finding.check in ("altitude_floor", "altitude_hold", "minimum_altitude", "descent_timing"):
                assert finding.verdict == "not assessed"


@pytest.mark.parametrize("noise_m", [0.0, 5.0, 15.0])
def test_altitudes_that_scatter_do_not_jump(noise_m):
    assert not said(logged(noise_m=noise_m))


def test_hundreds_of_feet_do_not_jump():
    altitude = np.round(logged().altitude_m / (100.0 * FT)) * 100.0 * FT
    assert not said(logged(altitude))
