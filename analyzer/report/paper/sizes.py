"""Paper sizes by the names used on the command line."""

from __future__ import annotations

from collections.abc import Sequence

from analyzer.errors import AnalyzerError
from analyzer.frozen import dataclass

__all__ = ["A4", "A5", "CARDS", "SHEETS", "Paper", "paper_named"]


@dataclass(frozen=True)
class Paper:
    """A sheet, upright: its name and its width and height. [mm]"""

    name: str
    width_mm: float
    height_mm: float


# ISO 216 and ANSI/ASME Y14.1; half a letter is a letter sheet folded across.
A4 = Paper("a4", 210.0, 297.0)
A5 = Paper("a5", 148.0, 210.0)
_LETTER, _HALF_LETTER = Paper("letter", 215.9, 279.4), Paper("half-letter", 139.7, 215.9)

SHEETS = (A4, _LETTER)  # of a report
CARDS = (A5, _HALF_LETTER, A4, _LETTER)  # of a knee card


def paper_named(name: str, offered: Sequence[Paper]) -> Paper:
    """The paper of a name. Raises `AnalyzerError` if it is not among those offered."""
    for paper in offered:
        if paper.name == name.strip().lower():
            return paper
    raise AnalyzerError(f"--paper {name}: no paper of that name; choose from {', '.join(paper.name for paper in offered)}")
