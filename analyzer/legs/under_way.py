"""A log that begins in a hold: its entry was flown before, and the laps are those that the log shows."""

from __future__ import annotations

from dataclasses import replace
from typing import Final

import numpy as np

from analyzer.legs.reversal import Reversal
from analyzer.motion.motion import Motion, States
from analyzer.physics.units import DEG, NM, wrap

__all__ = ["with_beginning"]

_ANOTHER_LAP: Final = "hold-direct"  # what a lap looks like that begins on the inbound course
_LAP_PARTS = frozenset({"entry_turn", "outbound", "reversal_turn", "turn_inbound", "intercept", "inbound"})
_AT_ONCE_S = 2.0  # from the beginning of the log
_ASIDE_M = 0.3 * NM  # beyond what the laps that are seen cover; laps differ by less
_FARTHER = 2.0  # times as far out as them: an entry of a minute outbound, with half of that due later
_TURNED_RAD = 120.0 * DEG  # at least, in a turn inbound
_ON_COURSE_RAD = 15.0 * DEG  # of the track, as for being established


def with_beginning(motion: Motion, flown: Reversal) -> Reversal:
    """The approach or hold, with where in its laps the log begins, if it does.

    It does on a lap where the turn inbound leads to the first passage, with what lies before it where the laps lie that follow.
    What is flown straight along the inbound course, for no longer than the inbound legs take, may be a lap or an arrival; in a
    hold in lieu of a procedure turn, where few laps are flown, it is taken for the arrival.
    """
    first = flown.parts[0]
    if flown.flown != _ANOTHER_LAP or first.start_s > float(motion.track.time_s[0]) + _AT_ONCE_S:
        return flown
    laps = [part for part in flown.parts if part.name in _LAP_PARTS]
    before = motion.states.between(first.start_s, laps[0].start_s)
    around = motion.states.between(laps[0].start_s, laps[-1].end_s)
    if not len(before) or not _within(motion, before, around):
        return flown
    if (flown.turn or 0) * float(np.sum(before.turn_rate_rad_s)) >= _TURNED_RAD:  # a state a second
        return replace(flown, begins_on="lap")
    inbound_s = [part.duration_s for part in laps if part.name == "inbound"]
    short = first.duration_s <= min(inbound_s, default=0.0)
    along = bool((np.abs(wrap(before.track_rad - motion.charted.inbound_true_rad)) < _ON_COURSE_RAD).all())
    return replace(flown, begins_on="inbound leg") if motion.charted.held is not None and short and along else flown


def _within(motion: Motion, before: States, around: States) -> bool:
    """Whether states lie where the laps are flown, across the inbound course and along it."""
    outbound_rad = motion.charted.outbound_true_rad
    across, lap_across = before.cross_track_m(outbound_rad), around.cross_track_m(outbound_rad)
    along, lap_along = before.along_m(outbound_rad), around.along_m(outbound_rad)
    return bool(
        across.min() > lap_across.min() - _ASIDE_M
        and across.max() < lap_across.max() + _ASIDE_M
        and along.min() > lap_along.min() - _ASIDE_M
        and along.max() < _FARTHER * lap_along.max()
    )
