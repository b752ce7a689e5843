"""Steps of the altitude from one record to the next that no aircraft makes, and stretches between a step and the way back.

A receiver that takes in another satellite, an altimeter that is set anew, or a second source changes the altitude at once, by
less than a descent often does in a minute; but the climb before and after goes on as it was.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from analyzer.physics.quantiles import median
from analyzer.physics.units import GRAVITY, FloatArray
from analyzer.track.samples import Samples
from analyzer.track.track import Note, counted

__all__ = ["altitude_steps", "drop_altitudes_aside"]

_LEAST_M = 12.0  # beyond the climb around it
# What can be flown beyond it between two records: 4,000 ft/min, and of close ones 2,000 ft/min and a pull and a push of 1.5 g.
_FASTEST_MPS, _OTHER_MPS, _PULL_MPS2 = 20.0, 10.0, 1.5 * GRAVITY
_AROUND = 5  # changes on either side, whose median is the climb around
_STAYS = 0.6  # of the step, by which the levels before and after differ
_USUAL = 8.0  # times the usual difference between one change and the next
_UNITS = 2.5  # of the last digit: by two of them coarse altitudes step by themselves
_SAME_M = 1e-3
_LONGEST_S = 30.0  # between two altitudes, in which more may have been flown
_ASIDE_S, _BACK = 30.0, 0.3  # how long a stretch aside may last, and by what share of the step its end may miss the way back
_MOST_DROPPED = 0.25


def altitude_steps(time_s: FloatArray, altitude_m: FloatArray) -> FloatArray:
    """By how much the altitude steps from each record to the next beyond the climb around, 0 where it is flown. [m]"""
    change, took = np.diff(altitude_m), np.diff(time_s)
    steps = np.zeros(len(change))
    if len(change) < 2 * _AROUND + 1:
        return steps
    size = np.abs(change)
    unit = float(np.min(size[size > _SAME_M], initial=np.inf))
    unlike = _USUAL * median(np.abs(np.diff(change)))
    flown = np.minimum(_FASTEST_MPS * took, _OTHER_MPS * took + 0.25 * _PULL_MPS2 * took**2)
    limit = np.maximum(max(_LEAST_M, unlike, _UNITS * unit if np.isfinite(unit) else 0.0), flown)
    places = np.flatnonzero((size > limit) & (took < _LONGEST_S))
    for place in places[(places >= _AROUND) & (places < len(change) - _AROUND)].tolist():
        around = np.r_[place - _AROUND : place, place + 1 : place + 1 + _AROUND]
        climb_mps = median(change[around] / took[around])
        step = float(change[place]) - climb_mps * float(took[place])
        rows = slice(place + 1 - _AROUND, place + 1 + _AROUND)
        # behind a hole the climb around says nothing of what was flown in it, so that the levels as they are count as well
        levels = altitude_m[rows], altitude_m[rows] - climb_mps * (time_s[rows] - time_s[place])
        apart = max((median(level[_AROUND:]) - median(level[:_AROUND])) * np.sign(step) for level in levels)
        if abs(step) > limit[place] and apart > _STAYS * abs(step):
            steps[place] = step
    return steps


def drop_altitudes_aside(samples: Samples) -> tuple[Samples, tuple[Note, ...]]:
    """The altitude left empty from a step that no aircraft makes to the same step back, up to 30 s later.

    They stay where more than a quarter of the log would go: then nothing says which altitudes are right.
    """
    known = np.flatnonzero(np.isfinite(samples.altitude_m))
    time = samples.time_s[known]
    steps = altitude_steps(time, samples.altitude_m[known])
    places = np.flatnonzero(steps)
    out = np.zeros(len(known), dtype=np.bool_)
    after = -1
    for first, last in zip(places[:-1].tolist(), places[1:].tolist(), strict=True):
        lasts_s = float(time[last] - time[first + 1])
        if first > after and lasts_s <= _ASIDE_S and abs(steps[first] + steps[last]) < _BACK * abs(steps[first]):
            out[first + 1 : last + 1] = True
            after = last
    count = int(np.count_nonzero(out))
    if not count or count > _MOST_DROPPED * len(known):
        return samples, ()
    repaired = samples.altitude_m.copy()
    repaired[known[out]] = np.nan
    text = f"{counted(count, 'altitude')} between a step that no aircraft makes and the same back: left empty"
    return replace(samples, altitude_m=repaired), (Note(text, count),)
