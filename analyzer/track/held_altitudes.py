"""Altitudes that are measured every few seconds and written again on the records between.

What is written again is as old as the measurement, so a descent becomes a staircase whose steps look like jumps. Rounding makes
stairs as well, but each of its steps is the same one unit, and they come when the flight makes them, not by a clock. Measured
altitudes that are rounded as well step by one unit, but by the clock, and where they scatter up and down.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import numpy.typing as npt

from analyzer.physics.quantiles import median
from analyzer.physics.units import FloatArray
from analyzer.track.samples import Samples
from analyzer.track.track import Note, counted

__all__ = ["drop_held_altitudes"]

_LEAST_CHANGES = 15
_LEAST_STEPS = 1.5  # records: fewer are no repeats
_LONGEST_S = 60.0
_REGULAR = 0.9  # of the times between changes are whole multiples of the usual one
_OFF = 0.2  # of that time: how near a multiple has to be
_SAME_M = 1e-3
_UNITS, _SEVERAL = 1.5, 0.3  # so many changes are of more than one unit, as those of a rounded altitude are not
# By one clock all through: nearly all of so many changes, of which several turn back or some are of more than one unit, as
# those of a steady descent are not.
_MANY, _BY_THE_CLOCK, _TURN_BACK, _SOME, _SHORTEST = 30, 0.97, 0.15, 0.05, 0.2


def drop_held_altitudes(samples: Samples) -> tuple[Samples, tuple[Note, ...]]:
    """The altitude left empty where it is only written again, in a log whose altitude changes by a clock of its own.

    That is every two records or seldomer, evenly, and by more than its last digit in three of ten changes at least, or else by
    one clock all through the log. Kept are the altitudes that are new, and where the flight is level those that
    are due.
    """
    known = np.flatnonzero(np.isfinite(samples.altitude_m))
    if len(known) < 2 * _LEAST_CHANGES:
        return samples, ()
    time, altitude = samples.time_s[known], samples.altitude_m[known]
    fresh = np.concatenate(([0], np.flatnonzero(np.abs(np.diff(altitude)) > _SAME_M) + 1))
    every_s = _every_s(time, altitude, fresh) or _by_one_clock_s(time, altitude, fresh)
    if every_s is None:
        return samples, ()
    since = time - time[fresh][np.searchsorted(fresh, np.arange(len(time)), side="right") - 1]
    step = median(np.diff(time))
    behind = np.abs(since - every_s * np.round(since / every_s))
    held = (since > 0.0) & (behind > 0.5 * step)
    count = int(np.count_nonzero(held))
    if not count:
        return samples, ()
    repaired = samples.altitude_m.copy()
    repaired[known[held]] = np.nan
    text = f"the altitude is new every {every_s:.0f} s only, and written again between: {counted(count, 'altitude')} left empty"
    return replace(samples, altitude_m=repaired), (Note(text, count),)


def _every_s(time_s: FloatArray, altitude_m: FloatArray, fresh: npt.NDArray[np.intp]) -> float | None:
    """How often the altitude is new, from the places where it changes; None where no clock shows."""
    if len(fresh) < _LEAST_CHANGES + 1:
        return None
    between, change = np.diff(time_s[fresh]), np.abs(np.diff(altitude_m[fresh]))
    every = median(between)
    if every < _LEAST_STEPS * median(np.diff(time_s)) or every > _LONGEST_S:
        return None
    multiple = np.maximum(np.round(between / every), 1.0)
    regular = np.abs(between - every * multiple) < _OFF * every
    several = change > _UNITS * float(change.min())
    return every if regular.mean() >= _REGULAR and several.mean() >= _SEVERAL else None


def _by_one_clock_s(time_s: FloatArray, altitude_m: FloatArray, fresh: npt.NDArray[np.intp]) -> float | None:
    """How often a rounded altitude is new, where all its changes are whole multiples of that apart; None where they are not."""
    if len(fresh) < _MANY + 1:
        return None
    step, changes = median(np.diff(time_s)), fresh[1:]
    every = float(np.quantile(np.diff(time_s[changes]), _SHORTEST, method="lower"))
    if every < _LEAST_STEPS * step or every > _LONGEST_S:
        return None
    since = time_s[changes] - time_s[changes[0]]
    by_clock = np.abs(since - every * np.round(since / every)) < 0.5 * step
    change = altitude_m[changes] - altitude_m[changes - 1]
    back, size = np.mean(np.sign(change[1:]) != np.sign(change[:-1])), np.abs(change)
    measured = back >= _TURN_BACK or np.mean(size > _UNITS * size.min()) >= _SOME
    return every if by_clock.mean() >= _BY_THE_CLOCK and measured else None
