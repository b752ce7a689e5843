"""Altitudes, and positions with them, that were put on a straight line over a hole in level or straight flight.

A log whose altitudes scatter from row to row has none that are on a line to their last digit for half a minute, except where
somebody filled a hole. The ends of such a line are measurements, what is between them is not: when a descent began there, and
how low it led, nothing says. Where it is one value throughout, the sensor may have been stuck, and its last one is none either.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from analyzer.physics.quantiles import median
from analyzer.physics.units import BoolArray, FloatArray, unwrapped
from analyzer.track.rounding import COMPUTED_RAD
from analyzer.track.samples import Samples
from analyzer.track.track import Note, counted

__all__ = ["drop_filled_lines"]

_LEAST_ROWS = 20  # between the ends of a line
_LEAST_S, _LONGEST_SHARE = 15.0, 0.3  # of a line, and of the log: more is how the log was made
_DIGITS = 2.05  # a second difference of rounded numbers on a line is no more than two units of their last digit
_SCATTER = 5.0  # digits of a second difference, at the median: altitudes that scatter
_EVEN = 0.05  # of a step, by which it may differ from the next
_NOTHING_M = 1e-6
_SLOPE_MPS, _HALF_S = 1.5, 15.0  # 300 ft/min over 30 s: climbing or descending


def drop_filled_lines(samples: Samples) -> tuple[Samples, tuple[Note, ...]]:
    """The altitude left empty on straight lines of a log whose altitudes scatter; without the rows, where positions are."""
    altitude = samples.altitude_m
    second = np.abs(np.diff(altitude, n=2))
    second = second[np.isfinite(second)]
    if len(second) < 3 * _LEAST_ROWS:
        return samples, ()
    moved = second[second > _NOTHING_M]
    if not len(moved) or median(second) < _SCATTER * moved.min():
        return samples, ()
    angles = (samples.latitude_rad, unwrapped(samples.longitude_rad))
    digits = [digit + COMPUTED_RAD for digit in samples.digits_rad]
    empty, out, stuck = (np.zeros(len(samples), dtype=np.bool_) for _ in range(3))
    lines = tuple(_as_filled(samples.time_s, altitude, float(moved.min()) + _NOTHING_M))
    for first, last in lines:
        rows = slice(first, last + 1)
        straight = all(
            _off_chord(samples.time_s[rows], angle[rows]) <= _DIGITS * digit
            for angle, digit in zip(angles, digits, strict=True)
        )
        if straight:
            out[first + 1 : last] = True
        elif np.ptp(altitude[rows]) == 0.0:  # its last one is as old as the others
            stuck[first + 1 : last + 1] = True
        else:
            empty[first + 1 : last] = True
    if not 0 < np.count_nonzero(empty | out | stuck) <= _LONGEST_SHARE * len(samples):
        return samples, ()
    return _without(samples, empty, out, stuck)


def _lines(time_s: FloatArray, altitude_m: FloatArray, digit_m: float) -> Iterator[tuple[int, int]]:
    """The first and last row of every line on which the altitude is, to its last digit."""
    step = np.diff(time_s)
    on: BoolArray = np.abs(np.diff(step)) < _EVEN * step[1:]
    on &= np.abs(np.diff(altitude_m, n=2)) < _DIGITS * digit_m
    corners = np.concatenate(([0], np.flatnonzero(~on) + 1, [len(time_s) - 1]))
    far = np.flatnonzero((np.diff(corners) > _LEAST_ROWS) & (np.diff(time_s[corners]) >= _LEAST_S))
    for first, last in zip(corners[far].tolist(), corners[far + 1].tolist(), strict=True):
        rows = slice(first, last + 1)
        if _off_chord(time_s[rows], altitude_m[rows]) <= _DIGITS * digit_m:
            yield first, last


def _as_filled(time_s: FloatArray, altitude_m: FloatArray, digit_m: float) -> Iterator[tuple[int, int]]:
    """The lines without those that climb or descend, where all climbs and descents are on lines: then they were made so."""
    lines = tuple(_lines(time_s, altitude_m, digit_m))
    later, earlier = (np.interp(time_s + shift, time_s, altitude_m) for shift in (_HALF_S, -_HALF_S))
    sloping = np.abs(later - earlier) > _SLOPE_MPS * 2.0 * _HALF_S
    for first, last in lines:
        sloping[max(first - 1, 0) : last + 2] = False
    bends = np.abs(np.diff(altitude_m, n=2))[sloping[1:-1]]
    bends = bends[np.isfinite(bends)]
    scattered = len(bends) >= _LEAST_ROWS and median(bends) >= _SCATTER * digit_m
    for first, last in lines:
        rises = abs(altitude_m[last] - altitude_m[first]) > _SLOPE_MPS * (time_s[last] - time_s[first])
        if scattered or not rises:
            yield first, last


def _off_chord(time_s: FloatArray, values: FloatArray) -> float:
    """How far values are off the line between the first and the last, at most."""
    share = (time_s - time_s[0]) / (time_s[-1] - time_s[0])
    return float(np.abs(values - values[0] - share * (values[-1] - values[0])).max())


def _without(samples: Samples, empty: BoolArray, out: BoolArray, stuck: BoolArray) -> tuple[Samples, tuple[Note, ...]]:
    notes = []
    if stuck.any():
        count = int(np.count_nonzero(stuck))
        notes.append(Note(f"{counted(count, 'altitude')} stuck at one value to the last digit: left empty", count))
    if empty.any():
        count = int(np.count_nonzero(empty))
        notes.append(Note(f"{counted(count, 'altitude')} on a line to the last digit, so filled in: left empty", count))
    if out.any():
        count = int(np.count_nonzero(out))
        text = f"{counted(count, 'row')} with position and altitude on a line to the last digit, so filled in: left out"
        notes.append(Note(text, count))
    altitude = np.where(empty | stuck, np.nan, samples.altitude_m)
    return replace(samples, altitude_m=altitude).take(~out), tuple(notes)
