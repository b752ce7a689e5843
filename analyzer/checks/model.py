"""A finding, its verdict, and what a check works from."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

from analyzer.checks.figures import Figures
from analyzer.checks.standard import Standard
from analyzer.legs.model import Reversal
from analyzer.motion.model import Motion

__all__ = ["CLOSE", "INSIDE", "NOT_ASSESSED", "OUTSIDE", "Context", "Finding", "Place", "Verdict", "judge"]

Verdict = Literal["inside", "outside", "too close to call", "not assessed"]
INSIDE: Verdict = "inside"
OUTSIDE: Verdict = "outside"
CLOSE: Verdict = "too close to call"
NOT_ASSESSED: Verdict = "not assessed"

_CLOSE_SD = 2.0  # margins within this many standard deviations are not called


@dataclass(frozen=True)
class Place:
    """When and where something happened."""

    time_s: float
    latitude_rad: float
    longitude_rad: float


@dataclass(frozen=True)
class Finding:
    """What one check says of one leg or part.

    Numbers are in `unit`, the trade's. `margin` is positive inside, with any `tolerance` of the standard already granted;
    `sd` is one standard deviation of `measured`. `basis` tells what the value rests on. `details` holds further figures,
    their units in the keys.
    """

    check: str
    leg: str
    part: str | None
    sentence: str
    verdict: Verdict
    measured: float | str | None = None
    limit: float | str | None = None
    unit: str = ""
    tolerance: float = 0.0
    margin: float | None = None
    sd: float | None = None
    place: Place | None = None
    source: str = ""
    basis: str = "positions"
    reason: str | None = None
    details: Mapping[str, float] = field(default_factory=dict)


@dataclass(frozen=True, eq=False)
class Context:
    """What a check works from: the flight, the approach in it, its figures and the standard."""

    motion: Motion
    reversal: Reversal
    figures: Figures
    standard: Standard

    def place(self, time_s: float) -> Place:
        """Where the aircraft was at an instant."""
        return Place(time_s, *self.motion.position_at(time_s))


def judge(margin: float, sd: float, gap: bool = False) -> tuple[Verdict, str | None]:
    """The verdict on a margin, and the reason where there is none.

    A peak measured over a stretch with a gap can only have been greater: outside stays outside, inside is not assessed.
    """
    if not math.isfinite(margin):
        return NOT_ASSESSED, "the log does not hold what it needs"
    if abs(margin) < _CLOSE_SD * sd:
        return CLOSE, None
    if margin < 0.0:
        return OUTSIDE, None
    if gap:
        return NOT_ASSESSED, "the log has a gap in this stretch"
    return INSIDE, None
