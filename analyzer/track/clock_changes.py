"""A clock that is set forward or back by whole half hours in the middle of a flight, as for summer time or another zone."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from analyzer.physics.quantiles import median
from analyzer.track.samples import Samples
from analyzer.track.steps import step_m
from analyzer.track.track import Note

__all__ = ["follow_clock_changes"]

_HALF_HOUR_S = 1800.0
_MOST_HALF_HOURS = 48.0  # zones are less than a day apart; a greater jump is a fault of the clock, not a setting
_COARSE_S = 30.0  # beyond such a step it cannot be known that the flight continued
_AROUND = 5  # steps on either side, whose median speed is the one expected
_FLYING_MPS = 15.0
_STEPS_OVER = 3.0  # what is left of the change is a step of the log, or a few
_SHARE, _SLACK_M = 0.5, 30.0  # how well the way over the change goes with the speed around it


def follow_clock_changes(samples: Samples) -> tuple[Samples, tuple[Note, ...]]:
    """The samples by the clock that they begin with, and a note on each change of it.

    The clock was set where two consecutive rows are half hours plus about one step apart, and the distance between them is what
    the speed around covers in that step. A gap in the log would have to last half hours to the second, and the aircraft to
    return to where it was.
    """
    if len(samples) < 2 * _AROUND:
        return samples, ()
    steps = np.diff(samples.time_s)
    usual = median(np.abs(steps))
    half_hours = np.round(steps / _HALF_HOUR_S)
    rests = steps - half_hours * _HALF_HOUR_S
    set_by_hand = (half_hours != 0.0) & (np.abs(half_hours) <= _MOST_HALF_HOURS)
    places = np.flatnonzero(set_by_hand & (rests > 0.0) & (rests <= _STEPS_OVER * usual))
    if not 0.0 < usual <= _COARSE_S or not len(places):
        return samples, ()
    ways = step_m(samples)
    change = np.zeros(len(samples))
    notes = []
    for place in places.tolist():
        around = np.r_[max(place - _AROUND, 0) : place, place + 1 : min(place + 1 + _AROUND, len(steps))]
        around = around[steps[around] > 0.0]
        speed = median(ways[around] / steps[around]) if len(around) else 0.0
        expected = speed * float(rests[place])
        if speed < _FLYING_MPS or abs(float(ways[place]) - expected) > _SHARE * expected + _SLACK_M:
            continue
        change[place + 1] = -float(half_hours[place]) * _HALF_HOUR_S
        hours = abs(float(half_hours[place])) / 2.0
        way = "forward" if half_hours[place] > 0.0 else "back"
        text = f"the clock is set {way} by {hours:g} h in flight, as the positions go on: the clock before is followed"
        notes.append(Note(text, len(samples) - place - 1))
    return replace(samples, time_s=samples.time_s + np.cumsum(change)), tuple(notes)
