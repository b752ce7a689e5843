"""The attempts that are compared: every approach of every flight, in the order flown."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

from analyzer.checks.model import Context
from analyzer.checks.overall import overall
from analyzer.errors import AnalyzerError
from analyzer.lessons.reflight import Reflight, reflight

if TYPE_CHECKING:
    from analyzer.checks.limits import Standard
    from analyzer.debriefing import Approach, Debrief
    from analyzer.procedure.approach import Minimum
    from analyzer.procedure.clearance import Clearance
    from analyzer.procedure.schema import Procedure

__all__ = ["Attempt", "attempts_of"]


@dataclass(frozen=True, eq=False)
class Attempt:
    """One attempt: its number from 1 in the order flown, the flight and the approach in it."""

    number: int
    debrief: Debrief
    approach: Approach

    @property
    def start_s(self) -> float:
        """When its first part begins. [s]"""
        return self.approach.reversal.parts[0].start_s

    @property
    def verdict(self) -> str:
        """The overall verdict."""
        return overall(self.approach.findings, self.approach.reversal)[0]

    @cached_property
    def again(self) -> Reflight | None:
        """The reversal flown again by the simulation of the lessons, where that reproduces it."""
        motion, one = self.debrief.motion, self.approach
        return reflight(Context(motion, one.reversal, one.figures, self.debrief.standard))


def attempts_of(debriefs: Sequence[Debrief]) -> tuple[Attempt, ...]:
    """Every approach of some flights by the same procedure, in the order flown.

    Raises
    ------
    AnalyzerError
        There are fewer than two, or two flights were debriefed by different procedures, lines of minimums, clearances or
        standards.
    """
    for other in debriefs[1:]:
        if _judged_by(other) != _judged_by(debriefs[0]):
            raise AnalyzerError(
                f"{other.motion.track.file}: was debriefed by another procedure or standard, or by another line of "
                f"minimums or clearance, than {debriefs[0].motion.track.file}; compare flights by one"
            )
    flown = sorted(
        ((debrief, approach) for debrief in debriefs for approach in debrief.approaches),
        key=lambda pair: (pair[1].reversal.parts[0].start_s, pair[0].motion.track.file),
    )
    if len(flown) < 2:
        files = ", ".join(debrief.motion.track.file for debrief in debriefs)
        found = "one approach" if flown else "no approach"
        raise AnalyzerError(f"{files}: {found} recognised; comparing takes two at least")
    return tuple(Attempt(number, debrief, approach) for number, (debrief, approach) in enumerate(flown, 1))


def _judged_by(debrief: Debrief) -> tuple[Procedure, Minimum | None, Clearance, Standard]:
    charted = debrief.motion.charted
    return charted.procedure, charted.minimum, charted.cleared, debrief.standard
