"""A debriefed flight as a value: what was flown, its figures and findings, and what makes one doubt them.

Everything that words, draws or writes a debrief works from this value. What a script or notebook gets is the same with methods
that write and show it, `analyzer.library.debrief.Debrief`.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from analyzer.checks.figures import Figures
from analyzer.checks.finding import Finding
from analyzer.checks.limits import Standard
from analyzer.debriefs.against_brief import BriefComparison
from analyzer.doubts.doubt import Doubt
from analyzer.legs.reversal import Reversal
from analyzer.motion.motion import Motion

__all__ = ["Approach", "DebriefData", "Section"]


@dataclass(frozen=True, eq=False)
class Approach:
    """One approach in a flight: what was flown, its figures and findings, and how it compares with a brief.

    `clock_shown` says whether a turn shows the pace of the log's clock.
    `altitude_remark` says what its altitudes count from, where that is not sure to be sea level and decides a finding.
    """

    reversal: Reversal
    figures: Figures
    findings: tuple[Finding, ...]
    comparison: BriefComparison | None = None
    clock_shown: bool = True
    altitude_remark: str = ""


@dataclass(frozen=True, eq=False)
class DebriefData:
    """A debriefed flight: its motion (which holds track and procedure), the standard, and every approach in order.

    `holds` are those apart from the approaches, each debriefed as if it were all that is charted, so that what draws or writes
    an approach does so of a hold. `told` puts approaches and holds in the order flown.
    `doubted` holds what makes one doubt that log and procedure are as they were flown, `doubts` the sentences.
    """

    motion: Motion
    standard: Standard
    approaches: tuple[Approach, ...]
    doubted: tuple[Doubt, ...] = ()
    holds: tuple[DebriefData, ...] = ()

    @property
    def doubts(self) -> tuple[str, ...]:
        """Every doubt in a sentence or two."""
        return tuple(doubt.text for doubt in self.doubted)

    @property
    def told(self) -> tuple[Section, ...]:
        """Every approach and hold in the order flown."""
        many, stays = len(self.approaches), len(self.holds)
        title = "Approach {} of {}" if many > 1 else "Approach" if stays else ""
        approaches = [
            Section(self, approach, title.format(number, many), "reversal", number)
            for number, approach in enumerate(self.approaches, 1)
        ]
        holds = [
            Section(hold, approach, f"Hold at {hold.motion.charted.procedure.fix.name}", "hold", number)
            for number, hold in enumerate(self.holds, 1)
            for approach in hold.approaches
        ]
        return tuple(sorted((*approaches, *holds), key=lambda one: one.approach.reversal.begun_s))


@dataclass(frozen=True, eq=False)
class Section:
    """An approach or hold with the debrief it belongs to, a heading where there are several, and its number.

    `of` and `number` are where it stands in the lists of the JSON, counted from 1.
    """

    seen: DebriefData
    approach: Approach
    title: str
    of: Literal["reversal", "hold"]
    number: int
