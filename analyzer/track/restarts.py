"""A clock that falls back and runs on from there: a state loaded again in a simulator, or two recordings in one file."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import numpy as np

from analyzer.physics.quantiles import median
from analyzer.physics.units import FloatArray
from analyzer.track.offsets import offset_m
from analyzer.track.samples import Samples
from analyzer.track.steps import separation_m, step_m
from analyzer.track.track import Note, counted

__all__ = ["follow_restarts"]

_STEADY = 10  # records on either side of the fall, in which the clock runs forward
_AT_ONCE_STEPS = 3.0  # a clock that runs on passes the instant that it fell from in a step of the log, or a few
_LEAST_AGAIN = 5  # records at instants that came before; fewer are no flight
_APART_M, _APART_HEIGHT_M = 100.0, 30.0  # two receivers in one aircraft are nearer
_ALIKE = 0.95  # of the records, in two logs of one flight
_SLACK_M, _SHARE = 30.0, 0.5  # how well the step over the fall goes with the steps around it


def follow_restarts(samples: Samples) -> tuple[Samples, tuple[Note, ...]]:
    """The samples in the order of the file, by a clock that does not fall, where the same instants come twice and elsewhere.

    The clock falls and runs on from there, and at instants that had been before the aircraft is at other places or heights. So
    what follows the fall was recorded later. Its times move up to a step after the last one before. Where the positions go on
    over the fall, the clock alone was set back; where they do not, another flight begins, whose first row is kept in
    `Samples.begins`. Records that come late, that come twice, or in another order with no such instants are left as they are.
    """
    if len(samples) < 2 * _STEADY:
        return samples, ()
    time = samples.time_s
    steps = np.diff(time)
    usual = median(np.abs(steps))
    falls = [place for place in np.flatnonzero(steps < 0.0).tolist() if usual > 0.0 and _runs_on(time, place, usual)]
    bounds = [0, *(place + 1 for place in falls), len(samples)]
    recorded = list(pairwise(bounds))[1:]
    if not any(_elsewhere(samples, begin, end, usual) for begin, end in recorded):
        return samples, ()
    moved = np.zeros(len(samples))
    begins = []
    words = []
    for begin, end in recorded:
        last_s = float((time + moved)[:begin].max())
        by_s = last_s + usual - float(time[begin:end].min())
        moved[begin:end] = by_s
        words.append((f"{by_s:+,.0f} s", int(samples.row[begin]), int(samples.row[end - 1])))
        if not _goes_on(samples, begin - 1):
            begins.append(int(samples.row[begin]))
    back_s = float(time[falls[0]] - time[falls[0] + 1])
    text = (
        f"the clock falls back {counted(len(falls), 'time')} while the records go on, first by {back_s:,.0f} s after"
        f" {falls[0] + 1:,} records: read in the order of the file, and the times after it moved up"
    )
    return (
        replace(samples, time_s=time + moved, put_right=samples.put_right + tuple(words), begins=tuple(begins)),
        (Note(text, len(samples) - falls[0] - 1),),
    )


def _runs_on(time_s: FloatArray, place: int, usual_s: float) -> bool:
    """Whether a clock that falls after a place had run steadily until there, and runs on through the instant it fell from."""
    before, after = time_s[max(place + 1 - _STEADY, 0) : place + 1], time_s[place + 1 : place + 1 + _STEADY]
    if min(len(before), len(after)) < _STEADY or (np.diff(before) < 0.0).any() or (np.diff(after) < 0.0).any():
        return False
    passed = np.flatnonzero(time_s[place + 1 :] >= time_s[place])
    if not len(passed):
        return True
    first = place + 1 + int(passed[0])
    return float(time_s[first] - time_s[first - 1]) <= _AT_ONCE_STEPS * usual_s


def _elsewhere(samples: Samples, begin: int, end: int, usual_s: float) -> bool:
    """Whether the records from one place of the file to before another contradict those before at the same instants."""
    earlier = samples.take(np.argsort(samples.time_s[:begin], kind="stable"))
    later = samples.take(np.arange(begin, end))
    right = np.clip(np.searchsorted(earlier.time_s, later.time_s), 1, len(earlier) - 1)
    left = right - 1
    took = earlier.time_s[right] - earlier.time_s[left]
    inside = (later.time_s >= earlier.time_s[left]) & (later.time_s <= earlier.time_s[right])
    again = inside & (took <= _AT_ONCE_STEPS * usual_s)
    if int(again.sum()) < _LEAST_AGAIN:
        return False
    share = np.divide(later.time_s - earlier.time_s[left], took, out=np.zeros(len(later)), where=took > 0.0)

    def then(values: FloatArray) -> FloatArray:
        """Values of the earlier records at the instants of the later ones."""
        return values[left] + share * (values[right] - values[left])

    off_m = np.hypot(
        *offset_m(then(earlier.latitude_rad), then(earlier.longitude_rad), later.latitude_rad, later.longitude_rad)
    )
    higher_m = np.abs(later.altitude_m - then(earlier.altitude_m))
    alike = (off_m <= _APART_M) & ~(higher_m > _APART_HEIGHT_M)
    return float(alike[again].mean()) < _ALIKE


def _goes_on(samples: Samples, place: int) -> bool:
    """Whether the positions go on from a place to the next as they do around it."""
    ways = step_m(samples)[max(place - _STEADY + 1, 0) : place + _STEADY]
    usual_m = median(ways)
    ahead_m = float(separation_m(samples, place, place + 1))
    climbed_m = abs(float(samples.altitude_m[place + 1] - samples.altitude_m[place]))
    return abs(ahead_m - usual_m) <= _SHARE * usual_m + _SLACK_M and not climbed_m > _APART_HEIGHT_M
