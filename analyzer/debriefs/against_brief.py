"""Comparison of a flight with its brief, part by part."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from analyzer.checks.figures import Figures
from analyzer.checks.phrases import height_unit
from analyzer.debriefs.brief_differences import Difference, PartPair, differences
from analyzer.errors import BriefError
from analyzer.frozen import dataclass
from analyzer.motion.motion import Motion
from analyzer.physics.units import FT
from analyzer.procedure.charted import Charted

if TYPE_CHECKING:
    from analyzer.brief.brief_file import Card

__all__ = ["BriefComparison", "compare_with_brief", "same_procedure"]

_SAME_MINIMUM_M = 0.3  # a foot: the rounding in the file


@dataclass(frozen=True)
class BriefComparison:
    """A brief compared with a flight: pairs of parts, in the order flown, and what was different in each.

    `caution` warns that the brief was made for another minimum than the one the flight is judged by; None otherwise.
    """

    card: Card
    parts: tuple[PartPair, ...]
    differences: tuple[Difference, ...]
    caution: str | None


def same_procedure(card: Card, charted: Charted) -> None:
    """Raise `BriefError` if a brief is of another procedure."""
    if not card.briefs(charted):
        raise BriefError(
            f"--brief: it briefs {card.procedure.title!r} about {card.procedure.fix.name}, inbound "
            f"{card.procedure.reversal.inbound_course_deg:03.0f}, not this procedure; brief this one with --json FILE"
        )


def compare_with_brief(card: Card, motion: Motion, figures: Figures) -> BriefComparison:
    """Compare the parts of one approach with those of its brief.

    Parts are paired by name, in order. A brief has no further circuits of a hold, so only the first is paired.
    """
    pairs = tuple(_pairs(card, motion, figures))
    return BriefComparison(card, pairs, differences(card, motion, figures, pairs), _caution(card, motion.charted))


def _caution(card: Card, charted: Charted) -> str | None:
    """A warning if the brief was made for another line of minimums, or another minimum, than the flight is judged by."""
    briefed, judged = card.minimum, charted.minimum
    if briefed is None or judged is None:
        return None
    same = briefed.kind == judged.kind and abs(briefed.altitude_ft * FT - judged.altitude_m) <= _SAME_MINIMUM_M
    if briefed.line == judged.line and same:
        return None
    height = height_unit(charted.altitude_unit)
    made_for, judged_by = (
        f"the {line} {kind.upper()} of {height.text(altitude_m)}"
        for line, kind, altitude_m in (
            (briefed.line, briefed.kind, briefed.altitude_ft * FT),
            (judged.line, judged.kind, judged.altitude_m),
        )
    )
    caution = (
        f"Caution: the brief was made for {made_for}, and the flight is judged by {judged_by}: its final leg is that of "
        "another minimum."
    )
    if briefed.line == judged.line:
        return caution
    return f"{caution} Brief with --line {judged.line}, or judge the flight with --line {briefed.line}."


def _pairs(card: Card, motion: Motion, figures: Figures) -> Iterator[PartPair]:
    remaining = list(card.whole_parts)
    for flown in figures.parts:
        place = next((k for k, briefed in enumerate(remaining) if briefed.part == flown.part.name), None)
        if place is not None:
            yield from (PartPair(skipped.part, skipped, None, None) for skipped in remaining[:place])
        briefed = remaining[place] if place is not None else None
        remaining = remaining[place + 1 :] if place is not None else remaining
        yield PartPair(flown.part.name, briefed, flown, motion.distance_at(flown.part.end_s))
    yield from (PartPair(part.part, part, None, None) for part in remaining)
