"""Altitudes that stand for no altitude, and dips of the pressure that no aircraft flies.

Recorders write a value of their own where they have no altitude: 0, -9999, 32767. It stays to the last digit, and the altitude
jumps to it and from it. A window that is opened, or a gust on the static port, makes the pressure altitude fall and rise again
within seconds, faster than a descent can be turned into a climb.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import numpy as np
import numpy.typing as npt

from analyzer.physics.quantiles import median
from analyzer.physics.units import FT, BoolArray, FloatArray
from analyzer.track.samples import Samples
from analyzer.track.track import Note, counted

__all__ = ["drop_dips", "drop_missing_altitudes"]

_FASTEST_CLIMB_MPS, _SLACK_M = 100.0, 60.0  # 20,000 ft/min
_LOWEST_M, _HIGHEST_M = -1_500.0 * FT, 60_000.0 * FT
_NO_VALUES_M, _DIGIT_M = (0.0, 32_767.0, 32_767.0 * FT), 0.01  # the greatest number of 16 bits, in metres or feet
_LONGEST_SHARE = 0.5  # of the log: more is no exception
_HALF_S, _DIP_M = 4.0, 40.0  # a descent and a climb at 2,000 ft/min, one within four seconds of the other
_AROUND_S = 8.0  # either side of a dip, where the altitude is right again
_USUAL = 10.0  # times the usual change from one altitude to the next
_SLOPE_M = 8.0  # off the line across a dip: its flanks
_SPARSEST_S = 5.0


def drop_missing_altitudes(samples: Samples) -> tuple[Samples, tuple[Note, ...]]:
    """The altitude left empty where it is 0 throughout, or one value is reached and left by a jump, or stands to the end."""
    known = np.flatnonzero(np.isfinite(samples.altitude_m))
    if len(known) < 3:
        return samples, ()
    altitude, time = samples.altitude_m[known], samples.time_s[known]
    if not altitude.any():
        return _emptied(samples, known, "of exactly 0, as written where there is no altitude")
    missing = np.zeros(len(known), dtype=np.bool_)
    jump = np.abs(np.diff(altitude)) > _FASTEST_CLIMB_MPS * np.diff(time) + _SLACK_M
    ends = np.concatenate(([0], np.flatnonzero(np.diff(altitude) != 0.0) + 1, [len(known)]))
    begins, stops = ends[:-1], ends[1:]
    begun, left = np.concatenate(([False], jump))[begins], np.concatenate((jump, [False]))[stops - 1]
    at_edge = (begins == 0) | (stops == len(known))
    # a single one is a spike, which the altitudes around it show
    some = (stops - begins > 1) & (stops - begins < _LONGEST_SHARE * len(known))
    for k in np.flatnonzero(some & (begun | left) & (at_edge | (begun & left))).tolist():
        value = float(altitude[begins[k]])
        no_altitude = not _LOWEST_M < value < _HIGHEST_M or min(abs(value - one) for one in _NO_VALUES_M) < _DIGIT_M
        missing[begins[k] : stops[k]] = bool(begun[k] and left[k]) or no_altitude
    return _emptied(samples, known[missing], "reached and left by a jump, so no altitude")


def drop_dips(samples: Samples) -> tuple[Samples, tuple[Note, ...]]:
    """The altitude left empty where it falls and rises again, or rises and falls, faster than is flown."""
    known = np.flatnonzero(np.isfinite(samples.altitude_m))
    if len(known) < 5:
        return samples, ()
    altitude, time = samples.altitude_m[known], samples.time_s[known]
    if median(np.diff(time)) > _SPARSEST_S:
        return samples, ()
    least_m = max(_DIP_M, _USUAL * median(np.abs(np.diff(altitude))))
    before, after = (np.interp(time + shift, time, altitude) - altitude for shift in (-_HALF_S, _HALF_S))
    out = np.zeros(len(known), dtype=np.bool_)
    for side in (1.0, -1.0):
        tips = np.minimum(side * before, side * after) > least_m
        for first, last in _groups(tips, time):
            begin, end = np.searchsorted(time, (time[first] - _AROUND_S, time[last] + _AROUND_S))
            rows = slice(int(begin), min(int(end), len(known) - 1) + 1)
            chord = np.interp(time[rows], time[[rows.start, rows.stop - 1]], altitude[[rows.start, rows.stop - 1]])
            out[rows] |= side * (chord - altitude[rows]) > _SLOPE_M
    return _emptied(samples, known[out], "in dips that no aircraft flies")


def _groups(chosen: BoolArray, time_s: FloatArray) -> Iterator[tuple[int, int]]:
    """The first and last of every group of chosen samples that lie within one dip."""
    places = np.flatnonzero(chosen)
    for group in np.split(places, np.flatnonzero(np.diff(time_s[places]) > _HALF_S) + 1):
        if len(group):
            yield int(group[0]), int(group[-1])


def _emptied(samples: Samples, places: npt.NDArray[np.intp], why: str) -> tuple[Samples, tuple[Note, ...]]:
    """The samples without altitude at some places, and the note that says so."""
    if not len(places):
        return samples, ()
    altitude = samples.altitude_m.copy()
    altitude[places] = np.nan
    return replace(samples, altitude_m=altitude), (Note(f"{counted(len(places), 'altitude')} {why}: left empty", len(places)),)
