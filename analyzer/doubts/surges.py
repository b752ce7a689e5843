"""Ground speeds that jump as no aircraft's do: time was accelerated, by a factor that the log does not give away."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

import numpy as np

from analyzer.checks.phrases import clock
from analyzer.doubts.doubt import Doubt
from analyzer.motion.motion import Motion
from analyzer.physics.quantiles import median
from analyzer.physics.units import KT, FloatArray
from analyzer.track.speed_jumps import WINDOW_STEPS, a_second_apart, speed_jumps

__all__ = ["surges"]

_FACTOR = 1.3  # the least change of speed; less may be a gust and a receiver's error together
_HOLE_STEPS = 2.5
_ALIKE = 1.15  # speeds before the first jump and after the last, of a clock that keeps time again


def surges(motion: Motion) -> Iterator[Doubt]:
    """A doubt if the ground speed jumps: about the stretches at another pace, or the flight where none shows the true one."""
    places = a_second_apart(motion.track.time_s)
    if len(places) < 2:
        return
    time, place = motion.track.time_s[places], motion.curves.sample_north_east_m[places]
    took = np.diff(time)
    speed: FloatArray = np.hypot(*np.diff(place, axis=0).T) / took
    # the speed across a hole is a mean, of turns too
    whole = took < _HOLE_STEPS * median(took)
    # at either end of a log of few records a roll on the runway looks alike
    ends = 2 * WINDOW_STEPS, len(speed) - 2 * WINDOW_STEPS
    found = speed_jumps(speed, took, _FACTOR)
    jumps = [jump for jump in found if ends[0] <= jump <= ends[1] and whole[jump - 1 : jump + 1].all()]
    if not jumps:
        return
    before, after = _around(speed, jumps[0])
    text = (
        f"At {clock(float(time[jumps[0]]))} the ground speed goes from {before / KT:.0f} to {after / KT:.0f} kt from one "
        "record to the next, as no aircraft's does: time was accelerated, the aircraft was moved, the times are wrong, or "
        "positions were filled in. Speeds, times, bank and wind depend on them; look at both in the log."
    )
    yield Doubt(text, "all", "its clock cannot be right", tuple(_spans(time, speed, jumps)), "clock?")


def _around(speed: FloatArray, jump: int) -> tuple[float, float]:
    """The speeds before and after a jump. [m/s]"""
    return median(speed[max(jump - WINDOW_STEPS, 0) : jump]), median(speed[jump : jump + WINDOW_STEPS])


def _spans(time_s: FloatArray, speed: FloatArray, jumps: list[int]) -> Iterator[tuple[float, float]]:
    """The stretches at another pace than the first and the last; none where these two differ."""
    level = np.cumprod([1.0, *(after / before for before, after in (_around(speed, jump) for jump in jumps))])
    if not 1.0 / _ALIKE < level[-1] < _ALIKE:
        return
    for here, (first, end) in zip(level[1:-1], pairwise(jumps), strict=True):
        if not 1.0 / _ALIKE < here < _ALIKE:
            yield float(time_s[first]), float(time_s[end])
