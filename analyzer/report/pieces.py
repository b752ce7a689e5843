"""A flight cut into pieces for files: every part of every approach, and what was flown before, between and after them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from analyzer.debriefing import Debrief
    from analyzer.legs.model import Part

__all__ = ["FlownPart", "Piece", "pieces"]


@dataclass(frozen=True)
class FlownPart:
    """A part with where it stands: the number of its approach, and its own within the approach, both from 1."""

    reversal: int
    number: int
    part: Part


@dataclass(frozen=True)
class Piece:
    """A stretch of time and the part that it is; `flown` is None outside of all parts."""

    start_s: float
    end_s: float
    flown: FlownPart | None


def pieces(debrief: Debrief) -> tuple[Piece, ...]:
    """All of a flight in order, from end to end. An instant at a boundary belongs to the piece that it begins."""
    states = debrief.motion.states
    reached, end = float(states.time_s[0]), float(states.time_s[-1])
    found = []
    for reversal, approach in enumerate(debrief.approaches, 1):
        for number, part in enumerate(approach.reversal.parts, 1):
            if part.start_s > reached:
                found.append(Piece(reached, part.start_s, None))
            found.append(Piece(part.start_s, part.end_s, FlownPart(reversal, number, part)))
            reached = part.end_s
    if reached < end:
        found.append(Piece(reached, end, None))
    return tuple(found)
