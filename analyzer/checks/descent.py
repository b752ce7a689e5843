"""The step-down from the altitude of the reversal to that of the inbound leg: when it began and ended."""

from __future__ import annotations

import numpy as np

from analyzer.frozen import dataclass
from analyzer.legs.reversal import Reversal
from analyzer.motion.motion import Motion
from analyzer.motion.states import States
from analyzer.physics.units import FPM, FT

__all__ = ["Descent", "first_below", "measure_descent"]

_LEFT_M = 50.0 * FT  # a descent begins this far below its level, and ends this close to the next
_LEAST_M = 200.0 * FT  # a smaller change of altitude is not a step-down
_LEVEL_MPS = 150.0 * FPM
_BEFORE_S = 300.0  # searched before a straight-in is established; earlier descents lead to the approach


@dataclass(frozen=True)
class Descent:
    """A step-down: when it began and ended; None for an end that was not reached. [s]"""

    start_s: float
    end_s: float | None


def measure_descent(motion: Motion, reversal: Reversal) -> Descent | None:
    """The step-down from the altitude of the reversal to the inbound one; None if there was none, or the log does not show it.

    It is the descent through the altitude half way between the charted minimums of the two legs, or, where they are not
    charted, between the altitudes at the ends of the outbound and inbound parts. It is traced back to level flight. On an arc
    it starts from the altitude of the arc, and straight in from that of the arrival.
    """
    around, inbound = reversal.part("outbound") or reversal.part("arc"), reversal.part("inbound")
    if inbound is None or not motion.has_altitude:
        return None
    begin_s = around.start_s if around is not None else max(reversal.parts[0].start_s, inbound.start_s - _BEFORE_S)
    states = motion.states.between(begin_s, reversal.parts[-1].end_s)
    altitude = states.altitude_m
    if not np.isfinite(altitude).all() or motion.gaps_between(begin_s, inbound.end_s):
        return None
    floors = motion.charted.floors_m
    if around is not None:
        before = floors.get("reversal", motion.altitude_at(around.end_s))
    else:
        before = floors.get("arrival", motion.altitude_at(begin_s))
    after = floors.get("inbound", motion.altitude_at(inbound.end_s))
    through = np.flatnonzero(altitude > (before + after) / 2.0)
    if before - after < _LEAST_M or not len(through) or through[-1] == len(altitude) - 1:
        return None
    return _trace(states, int(through[-1]), after)


def _trace(states: States, middle: int, next_m: float) -> Descent | None:
    """The descent around a state: from the level before it to the level after it, or to the next altitude.

    None where the states begin in the descent.
    """
    altitude, climb = states.altitude_m, states.vertical_speed_mps
    level_before = np.flatnonzero(climb[: middle + 1] > -_LEVEL_MPS)
    if not len(level_before):
        return None
    begin = int(level_before[-1])
    start = first_below(states, float(altitude[begin]) - _LEFT_M, begin)
    over = np.flatnonzero((climb[middle:] > -_LEVEL_MPS) | (altitude[middle:] < next_m))
    end = middle + int(over[0]) if len(over) else len(altitude) - 1
    reached = first_below(states, float(altitude[end]) + _LEFT_M, begin) if len(over) else None
    return Descent(start if start is not None else float(states.time_s[begin]), reached)


def first_below(states: States, level_m: float, first: int) -> float | None:
    """When the altitude is first below a level from a state on; None if never, NaN if the state before has none. [s]"""
    below = np.flatnonzero(states.altitude_m[first:] < level_m) + first
    if not len(below):
        return None
    i = int(below[0])
    if i == first:
        return float(states.time_s[i])
    share = (states.altitude_m[i - 1] - level_m) / (states.altitude_m[i - 1] - states.altitude_m[i])
    return float(states.time_s[i - 1] + share * (states.time_s[i] - states.time_s[i - 1]))
