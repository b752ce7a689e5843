"""The true fixes of a filled-in log: known rows where they are even, else recovered where straight lines meet.

A filled-in point is no measurement: it lies on a chord, inside the turn that was flown, and moves at the chord's mean speed.
The lines are straight in time as well as in space, so the fix itself is where two of them meet, even where the even steps of
the log passed over it and cut the corner.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from itertools import pairwise

import numpy as np

from analyzer.frozen import dataclass
from analyzer.physics import geodesy
from analyzer.physics.units import FloatArray
from analyzer.track.even_fixes import EvenFixes
from analyzer.track.samples import Samples
from analyzer.track.track import Note, counted

__all__ = ["keep_even_fixes", "keep_true_fixes"]

_STRAIGHT_M = 1.0  # off the middle of its neighbours: on the line between them, and rounded
_EVEN = 0.05  # of a step, by which it may differ from the next
_MEETS_M = 5.0  # two lines at one instant: rounding, stretched over the step between
_USUAL_S = 12.0  # between fixes, where no corners show the interval


@dataclass(frozen=True)
class _Line:
    """A straight line in space and time: its first and last sample."""

    first: int
    last: int


def keep_even_fixes(samples: Samples, fixes: EvenFixes) -> tuple[Samples, tuple[Note, ...]]:
    """The samples that are fixes, with the first and the last of the log, which lie next to one."""
    kept = fixes.is_fix.copy()
    kept[[0, -1]] = True
    left = len(samples) - int(np.count_nonzero(kept))
    by = "straight lines" if fixes.straight else "curves"
    every = f"{fixes.interval_s:.3g} s apart"
    text = f"filled in by {by} between true fixes {every}: {counted(left, 'point')} between them left out"
    return samples.take(kept), (Note(text, left),)


def keep_true_fixes(samples: Samples) -> tuple[Samples, tuple[Note, ...]]:
    """The samples without those that were filled in.

    Corners are kept, as are the places where lines meet between samples; long lines keep as many fixes as there are elsewhere.
    """
    north_east = np.stack(geodesy.north_east(samples.latitude_rad, samples.longitude_rad), axis=1)
    lines = tuple(_lines(samples.time_s, north_east))
    times = sorted({round(time, 3) for time in _fix_times(samples.time_s, north_east, lines)})
    kept = _at(samples, np.array(times), lines)
    left = len(samples) - len(kept)
    text = (
        f"filled in by straight lines between fewer true fixes: {counted(left, 'point')} between them left out, and the fixes "
        "found where the lines meet; bank and rate of turn cannot be measured"
    )
    return kept, (Note(text, left),)


def _lines(time_s: FloatArray, north_east: FloatArray) -> Iterator[_Line]:
    """Straight lines that share their end with the next, in order; a line of two samples may be what cuts a corner."""
    step = np.diff(time_s)
    even = np.abs(np.diff(step)) < _EVEN * step[1:]
    # by the lever of the steps: where the middle one would be on the line between its neighbours
    share = (step[:-1] / (step[:-1] + step[1:]))[:, None]
    middle = north_east[:-2] * (1.0 - share) + north_east[2:] * share
    straight = even & (np.hypot(*(north_east[1:-1] - middle).T) < _STRAIGHT_M)
    corners = [0, *(np.flatnonzero(~straight) + 1).tolist(), len(time_s) - 1]
    for first, last in pairwise(corners):
        yield _Line(first, last)


def _fix_times(time_s: FloatArray, north_east: FloatArray, lines: tuple[_Line, ...]) -> Iterator[float]:
    """When the true fixes were recorded."""
    long = [line for line in lines if line.last - line.first > 1]
    usual = float(np.median([time_s[line.last] - time_s[line.first] for line in long])) if long else _USUAL_S
    yield float(time_s[0])
    yield float(time_s[-1])
    cut: set[int] = set()
    for before, short, after in zip(lines, lines[1:], lines[2:], strict=False):
        if short.last - short.first == 1 and min(before.last - before.first, after.last - after.first) > 1:
            met = _meet(time_s, north_east, before, after)
            if met is not None:
                cut |= {short.first, short.last}
                yield met
    for line in lines:
        yield from (float(time_s[end]) for end in (line.first, line.last) if end not in cut)
        whole = float(time_s[line.last] - time_s[line.first])
        between = round(whole / usual)
        if line.last - line.first > 1 and between > 1:
            # on a straight line as many as there are fixes elsewhere
            yield from (float(time) for time in np.linspace(time_s[line.first], time_s[line.last], between + 1)[1:-1])


def _meet(time_s: FloatArray, north_east: FloatArray, before: _Line, after: _Line) -> float | None:
    """When two lines meet between the end of one and the beginning of the other; None where they do not. [s]"""
    velocity = [
        (north_east[line.last] - north_east[line.first]) / (time_s[line.last] - time_s[line.first]) for line in (before, after)
    ]
    end, begin = float(time_s[before.last]), float(time_s[after.first])
    apart = north_east[after.first] - north_east[before.last] - velocity[1] * (begin - end)  # at the end of the first
    turn = velocity[0] - velocity[1]
    since = float(apart @ turn) / max(float(turn @ turn), 1e-9)
    if not 0.0 < since < begin - end or float(np.hypot(*(apart - turn * since))) > _MEETS_M:
        return None
    return end + since


def _at(samples: Samples, time_s: FloatArray, lines: tuple[_Line, ...]) -> Samples:
    """The samples at some instants: unchanged where a sample exists, otherwise on the line through that instant."""
    nearest = np.clip(np.searchsorted(samples.time_s, time_s - 1e-3), 0, len(samples) - 1)
    kept = samples.take(nearest)
    between = np.flatnonzero(np.abs(samples.time_s[nearest] - time_s) > 1e-3)
    if not len(between):
        return kept
    ends = np.array([line.last for line in lines if line.last - line.first > 1])
    starts = np.array([line.first for line in lines if line.last - line.first > 1])
    which = np.clip(np.searchsorted(samples.time_s[starts], time_s[between], side="right") - 1, 0, len(starts) - 1)
    first, last = starts[which], ends[which]
    share = (time_s[between] - samples.time_s[first]) / (samples.time_s[last] - samples.time_s[first])

    def along(values: FloatArray) -> FloatArray:
        interpolated = values[nearest].copy()
        interpolated[between] = values[first] + share * (values[last] - values[first])
        return interpolated

    return replace(
        kept,
        time_s=time_s,
        latitude_rad=along(samples.latitude_rad),
        longitude_rad=along(samples.longitude_rad),
        altitude_m=_altitude(samples, time_s),
    )


def _altitude(samples: Samples, time_s: FloatArray) -> FloatArray:
    """Altitudes at the instants, straight between those logged; NaN where none is near."""
    known = np.isfinite(samples.altitude_m)
    if not known.any():
        return np.full(len(time_s), np.nan)
    found: FloatArray = np.interp(time_s, samples.time_s[known], samples.altitude_m[known])
    return found
