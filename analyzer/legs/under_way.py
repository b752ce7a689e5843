"""A log that begins in a hold: its entry was flown before, and the laps are those that the log shows."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Final

import numpy as np

from analyzer.legs.reversal import Part, Reversal
from analyzer.motion.motion import Motion
from analyzer.motion.states import States
from analyzer.physics.units import DEG, FT, NM, wrap

__all__ = ["with_beginning"]

_ANOTHER_LAP: Final = "hold-direct"  # what a lap looks like that begins on the inbound course
_LAP_PARTS = frozenset({"entry_turn", "outbound", "reversal_turn", "turn_inbound", "intercept", "inbound"})
_AT_ONCE_S = 2.0  # from the beginning of the log
# Beyond what the laps that are seen cover, as laps differ by less; and across, of their width, for a parallel entry lies aside.
_ASIDE_M, _ASIDE_SHARE = 0.3 * NM, 0.5
_FARTHER = 2.0  # times as far out as them: an entry of a minute outbound, with half of that due later
_TURNED_RAD = 120.0 * DEG  # at least, in a turn inbound
_IN_TURN_S, _TURNING_RAD_S = 5, 1.5 * DEG  # turning from the beginning on; states are a second apart
_ON_COURSE_RAD = 15.0 * DEG  # of the track, as for being established
_JOINING_LEGS = 2.0  # what joins the inbound course takes no longer than so many legs
_HELD_M = 100.0 * FT  # FAA-S-ACS-8C IR.V.A.S5: altitude ±100 ft
_JOINING_RAD = 60.0 * DEG  # of the track off the inbound course: on it, or joining it from a parallel entry


def with_beginning(motion: Motion, flown: Reversal) -> Reversal:
    """The approach or hold, with where in its laps the log begins, if it does.

    It does on a lap where the turn inbound leads to the first passage, with what lies before it where the laps lie that follow;
    to either side, for a parallel entry turns the other way. What is flown towards the inbound course or along it, for no
    longer than the inbound legs take, or joins it or begins in a turn, may be a lap or an arrival; in a hold in lieu of a
    procedure turn, where few laps are flown, it is taken for the arrival unless it begins in a turn, or below its minimum.
    """
    first = flown.parts[0]
    if flown.flown != _ANOTHER_LAP or first.start_s > float(motion.track.time_s[0]) + _AT_ONCE_S:
        return flown
    laps = [part for part in flown.parts if part.name in _LAP_PARTS]
    before = motion.states.between(first.start_s, laps[0].start_s)
    around = motion.states.between(laps[0].start_s, laps[-1].end_s)
    if not len(before) or not _within(motion, before, around):
        return flown
    if abs(float(np.sum(before.turn_rate_rad_s))) >= _TURNED_RAD:  # a state a second
        return replace(flown, begins_on="lap")
    home_s = _ways_home_s(laps)
    off = np.abs(wrap(before.track_rad - motion.charted.inbound_true_rad))
    longest_s = min(home_s, default=0.0) * (_JOINING_LEGS if off[0] > _ON_COURSE_RAD else 1.0)
    short, along = first.duration_s <= longest_s, bool((off < _JOINING_RAD).all())
    turning = abs(float(np.mean(before.turn_rate_rad_s[:_IN_TURN_S]))) > _TURNING_RAD_S
    many = motion.charted.held is not None or _below_arrival(motion, before)
    perhaps = turning or (many and short and along)
    return replace(flown, begins_on="inbound leg") if perhaps else flown


def _ways_home_s(laps: Sequence[Part]) -> list[float]:
    """How long each way from the turn inbound to the fix took, intercept and inbound leg, where the course was joined. [s]"""
    ways: list[list[Part]] = []
    for part in laps:
        if part.name in ("reversal_turn", "turn_inbound"):
            ways.append([])
        elif ways and part.name in ("intercept", "inbound"):
            ways[-1].append(part)
    return [sum(part.duration_s for part in way) for way in ways if any(part.name == "inbound" for part in way)]


def _below_arrival(motion: Motion, before: States) -> bool:
    """Whether states begin lower than an arrival may be, and as high as the legs of the hold are flown."""
    floors, altitude_m = motion.charted.floors_m, float(before.altitude_m[0])
    if "arrival" not in floors or "reversal" not in floors:
        return False
    return floors["reversal"] - _HELD_M < altitude_m < floors["arrival"] - _HELD_M


def _within(motion: Motion, before: States, around: States) -> bool:
    """Whether states lie where the laps are flown, across the inbound course and along it."""
    outbound_rad = motion.charted.outbound_true_rad
    across, lap_across = before.cross_track_m(outbound_rad), around.cross_track_m(outbound_rad)
    along, lap_along = before.along_m(outbound_rad), around.along_m(outbound_rad)
    aside_m = max(_ASIDE_M, _ASIDE_SHARE * float(np.ptp(lap_across)))
    return bool(
        across.min() > lap_across.min() - aside_m
        and across.max() < lap_across.max() + aside_m
        and along.min() > lap_along.min() - _ASIDE_M
        and along.max() < _FARTHER * lap_along.max()
    )
