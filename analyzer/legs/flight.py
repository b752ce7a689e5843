"""The whole flight in order: its approaches with their missed approaches, and the holds apart from them."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from analyzer.legs.find import find_reversals
from analyzer.legs.held import Held, find_holds
from analyzer.legs.model import Part, Reversal
from analyzer.motion.model import Motion
from analyzer.physics.units import FPM

__all__ = ["Flight", "find_flight"]

_WAY_BACK_S = 300.0  # after the climb, back to the fix for another approach; what takes longer is an arrival; no source
_LEVEL_MPS, _LEVEL_S = 150.0 * FPM, 30  # a climb is over where the aircraft is level for so long; states are a second apart


@dataclass(frozen=True, eq=False)
class Flight:
    """What was flown: approaches and holds, each in order."""

    approaches: tuple[Reversal, ...]
    holds: tuple[Held, ...]


def find_flight(motion: Motion) -> Flight:
    """The approaches and holds of a flight.

    A missed approach belongs to the approach that it ends, up to where another is begun, or the hold that it leads to, or the
    end of the log. Where the next approach is begun only later, there is an arrival between from where the climb was over.
    """
    holds, approaches = find_holds(motion, find_reversals(motion))
    done: list[Reversal] = []
    for number, approach in enumerate(approaches):
        then = approaches[number + 1] if number + 1 < len(approaches) else None
        one = _with_missed(motion, approach, holds, then) if approach.ending == "climbed away" else approach
        done.append(one)
    ends = [one.parts[-1].end_s for one in done] + [held.end_s for held in holds]
    after_each = tuple(_after_all(one, ends) for one in done)
    return Flight(after_each, tuple(replace(held, flown=_after_all(held.flown, ends)) for held in holds))


def _after_all(flown: Reversal, ends_s: list[float]) -> Reversal:
    """An approach or hold whose arrival begins where what was flown before it ends."""
    before = [end for end in ends_s if end <= flown.begun_s + 1e-6]
    return _after(flown, max(before)) if before else flown


def _with_missed(motion: Motion, approach: Reversal, holds: tuple[Held, ...], then: Reversal | None) -> Reversal:
    """The approach with the missed approach that follows its final leg."""
    begin = approach.parts[-1].end_s
    until = float(motion.states.time_s[-1])
    hold = next((held for held in holds if held.start_s > begin), None)
    if hold is not None:
        until = hold.start_s
    if then is not None:
        first = next((part for part in then.parts if part.name != "arrival"), then.parts[0])
        if first.start_s < until:
            level_s = _levelled_off(motion, begin, first.start_s)
            until = first.start_s if first.start_s - level_s <= _WAY_BACK_S else level_s
    if until <= begin:
        return approach
    return replace(approach, parts=(*approach.parts, Part("missed", begin, until)))


def _levelled_off(motion: Motion, begin_s: float, end_s: float) -> float:
    """When the climb after an instant is over, or the end where it is not. [s]"""
    states = motion.states.between(begin_s, end_s)
    climbing = np.flatnonzero(states.vertical_speed_mps > _LEVEL_MPS)
    if not len(climbing) or len(states) <= _LEVEL_S:
        return end_s
    level = np.abs(states.vertical_speed_mps) < _LEVEL_MPS
    runs = np.lib.stride_tricks.sliding_window_view(level, _LEVEL_S).all(axis=1)
    after = np.flatnonzero(runs & (np.arange(runs.size) > climbing[0]))
    return float(states.time_s[after[0]]) if len(after) else end_s


def _after(approach: Reversal, instant_s: float) -> Reversal:
    """An approach whose arrival begins no earlier than an instant."""
    parts = tuple(
        replace(part, start_s=max(part.start_s, instant_s)) if part.name == "arrival" else part for part in approach.parts
    )
    return replace(approach, parts=tuple(part for part in parts if part.end_s > part.start_s))
