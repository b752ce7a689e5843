"""A clock of the day over midnight, whether its date column follows, comes early or late, or stays behind."""

from __future__ import annotations

import numpy as np

from analyzer.physics.units import FloatArray
from analyzer.track.track import Note, counted

__all__ = ["DAY_S", "follow_midnights"]

DAY_S = 86400.0
_NEARLY_S = 23.0 * 3600.0  # a clock that falls by so much has crossed midnight
_SAME_INSTANT_S = 60.0  # a date that turns alone leaves the clock going on by a step of the log


def follow_midnights(seconds: FloatArray) -> tuple[FloatArray, tuple[Note, ...]]:
    """Add a day where the clock falls by 23 hours or more and the date does not follow, until it does.

    Where the date turns while the clock goes on by less than a minute, so that a day seems to pass between two rows, a day is
    taken off from there on, until the clock falls. A date column may be that of another zone than the clock's.
    """
    known = np.flatnonzero(~np.isnan(seconds))
    steps = np.diff(seconds[known])
    changes = np.zeros(len(known))  # of the days added
    crossed, alone, pending = 0, 0, 0
    for place in np.flatnonzero(np.abs(steps) >= _NEARLY_S).tolist():
        step = float(steps[place])
        if -DAY_S - _SAME_INSTANT_S <= step < 0.0:
            pending += 1
            crossed += 1
            changes[place + 1] = 1.0
        elif step > 0.0 and pending > 0:
            pending -= 1
            changes[place + 1] = -1.0
        elif DAY_S <= step <= DAY_S + _SAME_INSTANT_S:
            pending -= 1
            alone += 1
            changes[place + 1] = -1.0
    result = seconds.copy()
    result[known] += np.cumsum(changes) * DAY_S
    notes = []
    if crossed > alone:
        text = f"{counted(crossed - alone, 'midnight')} crossed without a new date: a day added from there on"
        notes.append(Note(text, crossed - alone))
    if alone:
        notes.append(Note("the date changes while the clock goes on: the clock is followed, and the day may be one off", alone))
    return result, tuple(notes)
