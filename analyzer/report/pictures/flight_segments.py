"""A flight cut into pieces for files: every part of every approach and hold, and the stretches between them."""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal

from analyzer.frozen import dataclass

if TYPE_CHECKING:
    from analyzer.debriefs.data import DebriefData
    from analyzer.legs.reversal import Part

__all__ = ["FlownPart", "Piece", "pieces"]


@dataclass(frozen=True)
class FlownPart:
    """A part with its place in the flight: of an approach or a hold, the number of that, and its own number, both from 1."""

    of: Literal["reversal", "hold"]
    entry: int
    number: int
    part: Part


@dataclass(frozen=True)
class Piece:
    """A stretch of time and the part flown in it; `flown` is None outside all parts."""

    start_s: float
    end_s: float
    flown: FlownPart | None


def pieces(debrief: DebriefData) -> tuple[Piece, ...]:
    """The pieces of a flight in order, from end to end. The instant at a boundary belongs to the later piece."""
    states = debrief.motion.states
    reached, end = float(states.time_s[0]), float(states.time_s[-1])
    flight = []
    for section in debrief.sections:
        for number, part in enumerate(section.approach.reversal.parts, 1):
            if part.start_s > reached:
                flight.append(Piece(reached, part.start_s, None))
            flight.append(Piece(part.start_s, part.end_s, FlownPart(section.of, section.number, number, part)))
            reached = part.end_s
    if reached < end:
        flight.append(Piece(reached, end, None))
    return tuple(flight)
