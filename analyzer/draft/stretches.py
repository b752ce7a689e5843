"""The turns of a path."""

from __future__ import annotations

from itertools import pairwise

import numpy as np

from analyzer.frozen import dataclass
from analyzer.motion.states import States
from analyzer.physics.units import DEG, unwrapped

__all__ = ["Turned", "turns_of"]

_TURNING_RAD_S = 1.0 * DEG
_LEAST_S = 6.0  # states are a second apart
_ROLLED_S = 8.0  # turns in one direction with less than this between them are one
_LEAST_RAD = 30.0 * DEG  # less is a correction


@dataclass(frozen=True)
class Turned:
    """A turn: start and end, and the change of track, positive to the right. [s, rad]"""

    start_s: float
    end_s: float
    by_rad: float


def turns_of(states: States) -> tuple[Turned, ...]:
    """The turns of a stretch in order, without corrections of less than 30°."""
    if len(states) < _LEAST_S:
        return ()
    track = unwrapped(states.track_rad)
    way = np.where(np.abs(states.turn_rate_rad_s) > _TURNING_RAD_S, np.sign(states.turn_rate_rad_s), 0.0)
    edges = np.flatnonzero(np.diff(np.concatenate([[0.0], way, [0.0]])))
    runs = [(int(a), int(b) - 1, float(way[a])) for a, b in pairwise(edges) if way[a]]
    joined: list[tuple[int, int, float]] = []
    for first, last, side in runs:
        if joined and joined[-1][2] == side and states.time_s[first] - states.time_s[joined[-1][1]] < _ROLLED_S:
            joined[-1] = joined[-1][0], last, side
        else:
            joined.append((first, last, side))
    turns = [
        Turned(float(states.time_s[first]), float(states.time_s[last]), float(track[last] - track[first]))
        for first, last, _ in joined
        if states.time_s[last] - states.time_s[first] >= _LEAST_S
    ]
    return tuple(turn for turn in turns if abs(turn.by_rad) >= _LEAST_RAD)
