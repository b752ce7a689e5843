"""Report text on an approach that the user named: what was named, what recognition has there by itself, and what that costs."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from analyzer.checks.phrases import clock, shape_words

if TYPE_CHECKING:
    from analyzer.debriefs.data import DebriefData
    from analyzer.legs.reversal import NamedAs, Reversal
    from analyzer.procedure.values import ReversalKind

__all__ = ["named_briefly", "named_sentences", "named_words", "shape_title"]

_COST = (
    "It is judged from there, at a cost: where its parts begin and end is less sure, what only a recognised shape shows is not "
    "assessed, and the approach is no pass."
)


def shape_title(shape: str, charted: ReversalKind) -> str:
    """A shape in words with the entry of a hold: ``a teardrop``, ``a hold, parallel entry``."""
    if shape.startswith("hold-") and not (shape == "hold-direct" and charted == "procedure-turn"):
        return f"a hold, {shape.removeprefix('hold-')} entry"
    return shape_words(shape, charted)  # type: ignore[arg-type]  # the names of shapes


def named_sentences(debrief: DebriefData) -> Iterator[tuple[str, str]]:
    """For each approach that was named, in the order flown: that it was, in two or three words, and the rest in sentences."""
    kind = debrief.motion.charted.kind
    for approach in debrief.approaches:
        if approach.reversal.named is not None:
            yield named_words(approach.reversal, approach.reversal.named, kind)


def named_briefly(reversal: Reversal) -> str:
    """For tables: ``named, not recognised``, ``named``, or nothing where all of an approach was recognised."""
    if reversal.named is None:
        return ""
    return "named, not recognised" if reversal.only_named else "named"


def named_words(reversal: Reversal, named: NamedAs, charted: ReversalKind) -> tuple[str, str]:
    """That an approach was named, in two or three words, and the rest in sentences."""
    flown, passage = shape_title(reversal.flown, charted), reversal.passages[0]
    way = "begins with" if passage.direction == "outbound" else "leads to"
    at = f"the passage of the fix at {clock(passage.time_s)}"
    if not named.shape:
        said = f"by the user, that a reversal {way} {at}. The nearest shape is {flown}."
    elif not named.passage:
        said = f"by the user, as {flown}. It {way} {at}."
    else:
        said = f"by the user, as {flown} that {way} {at}."
    if not reversal.only_named:
        return "Named", f"{said} Recognition by itself finds the same."
    found = "finds nothing there"
    if named.recognised is not None:
        found = f"takes it for {shape_title(named.recognised, charted)}"
    against = f" Against {flown}: {'; '.join(named.against)}." if named.against else ""
    return "Named, not recognised", f"{said} Recognition by itself {found}.{against} {_COST}"
