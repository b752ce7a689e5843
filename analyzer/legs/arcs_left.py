"""Flights round the charted arc that lead to no passage of the fix: the aircraft left it otherwise, or the log ends on it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from analyzer.legs.arcs import Arc, arcs_about, is_plainly
from analyzer.legs.assemble import Window, assemble
from analyzer.legs.grammar import SHAPES
from analyzer.legs.match import matches_of
from analyzer.legs.reversal import Part, Reversal
from analyzer.motion.motion import Motion

__all__ = ["arcs_left"]

# The arc without the way home from it.
_ONTO_ARC = next(replace(shape, steps=shape.steps[:3]) for shape in SHAPES if shape.name == "arc")
_LOOK_BACK_S = 300.0  # before what is plainly the arc: holds the turn that joins it


def arcs_left(motion: Motion, done: Sequence[Reversal]) -> list[Reversal]:
    """The flights round the charted arc that belong to none of the approaches found, each with its arrival."""
    charted = motion.charted
    if charted.arc_radius_m is None or charted.arc_latitude_rad is None or charted.arc_longitude_rad is None:
        return []
    taken = [(one.begun_s, one.parts[-1].end_s) for one in done]
    found: list[Reversal] = []
    for arc in arcs_about(motion, charted.arc_latitude_rad, charted.arc_longitude_rad):
        free = all(end_s <= arc.start_s or begun_s >= arc.end_s for begun_s, end_s in taken)
        if free and is_plainly(arc.radius_m, charted.arc_radius_m):
            before = [end_s for _, end_s in taken if end_s <= arc.start_s]
            since_s = max([float(motion.states.time_s[0]), *before, *(one.parts[-1].end_s for one in found)])
            found.append(_joined(motion, arc, since_s) or _plainly(arc, since_s))
    return found


def _joined(motion: Motion, arc: Arc, since_s: float) -> Reversal | None:
    """The flight with the turn onto the arc, from which on the aircraft is on it; None where that cannot be told.

    Half a minute of motion shows that it goes round, so that what is plainly an arc begins that much too late.
    """
    states = motion.states.between(max(since_s, arc.start_s - _LOOK_BACK_S), arc.end_s)
    window = Window(states, None, None, since_s)
    best = max(matches_of(motion, window, [_ONTO_ARC]), key=lambda match: match.gain, default=None)
    if best is None:
        return None
    flown = replace(assemble(motion, window, best.shape, best.side, best.cut, 0.0), score_gap=None)
    onto = flown.part("arc")
    return flown if onto is not None and onto.start_s <= arc.start_s else None


def _plainly(arc: Arc, since_s: float) -> Reversal:
    arrival = (Part("arrival", since_s, arc.start_s),) if arc.start_s > since_s else ()
    return Reversal("arc", None, None, None, (), (*arrival, Part("arc", arc.start_s, arc.end_s)), None)
