"""Records written while a simulator moved its aircraft over the map: a stretch that is far too fast and leads another way."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

import numpy as np

from analyzer.physics.quantiles import median
from analyzer.physics.units import DEG, FloatArray, wrap
from analyzer.track.samples import Samples
from analyzer.track.speed_jumps import WINDOW_STEPS, a_second_apart, speed_jumps
from analyzer.track.steps import plane_m
from analyzer.track.track import Note, counted

__all__ = ["drop_slewed"]

_FASTER = 1.6  # times the speed before and after
_LEAST_MPS = 110.0  # 214 kt
_LONGEST_S = 180.0
_OTHER_WAY_RAD = 30.0 * DEG  # from one second to the next; accelerated time leads on the same way


def drop_slewed(samples: Samples) -> tuple[Samples, tuple[Note, ...]]:
    """Without the records between two places that the aircraft was moved from and to.

    There the ground speed jumps to 214 kt and more, 1.6 times that before and after, and where it begins or ends the direction
    jumps, too. Where it does not, or turns as much all along, time was accelerated.
    """
    kept = np.ones(len(samples), dtype=np.bool_)
    for first, end in _slewed(samples):
        kept[first + 1 : end] = False
    count = len(samples) - int(kept.sum())
    if not count:
        return samples, ()
    text = f"{counted(count, 'record')} while the aircraft was moved, far too fast and another way than it flew: left out"
    return samples.take(kept), (Note(text, count),)


def _slewed(samples: Samples) -> Iterator[tuple[int, int]]:
    """The last sample before and the first one after each stretch in which the aircraft was moved."""
    places = a_second_apart(samples.time_s)
    if len(places) < 2 * WINDOW_STEPS:
        return
    north, east = (np.diff(values[places]) for values in plane_m(samples))
    took = np.diff(samples.time_s[places])
    speed: FloatArray = np.hypot(north, east) / took
    turned = np.abs(wrap(np.diff(np.arctan2(east, north))))
    changes = speed_jumps(speed, took, _FASTER)
    for first, end in pairwise(changes):
        moved_mps = median(speed[first:end])
        before, after = median(speed[max(first - WINDOW_STEPS, 0) : first]), median(speed[end : end + WINDOW_STEPS])
        lasts_s = float(samples.time_s[places[end]] - samples.time_s[places[first]])
        if moved_mps < max(_LEAST_MPS, _FASTER * max(before, after)) or lasts_s > _LONGEST_S:
            continue
        within = median(turned[first : end - 1]) if end - first > 1 else 0.0
        if max(turned[first - 1], turned[end - 1]) > _OTHER_WAY_RAD + 2.0 * within:
            yield int(places[first]), int(places[end])
