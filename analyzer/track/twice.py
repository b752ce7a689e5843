"""One flight logged twice, an even number of half hours apart: two exports put together, one in local time."""

from __future__ import annotations

import numpy as np

from analyzer.track.samples import Samples
from analyzer.track.steps import FLYING_MPS, separation_m
from analyzer.track.track import Note, counted

__all__ = ["drop_second_copy"]

_ZONES_S = 1800.0  # zones are half an hour apart, and a few by quarters
_FURTHEST_S = 14 * 3600.0
_LEAST_SAMPLES, _LEAST_S = 60, 300.0
_NEAR_M, _NEAR_S = 100.0, 5.0
_MOSTLY = 0.9


def drop_second_copy(samples: Samples) -> tuple[Samples, tuple[Note, ...]]:
    """Without the samples that repeat the path from the beginning on, place for place, a constant number of half hours later.

    No aircraft flies the same path for minutes to 100 m and five seconds. What comes before the copy stays.
    """
    time = samples.time_s
    longest_s = min(_FURTHEST_S, float(time[-1] - time[0]) - _LEAST_S)
    for half_hours in range(1, int(longest_s // _ZONES_S) + 1):
        delay_s = half_hours * _ZONES_S
        first = int(np.searchsorted(time, time[0] + delay_s - _NEAR_S))
        if len(time) - first < _LEAST_SAMPLES:
            break
        if time[first] - time[first - 1] > _NEAR_S and _repeats(samples, first, delay_s):
            count = len(time) - first
            text = (
                f"{counted(count, 'record')} that repeat the flight {delay_s / 3600.0:g} h later, place for place: the same"
                " flight by another clock, dropped. If the later times are the right ones, give the log without the earlier"
            )
            return samples.take(np.arange(first)), (Note(text, count),)
    return samples, ()


def _repeats(samples: Samples, first: int, delay_s: float) -> bool:
    """Whether the samples from a place on are near those of a delay before, nearly all of them, and in flight."""
    later = np.arange(first, len(samples))
    due = samples.time_s[later] - delay_s
    nearest = np.clip(np.searchsorted(samples.time_s, due), 1, first - 1)
    nearest -= due - samples.time_s[nearest - 1] < samples.time_s[nearest] - due
    at_once = np.abs(samples.time_s[nearest] - due) <= _NEAR_S
    near = at_once & (separation_m(samples, nearest, later) < _NEAR_M)
    lasts_s = float(samples.time_s[-1] - samples.time_s[first])
    speed = separation_m(samples, later[:-1], later[1:]) / np.maximum(np.diff(samples.time_s[later]), 1e-3)
    return lasts_s >= _LEAST_S and float(near.mean()) >= _MOSTLY and float(np.median(speed)) > FLYING_MPS
