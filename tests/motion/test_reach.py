"""What a hole of the altitudes leaves room for, against flights that bend their path as sharply as they are thought to."""

import datetime as dt
from dataclasses import replace

import numpy as np
import pytest
from synthetic import HERE, Chart, Log, Straight, fly

from analyzer.motion.motion import Motion
from analyzer.motion.reach import could_be_lower, left_level_m
from analyzer.motion.smooth import analyse_motion
from analyzer.procedure.charted import resolve

LEVEL_M, PULL_MPS2 = 900.0, 0.2 * 9.80665
FLOWN = fly((Straight("in", 200.0),), start_nm=(0.0, 8.0), heading_deg=180.0)


def with_hole(lasts_s: float, climb_mps: float = 0.0) -> Motion:
    """Level flight, or a steady climb, without altitudes for so long after 100 s."""
    track = Log(noise_m=0.0, altitude_ft=[(0.0, LEVEL_M / 0.3048), (200.0, (LEVEL_M + 200.0 * climb_mps) / 0.3048)]).of(
        FLOWN, HERE
    )
    altitude, since = track.altitude_m.copy(), track.time_s - track.time_s[0]
    altitude[(since > 100.0) & (since < 100.0 + lasts_s)] = np.nan
    return analyse_motion(replace(track, altitude_m=altitude), resolve(Chart().at(HERE), dt.date(2026, 6, 1)))


def dip_m(lasts_s: float) -> float:
    """How deep a dip is that begins and ends level and is pushed into and pulled out of with 0.2 g, step by step."""
    climb, height, deepest, step = 0.0, 0.0, 0.0, 1e-3
    for time in np.arange(0.0, lasts_s, step):
        quarter = int(4.0 * time / lasts_s)
        climb += step * PULL_MPS2 * (1.0 if quarter in (1, 2) else -1.0)
        height += step * climb
        deepest = min(deepest, height)
    return -deepest


@pytest.mark.parametrize("lasts_s", [11.0, 13.0, 15.0])
def test_a_short_hole_leaves_room_for_the_sharpest_dip_and_little_more(lasts_s):
    motion = with_hole(lasts_s)
    span = (motion.track.time_s[0], motion.track.time_s[-1])
    room = left_level_m(motion, span, LEVEL_M)
    # and for an error of 100 ft/min of the rates on either side, over half the hole
    assert dip_m(lasts_s) - 0.5 < room < dip_m(lasts_s) + 0.508 * 0.5 * lasts_s + 0.5
    assert not could_be_lower(motion, [span], LEVEL_M - room - 1.0)
    assert could_be_lower(motion, [span], LEVEL_M - room + 1.0)


def test_a_long_one_leaves_room_for_the_greatest_rate_of_descent():
    """1,500 ft/min down for half of a minute, and up again: 750 ft."""
    motion = with_hole(60.0)
    room = left_level_m(motion, (motion.track.time_s[0], motion.track.time_s[-1]), LEVEL_M)
    assert room == pytest.approx(750.0 * 0.3048, rel=0.02)


def test_without_a_hole_there_is_no_room():
    motion = with_hole(0.0)
    assert left_level_m(motion, (motion.track.time_s[0], motion.track.time_s[-1]), LEVEL_M) == 0.0


def test_in_a_climb_there_is_less_below():
    """At 500 ft/min the aircraft has to be turned downward first, and comes out higher than it went in."""
    level, climbing = with_hole(13.0), with_hole(13.0, climb_mps=2.54)
    spans = [(motion.track.time_s[0], motion.track.time_s[-1]) for motion in (level, climbing)]
    at_hole = LEVEL_M + 100.0 * 2.54
    lowest = [
        next(by for by in np.arange(0.0, 60.0, 0.5) if not could_be_lower(motion, [span], at - by))
        for motion, span, at in zip((level, climbing), spans, (LEVEL_M, at_hole), strict=True)
    ]
    assert lowest[1] < lowest[0]
