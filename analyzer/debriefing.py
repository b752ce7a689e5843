"""The whole pipeline in one call: track and procedure in, debrief out."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from typing import TYPE_CHECKING, Any, Literal

from analyzer.brief.compare import Comparison, compare, same_procedure
from analyzer.checks.figures import Figures, measure
from analyzer.checks.limits import Standard
from analyzer.checks.model import Context, Finding
from analyzer.checks.overall import overall
from analyzer.checks.references import altitude_remark, off_runway_m
from analyzer.checks.run import run_checks
from analyzer.checks.standard import DEFAULT_STANDARD, read_standard
from analyzer.doubts.find import find_doubts
from analyzer.doubts.model import Doubt
from analyzer.doubts.pace import clock_shown
from analyzer.doubts.withdraw import withdraw
from analyzer.errors import LogError
from analyzer.legs.flight import Flight, find_flight
from analyzer.legs.model import Reversal
from analyzer.lessons.teach import teach
from analyzer.motion.model import Motion
from analyzer.motion.smooth import analyse_motion
from analyzer.procedure.charted import Charted, resolve
from analyzer.procedure.clearance import read_clearance
from analyzer.procedure.cleared import clear
from analyzer.procedure.schema import Procedure
from analyzer.procedure.values import Line
from analyzer.tables import Table
from analyzer.track.model import Track

if TYPE_CHECKING:
    from analyzer.brief.card import Card

__all__ = ["Approach", "Debrief", "Told", "debrief", "debrief_charted", "doubted_too", "judge", "taught"]


@dataclass(frozen=True, eq=False)
class Approach:
    """One approach in a flight: what was flown, its figures and findings, and how it compares with a brief.

    `clock_shown` says whether a turn shows the pace of the log's clock.
    `altitude_remark` says what its altitudes count from, where that is not sure to be sea level and decides a finding.
    """

    reversal: Reversal
    figures: Figures
    findings: tuple[Finding, ...]
    comparison: Comparison | None = None
    clock_shown: bool = True
    altitude_remark: str = ""


@dataclass(frozen=True, eq=False, repr=False)
class Debrief:
    """A debriefed flight: its motion (which holds track and procedure), the standard, and every approach in order.

    `holds` are those apart from the approaches, each debriefed as if it were all that is charted, so that what draws or writes
    an approach does so of a hold. `told` puts approaches and holds in the order flown.
    `doubted` holds what makes one doubt that log and procedure are as they were flown, `doubts` the sentences.
    In a notebook it shows itself: verdict, plan view and parts. `legs` and `findings` are tables with `to_frame()`.
    """

    motion: Motion
    standard: Standard
    approaches: tuple[Approach, ...]
    doubted: tuple[Doubt, ...] = ()
    holds: tuple[Debrief, ...] = ()

    @property
    def doubts(self) -> tuple[str, ...]:
        """Every doubt in a sentence or two."""
        return tuple(doubt.text for doubt in self.doubted)

    @property
    def told(self) -> tuple[Told, ...]:
        """Every approach and hold in the order flown."""
        many, stays = len(self.approaches), len(self.holds)
        title = "Approach {} of {}" if many > 1 else "Approach" if stays else ""
        approaches = [
            Told(self, approach, title.format(number, many), "reversal", number)
            for number, approach in enumerate(self.approaches, 1)
        ]
        holds = [
            Told(hold, approach, f"Hold at {hold.motion.charted.procedure.fix.name}", "hold", number)
            for number, hold in enumerate(self.holds, 1)
            for approach in hold.approaches
        ]
        return tuple(sorted((*approaches, *holds), key=lambda one: one.approach.reversal.begun_s))

    def to_dict(self) -> dict[str, Any]:
        """The debrief as JSON values, by the schema that ships as ``analyzer/report/debrief.schema.json``."""
        from analyzer.report.documents.debrief_document import debrief_document

        return debrief_document(self)

    @property
    def legs(self) -> Table:
        """The parts of every approach and hold with their legs, a row each.

        `reversal` counts approaches from 1, `hold` holds, and `lap` the laps of a hold.
        """
        return self._rows("parts")

    @property
    def findings(self) -> Table:
        """All findings, a row each, numbered as `legs`; `fix` and `lap` are given where a finding is about one."""
        return self._rows("findings")

    def _rows(self, of: str) -> Table:
        from analyzer.report.documents.debrief_document import entries

        return Table(tuple(number | row for number, entry in entries(self.to_dict()) for row in entry[of]))

    def __repr__(self) -> str:
        told = "; ".join(
            f"{approach.reversal.flown}: {': '.join(overall(approach.findings, approach.reversal))}"
            for approach in (one.approach for one in self.told)
        )
        track = self.motion.track
        return f"<Debrief of {track.file} by {self.motion.charted.procedure.title}: {told or 'no approach recognised'}>"

    def _repr_html_(self) -> str:
        from analyzer.report.pages.notebook import notebook_html

        return notebook_html(self)


@dataclass(frozen=True, eq=False)
class Told:
    """An approach or hold as it is told: the debrief that it is seen by, a heading where there are several, and its number.

    `of` and `number` are where it stands in the lists of the JSON, counted from 1.
    """

    seen: Debrief
    approach: Approach
    title: str
    of: Literal["reversal", "hold"]
    number: int


def debrief(
    track: Track,
    procedure: Procedure,
    standard: Standard | str = DEFAULT_STANDARD,
    card: Card | None = None,
    *,
    cleared: str | Sequence[str] = (),
    line: Line = "straight-in",
) -> Debrief:
    """Debrief one flight.

    Parameters
    ----------
    track : Track
        As `analyzer.read_track` gives it.
    procedure : Procedure
        As `analyzer.read_procedure` gives it. Where it names no declination, the magnetic model of the log's date is used.
    standard : Standard or str
        The standard to judge by, or the name of one that ships, or the path of a file.
    card : Card, optional
        The brief to compare with, as `analyzer.brief.card.read_card` gives it.
    cleared : str or sequence of str
        What air traffic control cleared: ``"straight-in"``, ``"vectors"``, or an altitude assigned to a leg in the procedure's
        altitude unit, as ``"inbound=3000"``.
    line : str
        Which line of minimums the flight is held to where the procedure charts several: ``"straight-in"`` or ``"circling"``.

    Raises
    ------
    AnalyzerError
        The declination cannot be told, the standard is not one, the log is too short, the brief is of another procedure, the
        clearance does not fit the procedure, or it has no such line of minimums.
    """
    if not len(track):
        raise LogError(f"{track.file}: it has no samples; give a track with some")
    date = datetime.fromtimestamp(float(track.time_s[0]), tz=UTC).date()
    words = (cleared,) if isinstance(cleared, str) else cleared
    charted = clear(resolve(procedure, date, line), read_clearance(words, procedure))
    return debrief_charted(track, charted, standard, card)


def debrief_charted(
    track: Track, charted: Charted, standard: Standard | str = DEFAULT_STANDARD, card: Card | None = None
) -> Debrief:
    """The same for a procedure that is resolved already. Raises as `debrief`."""
    if card is not None:
        same_procedure(card, charted)
    motion = analyse_motion(track, charted)
    general = standard if isinstance(standard, Standard) else read_standard(standard)
    return taught(judge(motion, find_flight(motion), general, card))


def judge(motion: Motion, flight: Flight, standard: Standard, card: Card | None = None) -> Debrief:
    """The debrief of a flight that is smoothed and found already, without lessons, which take more time than the judging.

    `flight` is what `find_flight` finds in `motion`; `card`, if any, is of its procedure.
    """
    judged_by = standard.for_category(motion.charted.procedure.category)
    doubted = find_doubts(motion, (*flight.approaches, *(held.flown for held in flight.holds)))
    off_m = off_runway_m(motion)
    approaches = tuple(_judged(motion, reversal, judged_by, card, doubted, off_m) for reversal in flight.approaches)
    holds = tuple(
        Debrief(held.motion, judged_by, (_judged(held.motion, held.flown, judged_by, None, doubted, off_m),), doubted)
        for held in flight.holds
    )
    return Debrief(motion, judged_by, approaches, doubted, holds)


def doubted_too(judged: Debrief, doubt: Doubt) -> Debrief:
    """The debrief with a doubt from outside the flight: it stands first, and takes back the verdicts that it touches."""
    approaches = tuple(replace(one, findings=withdraw(one.findings, one.reversal, (doubt,))) for one in judged.approaches)
    holds = tuple(replace(doubted_too(hold, doubt), doubted=hold.doubted) for hold in judged.holds)
    return replace(judged, approaches=approaches, holds=holds, doubted=(doubt, *judged.doubted))


def taught(judged: Debrief) -> Debrief:
    """The debrief with lessons in the findings of its approaches and holds."""
    approaches = tuple(
        replace(one, findings=teach(Context(judged.motion, one.reversal, one.figures, judged.standard), one.findings))
        for one in judged.approaches
    )
    return replace(judged, approaches=approaches, holds=tuple(taught(hold) for hold in judged.holds))


def _judged(
    motion: Motion,
    reversal: Reversal,
    standard: Standard,
    card: Card | None,
    doubted: Sequence[Doubt],
    off_m: float | None,
) -> Approach:
    """An approach, or the laps of a hold, with its figures and findings, compared with its brief.

    `off_m` is how far off its elevation the flight has the runway.
    """
    figures = measure(motion, reversal)
    comparison = compare(card, motion, figures) if card is not None else None
    findings = withdraw(run_checks(Context(motion, reversal, figures, standard)), reversal, doubted)
    remark = altitude_remark(motion, findings, off_m)
    return Approach(reversal, figures, findings, comparison, clock_shown(motion, reversal), remark)
