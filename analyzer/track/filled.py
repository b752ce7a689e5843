"""Whether a log was filled in by straight lines between the fixes that were really recorded.

Such a log has an even step, but in turns many of its samples lie exactly midway between their neighbours, with a corner at each
true fix. Shape and distance can be measured on it; bank and rate of turn cannot.
"""

from __future__ import annotations

import numpy as np

from analyzer.physics import geodesy
from analyzer.physics.quantiles import median
from analyzer.physics.units import FloatArray, wrap
from analyzer.track.samples import Samples

__all__ = ["is_filled_in"]

_HALF_WINDOW_S, _LEAST_HALF = 6.0, 4  # either side of a sample, over which the turn is measured; and samples at least
_LONGEST_HALF_S = 20.0  # a longer window holds more than a turn, and what is straight in it was flown so
_TURNING_RAD = 0.2  # in six seconds: a turn at 2° a second, and no noise
_STRAIGHT_RAD, _LEAST_STRAIGHT = 0.05, 20  # less is straight flight, which shows how far samples lie off their chords anyway
# An offset from the chord that a turn of that rate must show, clear of rounding and noise: times that of straight flight.
_CLEAR_OF_NOISE, _LEAST_VISIBLE_M, _VISIBLE_M = 5.0, 0.1, 1.0
_STRAIGHT_SHARE = 0.1  # of the offset expected: below this a sample lies on the straight line
_JUMP = 10.0  # times the usual step: the aircraft was set elsewhere
_FILLED_SHARE = 0.3  # of samples in turns; rolling in and out, and noise, put a tenth there
_LEAST_SAMPLES, _LEAST_S = 10, 30.0


def is_filled_in(samples: Samples) -> bool:
    """Whether so many samples in turns lie on the straight line between their neighbours that they were put there."""
    time_s, latitude_rad = samples.time_s, samples.latitude_rad
    if len(time_s) < _LEAST_SAMPLES:
        return False
    step = np.diff(time_s)
    usual_s = median(step)
    half = max(_LEAST_HALF, round(_HALF_WINDOW_S / max(usual_s, 1e-3)))
    if len(time_s) < 2 * half + 3 or half * usual_s > _LONGEST_HALF_S:
        return False
    north, east = geodesy.north_east(latitude_rad, samples.longitude_rad)
    offset = np.hypot(np.diff(north, n=2), np.diff(east, n=2)) / 2.0
    even = np.abs(step[1:] - step[:-1]) < 0.05 * step[1:]
    course = np.arctan2(east[half:] - east[:-half], north[half:] - north[:-half])
    turned = np.zeros(len(offset))
    turned[half - 1 : len(offset) - half + 1] = np.abs(wrap(course[half:] - course[:-half]))
    # next to a jump the course from before it to after it is no turn
    way = np.hypot(np.diff(north), np.diff(east))
    jumped = np.convolve(way > _JUMP * median(way), np.ones(2 * half + 1), "same") > 0.5
    even &= ~(jumped[1:] | jumped[:-1])
    expected = turned / half * np.hypot(np.diff(north)[1:], np.diff(east)[1:]) / 2.0
    # coarse positions lie on lines by themselves, where a turn bends less than a digit
    north_rad, east_rad = samples.digits_rad
    digit_m = geodesy.MEAN_RADIUS_M * max(north_rad, east_rad * float(np.cos(latitude_rad[0])))
    visible_m = max(_visible_m(offset[even & (turned < _STRAIGHT_RAD)]), digit_m)
    seen = even & (turned > _TURNING_RAD) & (expected > visible_m)
    if int(seen.sum()) < max(_LEAST_SAMPLES, _LEAST_S / usual_s):
        return False
    return bool(np.mean(offset[seen] < _STRAIGHT_SHARE * expected[seen]) > _FILLED_SHARE)


def _visible_m(straight_offset_m: FloatArray) -> float:
    """The least offset from a chord that is a turn's, by what samples in straight flight lie off theirs. [m]"""
    if len(straight_offset_m) < _LEAST_STRAIGHT:
        return _VISIBLE_M
    return float(np.clip(_CLEAR_OF_NOISE * median(straight_offset_m), _LEAST_VISIBLE_M, _VISIBLE_M))
