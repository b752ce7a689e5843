"""The whole pipeline in one call: track and procedure in, debrief out."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import TYPE_CHECKING, Any

from analyzer.checks.limits import Standard
from analyzer.checks.overall import overall
from analyzer.checks.standard import DEFAULT_STANDARD
from analyzer.debriefs.data import DebriefData
from analyzer.debriefs.judging import judge_charted
from analyzer.errors import LogError
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
    """A debriefed flight that writes and shows itself.

    `motion` holds track and procedure, `approaches` every approach in order. `holds` are those apart from the approaches, each
    debriefed as if it were all that is charted; `told` puts both in the order flown. `doubts` are sentences on what makes one
    doubt that log and procedure are as they were flown. `legs` and `findings` are tables with `to_frame()`. In a notebook it
    shows itself: verdict, plan view and parts.
    """

    holds: tuple[Debrief, ...] = ()

    @classmethod
    def of(cls, data: DebriefData) -> Debrief:
        """The same flight, with its holds, as what shows itself."""
        return cls(data.motion, data.standard, data.approaches, data.doubted, tuple(map(cls.of, data.holds)))

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
        The brief to compare with, as `analyzer.brief.brief_file.read_card` gives it.
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
    """
    if not len(track):
        raise LogError(f"{track.file}: it has no samples; give a track with some")
    date = datetime.fromtimestamp(float(track.time_s[0]), tz=UTC).date()
    words = (cleared,) if isinstance(cleared, str) else cleared
    charted = clear(resolve(procedure, date, line), read_clearance(words, procedure))
    return Debrief.of(judge_charted(track, charted, standard, card))
