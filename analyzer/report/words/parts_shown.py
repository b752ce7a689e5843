"""Which parts of an approach have a row in a table: those long enough for their figures to say something."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from analyzer.physics.units import NM

if TYPE_CHECKING:
    from analyzer.checks.figures import Figures, PartFigures

__all__ = ["log_ends_sentence", "parts_shown"]

_LEAST_NM, _LEAST_S = 0.15, 5.0  # shorter in both, as where a log ends right at the fix: it would read "1 s, 0.0 NM"


def parts_shown(figures: Figures) -> tuple[PartFigures, ...]:
    """The parts without those of a few seconds and next to no length."""
    return tuple(part for part in figures.parts if not _is_nothing(part))


def log_ends_sentence(figures: Figures) -> str:
    """That the log ends where the last part begins, if it does; else empty."""
    if not figures.parts or not _is_nothing(figures.parts[-1]):
        return ""
    part = figures.parts[-1].part
    name = part.name.replace("_", " ")
    named = name if name.endswith(("leg", "turn", "approach")) else f"{name} leg"
    return f" The log ends as the {named} begins."


def _is_nothing(part: PartFigures) -> bool:
    short = math.isfinite(part.length_m) and part.length_m < _LEAST_NM * NM
    return short and part.part.duration_s < _LEAST_S
