"""Altitudes held, leg by leg: upper bounds of the charted minimums."""

from __future__ import annotations

import itertools
import math

import numpy as np

from analyzer.checks.levels import level_stretches
from analyzer.legs.reversal import Reversal
from analyzer.motion.motion import ON_GROUND_MPS, Motion
from analyzer.motion.states import States
from analyzer.physics.units import FT, NM
from analyzer.vocabulary import LEGS, Leg

__all__ = ["hundred_below_ft", "levels_ft"]

_ROUND_FT = 100.0  # minimums are whole hundreds, at or below what was flown
_SHORT_FT = 15.0  # a level may be a little short of one
_BELOW_FT = 150.0
_SHARED_S = 20.0  # that a level part must have inside a leg to count there
_ARRIVED_M = 25.0 * NM  # from the fix at most on an arrival: the radius of a minimum safe altitude, AIM 5-4-5 e
_IN_THE_AIR_FT = 100.0  # above the ground, at least: no minimum is lower
_SURELY_SD = 1.9  # below a minimum by less, an altitude is too close to call


def levels_ft(motion: Motion, reversal: Reversal) -> dict[str, float]:
    """The lowest level held in each leg, rounded down to a hundred feet that the leg was not clearly below.

    Absent are legs without a level part, and those that went well below it without levelling off.
    """
    if not motion.has_altitude:
        return {}
    levels = level_stretches(motion.states.between(reversal.parts[0].start_s, reversal.parts[-1].end_s))
    lowest_ft: dict[str, float] = {}
    for leg in LEGS:
        states = _flown(motion, reversal, leg)
        shared = [_shared(level.states, states) for level in levels]
        levels_held_ft = [float(np.median(inside.altitude_m)) / FT for inside in shared if len(inside) >= _SHARED_S]
        if not levels_held_ft:
            continue
        if leg == "arrival" and _climbs_to_it(motion, reversal):
            states = _since_reached(states, min(levels_held_ft) * FT)
        lowest = float(np.fmin.reduce(states.altitude_m, initial=np.inf)) / FT
        if lowest > min(levels_held_ft) - _BELOW_FT:
            # on final, level flight below a minimum is judged by the noise of the log; elsewhere the lowest point counts, too
            noise = (motion.level_sd_m if leg == "final" else _SURELY_SD * motion.lowest_sd_m(-1.0)) / FT
            lowest_ft[leg] = hundred_below_ft(min(min(levels_held_ft) + _SHORT_FT, lowest + noise))
    # minimums do not rise on the way in: a leg flown higher than the one before is not charted above it
    return dict(zip(lowest_ft, itertools.accumulate(lowest_ft.values(), min), strict=True))


def hundred_below_ft(altitude_ft: float) -> float:
    """The whole hundred at or below an altitude. [ft]"""
    return math.floor(altitude_ft / _ROUND_FT) * _ROUND_FT


def _flown(motion: Motion, reversal: Reversal, leg: Leg) -> States:
    """The states of a leg in the air; of an arrival, only those after the aircraft last came within 25 NM of the fix."""
    spans = reversal.leg_spans(leg)
    states = motion.states.within(spans) if spans else motion.states.between(0.0, -1.0)
    if leg == "final":
        return _in_the_air(states)
    if leg != "arrival" or not len(states):
        return states
    far = np.flatnonzero(states.distance_m > _ARRIVED_M)
    return states.where(np.arange(len(states)) > (far[-1] if len(far) else -1))


def _in_the_air(states: States) -> States:
    """A final leg without the runway, which a log that goes on after the landing holds as a level."""
    slow = states.ground_speed_mps < ON_GROUND_MPS
    if not slow.any():
        return states
    return states.where(states.altitude_m > float(np.median(states.altitude_m[slow])) + _IN_THE_AIR_FT * FT)


def _shared(level: States, states: States) -> States:
    return level.where(np.isin(level.time_s, states.time_s))


def _climbs_to_it(motion: Motion, reversal: Reversal) -> bool:
    """Whether an arrival may begin below its minimum: if the log begins on the ground, or another approach was flown before.

    An arrival that begins in the air must keep its minimum from the first sample.
    """
    return reversal.parts[0].start_s > motion.states.time_s[0] or motion.begins_on_ground


def _since_reached(states: States, level_m: float) -> States:
    """An arrival without the climb to its level, after take-off or from another approach."""
    reached = np.flatnonzero(states.altitude_m >= level_m)
    return states.where(np.arange(len(states)) >= reached[0]) if len(reached) else states
