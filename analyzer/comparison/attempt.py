"""The attempts that are compared: all approaches of the flights in the order flown, or all flights of one hold."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from functools import cached_property
from typing import TYPE_CHECKING, Literal

from analyzer.checks.finding import Context, Finding
from analyzer.checks.overall import overall
from analyzer.errors import AnalyzerError
from analyzer.frozen import dataclass
from analyzer.legs.held import laps_of
from analyzer.legs.reversal import Part
from analyzer.lessons.reflight import Reflight, reflight
from analyzer.procedure.approach import PublishedHold

if TYPE_CHECKING:
    from analyzer.checks.limits import Standard
    from analyzer.debriefs.data import Approach, DebriefData
    from analyzer.procedure.approach import Minimum
    from analyzer.procedure.clearance import Clearance
    from analyzer.procedure.schema import Procedure

__all__ = ["Attempt", "attempts_in", "attempts_of", "judged_by"]


@dataclass(frozen=True, eq=False)
class Attempt:
    """One attempt at the procedure.

    Attributes
    ----------
    number : int
        From 1, in the order flown.
    debrief : DebriefData
        The debrief of its flight, or of the hold if the attempt is one.
    approach : Approach
        The approach, or the laps of a hold.
    held : tuple of Approach
        The holds flown after this approach and before the next.
    """

    number: int
    debrief: DebriefData
    approach: Approach
    held: tuple[Approach, ...] = ()

    @property
    def start_s(self) -> float:
        """Start of its first part. [s]"""
        return self.approach.reversal.parts[0].start_s

    @property
    def pilot(self) -> str:
        """The pilot's name, empty where it is not known."""
        return self.debrief.motion.track.pilot

    @property
    def verdict(self) -> str:
        """The overall verdict."""
        return overall(self.approach.findings, self.approach.reversal)[0]

    @property
    def hold(self) -> str | None:
        """The name of the hold, if the attempt is one."""
        hold = self.debrief.motion.charted.held
        return None if hold is None else hold.name

    @property
    def hold_findings(self) -> tuple[Finding, ...]:
        """The findings on its hold: its own, or those on the hold after the approach."""
        return tuple(finding for hold in self._holds for finding in hold.findings)

    @property
    def laps(self) -> tuple[tuple[Part, ...], ...]:
        """The parts of each lap of its hold, the entry first."""
        return tuple(lap for hold in self._holds for lap in laps_of(hold.reversal))

    @property
    def _holds(self) -> tuple[Approach, ...]:
        return self.held if self.hold is None else (self.approach,)

    @cached_property
    def again(self) -> Reflight | None:
        """The reversal as re-flown by the simulation of the lessons; None if that does not reproduce it."""
        motion, approach = self.debrief.motion, self.approach
        return reflight(Context(motion, approach.reversal, approach.figures, self.debrief.standard))


def attempts_of(debriefs: Sequence[DebriefData]) -> tuple[Attempt, ...]:
    """The approaches of flights by the same procedure, in the order flown.

    If there are fewer than two approaches but a published hold was flown twice or more, the attempts are the flights of the
    hold flown most often.

    Raises
    ------
    AnalyzerError
        There are fewer than two of either, or two flights were debriefed by different procedures, lines of minimums, clearances
        or standards.
    """
    for other in debriefs[1:]:
        if judged_by(other) != judged_by(debriefs[0]):
            raise AnalyzerError(
                f"{other.motion.track.file}: was debriefed with another procedure, standard, line of minimums "
                f"or clearance than {debriefs[0].motion.track.file}; compare flights that share them"
            )
    approaches = [
        (debrief, approach, _held_after(debrief, approach)) for debrief in debriefs for approach in debrief.approaches
    ]
    flown = approaches if len(approaches) > 1 else _held_most(debriefs)
    if len(flown) < 2:
        files = ", ".join(debrief.motion.track.file for debrief in debriefs)
        recognised = f"{'one' if approaches else 'no'} approach{' and one hold' if flown and flown is not approaches else ''}"
        raise AnalyzerError(f"{files}: {recognised} recognised; a comparison needs at least two")
    flown.sort(key=lambda attempt: (attempt[1].reversal.parts[0].start_s, attempt[0].motion.track.file))
    return tuple(Attempt(number, *attempt) for number, attempt in enumerate(flown, 1))


def attempts_in(debrief: DebriefData) -> Iterator[tuple[Literal["reversal", "hold"], int, Attempt]]:
    """Every approach and every hold of a flight as an attempt, with its kind and its number among those of its kind."""
    for number, approach in enumerate(debrief.approaches, 1):
        yield "reversal", number, Attempt(number, debrief, approach, _held_after(debrief, approach))
    for number, hold in enumerate(debrief.holds, 1):
        for laps in hold.approaches:
            yield "hold", number, Attempt(number, hold, laps)


def judged_by(debrief: DebriefData) -> tuple[Procedure, Minimum | None, Clearance, Standard]:
    """What a flight was judged by; attempts are only compared where it is the same."""
    charted = debrief.motion.charted
    return charted.procedure, charted.minimum, charted.cleared, debrief.standard


def _held_after(debrief: DebriefData, approach: Approach) -> tuple[Approach, ...]:
    """The holds flown after an approach and before the next one."""
    starts = approach.reversal.begun_s
    later = (other.reversal.begun_s for other in debrief.approaches if other.reversal.begun_s > starts)
    until = min(later, default=math.inf)
    holds = (laps for hold in debrief.holds for laps in hold.approaches)
    return tuple(laps for laps in holds if starts < laps.reversal.begun_s < until)


def _held_most(debriefs: Sequence[DebriefData]) -> list[tuple[DebriefData, Approach, tuple[Approach, ...]]]:
    """The flights of the published hold flown most often; among equals, of the one flown first."""
    by_hold: dict[PublishedHold | None, list[tuple[DebriefData, Approach, tuple[Approach, ...]]]] = {}
    for debrief in debriefs:
        for hold in debrief.holds:
            by_hold.setdefault(hold.motion.charted.held, []).extend((hold, laps, ()) for laps in hold.approaches)
    return max(by_hold.values(), key=len, default=[])
