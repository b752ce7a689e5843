"""The whole flight in order: its approaches with their missed approaches, and the holds apart from them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import zip_longest

import numpy as np

from analyzer.frozen import dataclass
from analyzer.legs.bounds import approach_reach_m, came_in_reach_s
from analyzer.legs.find import find_reversals
from analyzer.legs.find_named import AtPassage, placed
from analyzer.legs.held import Held, find_holds
from analyzer.legs.lost_approach import lost_approach_s
from analyzer.legs.named import Named
from analyzer.legs.reversal import Part, Reversal
from analyzer.legs.under_way import with_beginning
from analyzer.motion.motion import Motion
from analyzer.physics.units import FPM, FT

__all__ = ["Flight", "find_flight"]

# After the climb, back to the fix for another approach, and to a hold; what takes longer is another flight; no source.
_WAY_BACK_S, _WAY_TO_HOLD_S = 300.0, 1200.0
_ARRIVAL_S = 1200.0  # at most, of a feeder route of 30 NM at 90 kt; before that, a flight is en route
_LEVEL_MPS, _LEVEL_S = 150.0 * FPM, 30  # a climb is over where the aircraft is level for so long; states are a second apart
_STEP_M = 200.0 * FT  # climbed afterwards: the level stretch was a step of the climb


@dataclass(frozen=True, eq=False)
class Flight:
    """What was flown: approaches and holds, each in order."""

    approaches: tuple[Reversal, ...]
    holds: tuple[Held, ...]


def find_flight(motion: Motion, named: Sequence[Named] = ()) -> Flight:
    """The approaches and holds of a flight, with those that the user names as they are named.

    Raises `FlownError` where one that is named cannot have been flown.

    A missed approach belongs to the approach that it ends, up to where another is begun, or the hold that it leads to, or the
    end of the log. Where that comes only later, it ends where the climb was over. An arrival begins where what was flown before
    it ends, even an approach that is not found for a gap, or where the aircraft came near: in a long flight it is the last
    30 NM and 20 minutes. Where the aircraft was set elsewhere another flight begins, of which the first knows nothing.
    """
    at_passage = placed(motion, named)
    found = [_flown_in(one, at_passage) for one in motion.flights]
    return Flight(
        tuple(approach for flight in found for approach in flight.approaches),
        tuple(hold for flight in found for hold in flight.holds),
    )


def _flown_in(motion: Motion, named: AtPassage) -> Flight:
    """The approaches and holds of one flight of a log, given what is named in any of them."""
    begins_s, ends_s = float(motion.states.time_s[0]), float(motion.states.time_s[-1])
    mine = {time_s: one for time_s, one in named.items() if begins_s <= time_s <= ends_s}
    holds, approaches = find_holds(motion, find_reversals(motion, mine))
    done = [
        _with_missed(motion, approach, holds, then) if approach.ending == "climbed away" else approach
        for approach, then in zip_longest(approaches, approaches[1:])
    ]
    ends = [one.parts[-1].end_s for one in done] + [held.end_s for held in holds]
    after_each = tuple(with_beginning(motion, _arrived(motion, one, ends)) for one in done)
    arrived = ((held, _arrived(held.motion, held.flown, ends)) for held in holds)
    return Flight(after_each, tuple(replace(held, flown=with_beginning(held.motion, flown)) for held, flown in arrived))


def _arrived(motion: Motion, flown: Reversal, ends_s: list[float]) -> Reversal:
    """An approach or hold whose arrival begins where what was flown before it ends, near enough to be the way to it."""
    arrival = flown.parts[0]
    if arrival.name != "arrival":
        return flown
    before = [end for end in ends_s if end <= flown.begun_s + 1e-6]
    states = motion.states.between(max([arrival.start_s, arrival.end_s - _ARRIVAL_S, *before]), arrival.end_s)
    came_in = came_in_reach_s(states, approach_reach_m(motion.charted))
    lost = lost_approach_s(states, motion.charted)
    return _after(flown, max(filter(None, (came_in, lost, arrival.end_s - _ARRIVAL_S, *before))))


def _with_missed(motion: Motion, approach: Reversal, holds: tuple[Held, ...], then: Reversal | None) -> Reversal:
    """The approach with the missed approach that follows its final leg."""
    begin = approach.parts[-1].end_s
    ends = [(float(motion.states.time_s[-1]), _WAY_BACK_S)]
    hold = next((held for held in holds if held.start_s > begin), None)
    if hold is not None:
        ends.append((hold.start_s, _WAY_TO_HOLD_S))
    if then is not None:
        first = next((part for part in then.parts if part.name != "arrival"), then.parts[0])
        ends.append((first.start_s, _WAY_BACK_S))
    until, longest_s = min(ends)
    level_s = _levelled_off(motion, begin, until)
    if until - level_s > longest_s:
        until = level_s
    if until <= begin:
        return approach
    return replace(approach, parts=(*approach.parts, Part("missed", begin, until)))


def _levelled_off(motion: Motion, begin_s: float, end_s: float) -> float:
    """When the climb after an instant is over, or the end where it is not: level, and no climb again within minutes. [s]"""
    states = motion.states.between(begin_s, end_s)
    climbing = np.flatnonzero(states.vertical_speed_mps > _LEVEL_MPS)
    if not len(climbing) or len(states) <= _LEVEL_S:
        return end_s
    level = np.abs(states.vertical_speed_mps) < _LEVEL_MPS
    runs = np.lib.stride_tricks.sliding_window_view(level, _LEVEL_S).all(axis=1)
    for after in np.flatnonzero(runs & (np.arange(runs.size) > climbing[0])):
        time_s, altitude_m = float(states.time_s[after]), float(states.altitude_m[after])
        soon = states.between(time_s, time_s + _WAY_BACK_S)
        if float(np.nanmax(soon.altitude_m)) < altitude_m + _STEP_M:
            return time_s
    return end_s


def _after(approach: Reversal, instant_s: float) -> Reversal:
    """An approach whose arrival begins no earlier than an instant."""
    parts = tuple(
        replace(part, start_s=max(part.start_s, instant_s)) if part.name == "arrival" else part for part in approach.parts
    )
    return replace(approach, parts=tuple(part for part in parts if part.end_s > part.start_s))
