"""Height lost in a go-around begun at a decision altitude, which is allowed below it.

How much is this program's own reading, in no publication: two seconds at the rate of descent on reaching the altitude, then a
pull-up of a quarter g.
"""

from __future__ import annotations

import numpy as np

from analyzer.motion.states import States
from analyzer.physics.units import GRAVITY

__all__ = ["loss_m"]

_REACTION_S, _PULL_UP = 2.0, 0.25  # seconds at the rate of descent, then a pull-up in g; an assumption
_SINK_OVER_S = 15.0
_LOOK_BACK_S = 45.0  # much longer than a pull-up lasts


def loss_m(states: States, minimum_m: float) -> float:
    """Height lost in a go-around at the rate of descent on reaching a minimum. [m]"""
    sink = _sink(states, minimum_m)
    return _REACTION_S * sink + sink**2 / (2.0 * _PULL_UP * GRAVITY)


def _sink(states: States, minimum_m: float) -> float:
    """Rate of descent over the 15 s before reaching a minimum, or before a go-around above it; 0 in a climb. [m/s]"""
    below = np.flatnonzero(states.altitude_m < minimum_m)
    end = float(states.time_s[below[0]]) if len(below) else _go_around_s(states)
    before = states.between(end - _SINK_OVER_S, end)
    return max(0.0, -float(np.nanmean(before.vertical_speed_mps)))


def _go_around_s(states: States) -> float:
    """When the descent to the lowest point was last as steep as its median over 45 s. [s]"""
    lowest_s = float(states.time_s[int(np.nanargmin(states.altitude_m))])
    before = states.between(lowest_s - _LOOK_BACK_S, lowest_s)
    steep = np.flatnonzero(before.vertical_speed_mps <= np.nanmedian(before.vertical_speed_mps))
    return float(before.time_s[steep[-1]])
