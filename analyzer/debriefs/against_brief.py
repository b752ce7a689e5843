"""A flight compared with its brief: each part as briefed next to the same part as flown."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

from analyzer.checks.figures import Figures, PartFigures
from analyzer.checks.phrases import height_unit
from analyzer.errors import BriefError
from analyzer.motion.motion import Motion
from analyzer.physics.units import FT
from analyzer.procedure.charted import Charted
from analyzer.vocabulary import PartName

if TYPE_CHECKING:
    from analyzer.brief.brief_file import Card, CardPart

__all__ = ["BriefComparison", "PartPair", "compare_with_brief", "same_procedure"]

_SAME_MINIMUM_M = 0.3  # a foot: what is rounded in the file


@dataclass(frozen=True)
class PartPair:
    """A part as briefed and as flown, None where it was only one of them; how far from the fix the flown one ended."""

    part: PartName
    briefed: CardPart | None
    flown: PartFigures | None
    flown_end_distance_m: float | None


@dataclass(frozen=True)
class BriefComparison:
    """A brief and the parts of a flight next to its own, in the order flown.

    `caution` says that the brief was made for another minimum than the flight is judged by; None where it was not.
    """

    card: Card
    parts: tuple[PartPair, ...]
    caution: str | None


def same_procedure(card: Card, charted: Charted) -> None:
    """Raise `BriefError` where a brief is of another procedure."""
    if not card.briefs(charted):
        raise BriefError(
            f"--brief: it briefs {card.procedure.title!r} about {card.procedure.fix.name}, inbound "
            f"{card.procedure.reversal.inbound_course_deg:03.0f}, not this procedure; brief this one with --json FILE"
        )


def compare_with_brief(card: Card, motion: Motion, figures: Figures) -> BriefComparison:
    """Compare the parts of one approach with those of its brief.

    Parts are paired by name, in order: of a hold's further circuits, which no brief holds, the first is paired.
    """
    return BriefComparison(card, tuple(_pairs(card, motion, figures)), _caution(card, motion.charted))


def _caution(card: Card, charted: Charted) -> str | None:
    """That the brief was made for another line of minimums, or another minimum, than the flight is judged by."""
    briefed, judged = card.minimum, charted.minimum
    if briefed is None or judged is None:
        return None
    same = briefed.kind == judged.kind and abs(briefed.altitude_ft * FT - judged.altitude_m) <= _SAME_MINIMUM_M
    if briefed.line == judged.line and same:
        return None
    height = height_unit(charted.altitude_unit)
    made_for, held_to = (
        f"the {line} {kind.upper()} of {height.text(altitude_m)}"
        for line, kind, altitude_m in (
            (briefed.line, briefed.kind, briefed.altitude_ft * FT),
            (judged.line, judged.kind, judged.altitude_m),
        )
    )
    said = (
        f"Caution: the brief was made for {made_for}, and the flight is judged by {held_to}: its final leg is that of another "
        "minimum."
    )
    if briefed.line == judged.line:
        return said
    return f"{said} Brief with --line {judged.line}, or judge the flight with --line {briefed.line}."


def _pairs(card: Card, motion: Motion, figures: Figures) -> Iterator[PartPair]:
    waiting = list(card.whole_parts)
    for flown in figures.parts:
        place = next((k for k, briefed in enumerate(waiting) if briefed.part == flown.part.name), None)
        if place is not None:
            yield from (PartPair(skipped.part, skipped, None, None) for skipped in waiting[:place])
        briefed = waiting[place] if place is not None else None
        waiting = waiting[place + 1 :] if place is not None else waiting
        yield PartPair(flown.part.name, briefed, flown, motion.distance_at(flown.part.end_s))
    yield from (PartPair(left.part, left, None, None) for left in waiting)
