"""Stretches of a log that a straight line fills, where the receiver had no fix.

Trackers, and people with a spreadsheet, fill a hole with rows on the chord between its ends. Where the aircraft turned
meanwhile the chord meets the flight at a corner that no aircraft flies, and the rows on it are straighter than rounding and
noise leave those of a flight. Such rows are no measurements; without them the hole is what it was. In straight flight a line
does no harm.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from analyzer.physics.geodesy import MEAN_RADIUS_M
from analyzer.physics.units import DEG, BoolArray, FloatArray, unwrapped, wrap
from analyzer.track.rounding import COMPUTED_RAD
from analyzer.track.samples import Samples
from analyzer.track.steps import plane_m
from analyzer.track.track import Note, counted

__all__ = ["drop_filled_stretches"]

_EVEN = 0.05  # of a step, by which it may differ from the next
_DIGITS = 2.05  # a second difference of rounded numbers on a line is no more than two units of their last digit
_LEAST_ROWS, _LEAST_S = 5, 5.0  # between the ends of a line
_CORNER_RAD, _CORNER_RAD_S = 10.0 * DEG, 6.5 * DEG  # at an end of the line, and by the step there: no turn is as tight
_NEXT_STEPS = 3  # that show the direction of flight beyond an end
_ALIKE = 1.6  # the speeds on the line and beyond its ends differ by no more than this factor: the position did not jump


def drop_filled_stretches(samples: Samples) -> tuple[Samples, tuple[Note, ...]]:
    """The samples without those on straight lines that begin or end at a corner which no aircraft flies."""
    if len(samples) < _LEAST_ROWS + 2 * _NEXT_STEPS:
        return samples, ()
    kept = np.ones(len(samples), dtype=np.bool_)
    lines = tuple(_lines(samples))
    for first, last in lines:
        kept[first + 1 : last] = False
    left = len(samples) - int(np.count_nonzero(kept))
    if not left:
        return samples, ()
    clocks = [
        f"{whole // 60}:{whole % 60:02d}" for whole in (round(samples.time_s[k] - samples.time_s[0]) for k, _ in lines[:3])
    ]
    text = (
        f"{counted(left, 'position')} on {counted(len(lines), 'straight line')} between corners that no aircraft flies (at "
        f"{', '.join(clocks)}{', ...' if len(lines) > 3 else ''} after the first record): filled in without a fix, so left out"
    )
    return samples.take(kept), (Note(text, left),)


def _lines(samples: Samples) -> Iterator[tuple[int, int]]:
    """The first and last sample of every straight line with a corner at an end; these two are positions as received."""
    time = samples.time_s
    north, east = plane_m(samples)
    angles = samples.latitude_rad, unwrapped(samples.longitude_rad)
    digits = tuple(digit + COMPUTED_RAD for digit in samples.digits_rad)
    corners = np.concatenate(([0], np.flatnonzero(~_on_lines(time, angles, digits)) + 1, [len(samples) - 1]))
    far = np.flatnonzero((np.diff(corners) > _LEAST_ROWS) & (np.diff(time[corners]) >= _LEAST_S))
    for first, last in zip(corners[far].tolist(), corners[far + 1].tolist(), strict=True):
        # many small bends, each within rounding, are a curve
        rows, share = slice(first, last + 1), (time[first : last + 1] - time[first]) / (time[last] - time[first])
        chords = ((angle[rows], angle[first] + share * (angle[last] - angle[first])) for angle in angles)
        if any(np.abs(angle - on).max() > digit for (angle, on), digit in zip(chords, digits, strict=True)):
            continue
        course, speed = _course_and_speed(time, (north, east), first, last)
        blur_m = float(np.hypot(digits[0], digits[1] * np.cos(samples.latitude_rad[first]))) * MEAN_RADIUS_M
        before = (max(first - _NEXT_STEPS, 0), first)
        after = (last, min(last + _NEXT_STEPS, len(samples) - 1))
        if any(
            _is_corner(time, (north, east), (course, speed), beyond, step, blur_m)
            for beyond, step in ((before, first - 1), (after, last))
            if beyond[1] > beyond[0]
        ):
            yield first, last


def _on_lines(time_s: FloatArray, angles: tuple[FloatArray, ...], digits: tuple[float, ...]) -> BoolArray:
    """Whether each sample but the first and the last lies on the line between its neighbours, but for rounding."""
    step = np.diff(time_s)
    on: BoolArray = np.abs(np.diff(step)) < _EVEN * step[1:]
    for angle, digit in zip(angles, digits, strict=True):
        on &= np.abs(np.diff(angle, n=2)) < _DIGITS * digit
    return on


def _is_corner(
    time_s: FloatArray,
    places: tuple[FloatArray, FloatArray],
    line: tuple[float, float],
    beyond: tuple[int, int],
    step: int,
    blur_m: float,
) -> bool:
    """Whether the flight next to a line goes on at once in another direction, and at much the same speed.

    `line` is its direction and speed, `beyond` the samples next to it, `step` the first of the step there, and `blur_m` what
    rounding makes of a place.
    """
    onward, pace = _course_and_speed(time_s, places, *beyond)
    _, at_once = _course_and_speed(time_s, places, step, step + 1)
    speeds = (line[1], pace, at_once)
    if min(speeds) <= 0.0 or max(speeds) > _ALIKE * min(speeds):
        return False
    whole_s, step_s = (float(time_s[end] - time_s[begin]) for begin, end in (beyond, (step, step + 1)))
    turned = abs(float(wrap(onward - line[0]))) - blur_m / (pace * whole_s)
    return turned > max(_CORNER_RAD, _CORNER_RAD_S * 0.5 * (whole_s + step_s))


def _course_and_speed(time_s: FloatArray, places: tuple[FloatArray, FloatArray], first: int, last: int) -> tuple[float, float]:
    """Direction [rad] and speed [m/s] from one sample to another, by their places to north and to east. [m]"""
    to_north, to_east = (float(values[last] - values[first]) for values in places)
    return float(np.arctan2(to_east, to_north)), float(np.hypot(to_north, to_east)) / float(time_s[last] - time_s[first])
