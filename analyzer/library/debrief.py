"""Debrief of a flight, in one call: track and procedure in, debrief out."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, datetime
from typing import TYPE_CHECKING, Any

from analyzer.checks.excuse import Excuse
from analyzer.checks.excuse_file import excuses_for
from analyzer.checks.limits import Standard
from analyzer.checks.overall import overall
from analyzer.checks.standard import DEFAULT_STANDARD
from analyzer.debriefs.data import DebriefData
from analyzer.debriefs.judging import judge_charted
from analyzer.errors import LogError
from analyzer.frozen import dataclass
from analyzer.legs.named import read_flown
from analyzer.library.table import Table
from analyzer.procedure.charted import resolve
from analyzer.procedure.clearance import read_clearance
from analyzer.procedure.cleared import clear
from analyzer.procedure.schema import Procedure
from analyzer.procedure.values import Line
from analyzer.track.track import Track

if TYPE_CHECKING:
    from analyzer.brief.brief_file import Card

__all__ = ["Debrief", "debrief"]


@dataclass(frozen=True, eq=False, repr=False)
class Debrief(DebriefData):
    """A debriefed flight with methods that write and show it.

    In a notebook it is displayed as verdict, plan view and parts.

    Attributes
    ----------
    motion : Motion
        The smoothed flight, with its track and procedure.
    approaches : tuple of Approach
        Every approach, in the order flown.
    holds : tuple of Debrief
        The holds apart from the approaches, each debriefed as if nothing else were charted.
    sections : tuple of Section
        Approaches and holds, in the order flown.
    doubts : tuple of str
        Evidence that the log or the procedure does not match what was flown, a sentence or two each.
    legs, findings : Table
        Rows for pandas, by `to_frame()`.
    """

    holds: tuple[Debrief, ...] = ()

    @classmethod
    def of(cls, data: DebriefData) -> Debrief:
        """The debrief of the same data."""
        return cls(data.motion, data.standard, data.approaches, data.doubted, tuple(map(cls.of, data.holds)), data.idle)

    def to_dict(self) -> dict[str, Any]:
        """The debrief as JSON values; ``analyzer/report/debrief.schema.json`` is their schema."""
        from analyzer.report.documents.debrief_document import debrief_document

        return debrief_document(self)

    @property
    def legs(self) -> Table:
        """The parts of every approach and hold with their legs, a row each.

        The columns `reversal`, `hold` and `lap` number approaches, holds, and the laps of a hold, each from 1.
        """
        return self._rows("parts")

    @property
    def findings(self) -> Table:
        """All findings, a row each, numbered like `legs`; `fix` and `lap` are set where a finding is about one."""
        return self._rows("findings")

    def _rows(self, of: str) -> Table:
        from analyzer.report.documents.debrief_document import entries

        return Table(tuple(number | row for number, entry in entries(self.to_dict()) for row in entry[of]))

    def __repr__(self) -> str:
        results = "; ".join(
            f"{approach.reversal.flown}: {': '.join(overall(approach.findings, approach.reversal))}"
            for approach in (section.approach for section in self.sections)
        )
        track = self.motion.track
        return f"<Debrief of {track.file} by {self.motion.charted.procedure.title}: {results or 'no approach recognised'}>"

    def _repr_html_(self) -> str:
        from analyzer.report.pages.notebook import notebook_html

        return notebook_html(self)


def debrief(
    track: Track,
    procedure: Procedure,
    standard: Standard | str = DEFAULT_STANDARD,
    card: Card | None = None,
    *,
    cleared: str | Sequence[str] = (),
    flown: str | Sequence[str] = (),
    line: Line = "straight-in",
    excused: Sequence[Excuse] = (),
) -> Debrief:
    """Debrief one flight.

    Parameters
    ----------
    track : Track
        As `analyzer.read_track` gives it.
    procedure : Procedure
        As `analyzer.read_procedure` gives it. Without a declination there, the magnetic model of the log's date is used.
    standard : Standard or str
        The standard to judge by, the name of a built-in one, or the path of a file.
    card : Card, optional
        The brief to compare with, as `analyzer.brief.brief_file.read_card` gives it.
    cleared : str or sequence of str
        The clearance from air traffic control: ``"straight-in"``, ``"vectors"``, or an altitude assigned to a leg in the
        procedure's altitude unit, such as ``"inbound=3000"``.
    flown : str or sequence of str
        What was flown, where recognition finds nothing or something else: the passage of the fix that a reversal begins with
        (UTC), its shape, or both: ``"15:41:30"``, ``"base-turn"``, ``"15:41:30=base-turn"``. It is judged from there, and says
        so.
    line : str
        The line of minimums to judge by, where the procedure charts several: ``"straight-in"`` or ``"circling"``.
    excused : sequence of Excuse
        Findings that an instructor excused, as `analyzer.checks.excuse_file.read_excuses` gives them; those for other flights
        are left out. An excused finding stays in the debrief and counts neither way.

    Raises
    ------
    AnalyzerError
        No magnetic model covers the place or date, the standard is not valid, the log is too short, the brief is of another
        procedure, the clearance does not fit the procedure, what is said to be flown cannot be, or the procedure has no such
        line of minimums.

    Examples
    --------
    >>> import analyzer
    >>> track = analyzer.read_track("sample_tracks/strong_wind.csv")
    >>> procedure = analyzer.read_procedure("sample_tracks/wendle_island_vor24.toml")
    >>> approach = debrief(track, procedure).approaches[0]
    >>> approach.reversal.flown
    '45/180'
    >>> print(next(finding.sentence for finding in approach.findings if finding.verdict == "outside"))
    Farthest from WND: 11.48 NM at 15:45:33, 1.48 NM beyond the limit of 10.0 NM.

    After vectors the charted reversal must not be flown:

    >>> approach = debrief(track, procedure, cleared="vectors").approaches[0]
    >>> [finding.check for finding in approach.findings if finding.verdict == "outside"]
    ['distance_limit', 'no_reversal']

    Named as something else than is recognised, it is judged as named, and is never a pass:

    >>> approach = debrief(track, procedure, flown="15:41:32=teardrop").approaches[0]
    >>> approach.reversal.flown, approach.reversal.named.recognised
    ('base-turn', '45/180')
    """
    if not len(track):
        raise LogError(f"{track.file}: it has no samples; give a track with some")
    date = datetime.fromtimestamp(float(track.time_s[0]), tz=UTC).date()
    charted = clear(resolve(procedure, date, line), read_clearance(_several(cleared), procedure))
    named = read_flown(_several(flown), float(track.time_s[0]), float(track.time_s[-1]))
    return Debrief.of(judge_charted(track, charted, standard, card, named, excuses_for(excused, track.file)))


def _several(words: str | Sequence[str]) -> Sequence[str]:
    return (words,) if isinstance(words, str) else words
