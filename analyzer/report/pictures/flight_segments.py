"""A flight cut into pieces for files: every part of every approach and hold, and what was flown between them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

if TYPE_CHECKING:
    from analyzer.debriefs.data import DebriefData
    from analyzer.legs.reversal import Part

__all__ = ["FlownPart", "Piece", "pieces"]


@dataclass(frozen=True)
class FlownPart:
    """A part with where it stands: of an approach or a hold, the number of that, and its own within it, both from 1."""

    of: Literal["reversal", "hold"]
    entry: int
    number: int
    part: Part


@dataclass(frozen=True)
class Piece:
    """A stretch of time and the part that it is; `flown` is None outside of all parts."""

    start_s: float
    end_s: float
    flown: FlownPart | None


def pieces(debrief: DebriefData) -> tuple[Piece, ...]:
    """All of a flight in order, from end to end. An instant at a boundary belongs to the piece that it begins."""
    states = debrief.motion.states
    reached, end = float(states.time_s[0]), float(states.time_s[-1])
    found = []
    for one in debrief.sections:
        for number, part in enumerate(one.approach.reversal.parts, 1):
            if part.start_s > reached:
                found.append(Piece(reached, part.start_s, None))
            found.append(Piece(part.start_s, part.end_s, FlownPart(one.of, one.number, number, part)))
            reached = part.end_s
    if reached < end:
        found.append(Piece(reached, end, None))
    return tuple(found)
