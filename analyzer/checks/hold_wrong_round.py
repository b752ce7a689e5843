"""A first time round a hold that is none of its laps: over the fix in the direct sector, and back by a turn the other way."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from analyzer.checks.finding import Context
from analyzer.legs.held import laps_of
from analyzer.legs.passages import find_passages
from analyzer.legs.reversal import Reversal
from analyzer.motion.states import States
from analyzer.physics import holding
from analyzer.physics.units import DEG, NM, unwrapped

__all__ = ["WrongRound", "passed_before_s", "wrong_round"]

_OVER_M = 0.5 * NM  # of the fix, when it is first passed
_BEFORE_S = 4.0  # the heading at the fix, not that of a turn begun early
_SURE_RAD = 5.0 * DEG  # inside the direct sector by the margin that pilots are allowed at its edges (AIM 5-3-8 j.3)
_TURNED_RAD = 150.0 * DEG  # back to the fix
# As long and as far as a lap at most, and this much more: longer or farther, it is no attempt at one.
_LONGER, _FARTHER = 2.0, 2.0


@dataclass(frozen=True)
class WrongRound:
    """When the fix was first passed, the true heading then, and which way the turn back went, +1 right. [s, rad]"""

    passed_s: float
    heading_rad: float
    turn: int


def wrong_round(context: Context) -> WrongRound | None:
    """The round flown the wrong way from the fix before the first lap; None where there is none, or it is not seen whole.

    From the direct sector every entry turns the way of the hold. From the others a turn back to the other side may be an entry.
    """
    around, charted = _round_before(context), context.motion.charted
    if around is None or charted.turn is None:
        return None
    passed_s = float(around.time_s[0])
    before = context.motion.states.between(context.reversal.parts[0].start_s, passed_s - _BEFORE_S)
    heading = float((before if len(before) else around).heading_rad[-1 if len(before) else 0])
    if holding.sector_margin("direct", heading, charted.inbound_true_rad, charted.turn) < _SURE_RAD:
        return None
    headings = unwrapped(around.heading_rad)
    right = float(np.max(headings - np.minimum.accumulate(headings)))
    left = float(np.max(np.maximum.accumulate(headings) - headings))
    turned, other = (right, left) if charted.turn > 0 else (left, right)
    return WrongRound(passed_s, heading, -charted.turn) if other >= _TURNED_RAD and other > turned else None


def passed_before_s(context: Context) -> float | None:
    """When the fix was passed a round before the first lap, so that this is hardly the entry; None where it was not. [s]"""
    around = _round_before(context)
    return float(around.time_s[0]) if around is not None else None


def _round_before(context: Context) -> States | None:
    """What was flown from the fix back to it before the first lap, where it is no longer and leads no farther than a lap."""
    reversal = context.reversal
    entered, arrival, laps_s = reversal.passage("outbound"), reversal.parts[0], _laps_s(reversal)
    if context.motion.charted.kind != "hold" or entered is None or arrival.name != "arrival" or not laps_s:
        return None
    begun_s = arrival.end_s
    flown = context.motion.states.between(arrival.start_s, entered.time_s)
    before = [one for one in find_passages(flown) if one.distance_m < _OVER_M and one.time_s < begun_s - _BEFORE_S]
    if not before:
        return None
    around = flown.between(before[-1].time_s, entered.time_s)
    seen = context.motion.states.between(begun_s, max(end for _, end in laps_s))
    as_a_lap = (
        entered.time_s - before[-1].time_s <= _LONGER * max(end - begin for begin, end in laps_s)
        and float(around.distance_m.max()) <= _FARTHER * float(seen.distance_m.max())
        and context.motion.holes_between(before[-1].time_s, entered.time_s, _BEFORE_S) == ()
    )
    return around if as_a_lap else None


def _laps_s(reversal: Reversal) -> list[tuple[float, float]]:
    """Beginning and end of each lap; of a hold in lieu of a procedure turn, from passage to passage of the fix. [s]"""
    laps = laps_of(reversal)
    if laps:
        return [(lap[0].start_s, lap[-1].end_s) for lap in laps]
    return list(pairwise(passage.time_s for passage in reversal.passages))
