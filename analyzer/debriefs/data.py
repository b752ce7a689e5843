"""A debriefed flight as a value: what was flown, its figures and findings, and the doubts about it.

Texts, pictures and files of a debrief are all made from this value. Scripts and notebooks get it as
`analyzer.library.debrief.Debrief`, which adds methods that write and show it.
"""

from __future__ import annotations

from typing import Literal

from analyzer.checks.excuse import Excuse
from analyzer.checks.figures import Figures
from analyzer.checks.finding import Finding
from analyzer.checks.limits import Standard
from analyzer.debriefs.against_brief import BriefComparison
from analyzer.doubts.doubt import Doubt
from analyzer.frozen import dataclass
from analyzer.legs.reversal import Reversal
from analyzer.motion.motion import Motion

__all__ = ["Approach", "DebriefData", "IdleExcuse", "Section"]


@dataclass(frozen=True)
class IdleExcuse:
    """An excuse that names no finding of the flight, and why, in words."""

    excuse: Excuse
    why: str


@dataclass(frozen=True, eq=False)
class Approach:
    """One approach in a flight, or the laps of a hold.

    Attributes
    ----------
    reversal : Reversal
        What was flown, in parts.
    figures, findings
        What was measured, and how it compares with the limits.
    comparison : BriefComparison, optional
        How it compares with its brief.
    clock_shown : bool
        Whether a turn shows that the log's clock keeps the right pace.
    altitude_remark : str
        The reference of the altitudes, where it may not be sea level and decides a finding; otherwise empty.
    """

    reversal: Reversal
    figures: Figures
    findings: tuple[Finding, ...]
    comparison: BriefComparison | None = None
    clock_shown: bool = True
    altitude_remark: str = ""


@dataclass(frozen=True, eq=False)
class DebriefData:
    """A debriefed flight.

    Attributes
    ----------
    motion : Motion
        The smoothed flight, with its track and procedure.
    standard : Standard
        The standard it is judged by.
    approaches : tuple of Approach
        Every approach, in the order flown.
    doubted : tuple of Doubt
        Evidence that the log or the procedure does not match what was flown.
    holds : tuple of DebriefData
        The holds apart from the approaches. Each is debriefed as if nothing else were charted, so that it is drawn and written
        like an approach.
    idle : tuple of IdleExcuse
        The excuses that are not used, because they name no finding.
    """

    motion: Motion
    standard: Standard
    approaches: tuple[Approach, ...]
    doubted: tuple[Doubt, ...] = ()
    holds: tuple[DebriefData, ...] = ()
    idle: tuple[IdleExcuse, ...] = ()

    @property
    def doubts(self) -> tuple[str, ...]:
        """The doubts in words, a sentence or two each."""
        return tuple(doubt.text for doubt in self.doubted)

    @property
    def sections(self) -> tuple[Section, ...]:
        """Every approach and hold, in the order flown."""
        count = len(self.approaches)
        title = "Approach {} of {}" if count > 1 else "Approach" if self.holds else ""
        approaches = [
            Section(self, approach, title.format(number, count), "reversal", number)
            for number, approach in enumerate(self.approaches, 1)
        ]
        holds = [
            Section(hold, approach, f"Hold at {hold.motion.charted.procedure.fix.name}", "hold", number)
            for number, hold in enumerate(self.holds, 1)
            for approach in hold.approaches
        ]
        return tuple(sorted((*approaches, *holds), key=lambda section: section.approach.reversal.begun_s))


@dataclass(frozen=True, eq=False)
class Section:
    """An approach or hold in a debrief.

    Attributes
    ----------
    seen : DebriefData
        The debrief that the approach belongs to: of a hold, its own.
    approach : Approach
        The approach, or the laps of the hold.
    title : str
        The heading; empty where it is the only section.
    of, number
        Its place in the JSON: which list, and the position there, from 1.
    """

    seen: DebriefData
    approach: Approach
    title: str
    of: Literal["reversal", "hold"]
    number: int
