"""What keeps a cut of a shape from being it, and where the steps of a cut are."""

from __future__ import annotations

from analyzer.frozen import dataclass
from analyzer.legs.decode import Cut
from analyzer.legs.grammar import SHAPES_AS_CHARTED, Shape
from analyzer.motion.motion import Motion
from analyzer.motion.states import States
from analyzer.physics.units import wrap
from analyzer.vocabulary import PartName

__all__ = ["Misfit", "as_charted", "off_outbound", "step_span"]


@dataclass(frozen=True)
class Misfit:
    """What keeps a cut from being the approach of its shape, in a clause.

    `part` is the part that it is about, None where it is about the whole. Where what is missing is `essential`, such as a turn
    back, there is nothing that could be taken for the shape, whoever says so.
    """

    words: str
    part: PartName | None = None
    essential: bool = False


def as_charted(motion: Motion, shape: Shape, side: int) -> bool:
    """Whether a shape is the charted one, on its charted side."""
    return shape.name in SHAPES_AS_CHARTED[motion.charted.kind] and motion.charted.side in (None, side)


def step_span(shape: Shape, cut: Cut, name: PartName) -> tuple[int, int] | None:
    """The first second of a step and the one after its last; None where it is not flown."""
    flown = [(step.part, start) for step, start in zip(shape.steps, cut.starts, strict=True) if start is not None]
    ends = [*(start for _, start in flown[1:]), cut.stop]
    return next(((start, end) for (part, start), end in zip(flown, ends, strict=True) if part == name), None)


def off_outbound(motion: Motion, states: States, second: int) -> float:
    """How far off the charted outbound course the aircraft is, as an angle at the fix. [rad]"""
    return abs(float(wrap(states.bearing_rad[second] - motion.charted.outbound_true_rad)))
