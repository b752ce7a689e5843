"""Orbits flown on the way out, for spacing or to lose height: a full turn off the outbound course and on along it."""

from __future__ import annotations

import math

import numpy as np

from analyzer.motion.states import States
from analyzer.physics.runs import true_runs
from analyzer.physics.units import DEG, NM, unwrapped, wrap

__all__ = ["without_orbits"]

_ALONG_RAD = 30.0 * DEG  # off the outbound course, before the orbit and after it
_SHORT_OF_IT_RAD = 2.0 * _ALONG_RAD + 5.0 * DEG  # of a full turn, as the track may be so far off on both sides of it
_LONGEST_S = 300.0  # two minutes at 3° a second, and room for half that rate
_TURNING_RAD_S, _TURNING_SHARE = 0.5 * DEG, 0.8  # of its seconds: a lap of a hold is straight for half of them
_APART_M = 1.0 * NM  # between its beginning and its end: wind moves an orbit, and nothing else does


def without_orbits(states: States, outbound_rad: float, since_s: float) -> States | None:
    """The states without the orbits flown after an instant off a course and on along it again; None where there is none.

    A reversal turns back, and a circuit of a hold flies straight in between: neither is a full turn flown in one.
    """
    off = np.abs(wrap(states.track_rad - outbound_rad)) > _ALONG_RAD
    kept = np.ones(len(states), dtype=np.bool_)
    for begin, end in true_runs(off & (states.time_s > since_s)):
        if begin > 0 and end < len(states) and _is_orbit(states, begin - 1, end):
            kept[begin:end] = False
    return None if kept.all() else states.where(kept)


def _is_orbit(states: States, begin: int, end: int) -> bool:
    """Whether the aircraft makes one full turn between two states, in one direction, and is back where it was."""
    if float(states.time_s[end] - states.time_s[begin]) > _LONGEST_S:
        return False
    turned = unwrapped(states.track_rad[begin : end + 1])
    if abs(abs(float(turned[-1] - turned[0])) - math.tau) > _SHORT_OF_IT_RAD:
        return False
    rate = states.turn_rate_rad_s[begin:end] * np.sign(turned[-1] - turned[0])
    if float(np.mean(rate > _TURNING_RAD_S)) < _TURNING_SHARE:
        return False
    places = states.distance_m[[begin, end]] * np.exp(1j * states.bearing_rad[[begin, end]])
    return bool(abs(places[1] - places[0]) <= _APART_M)
