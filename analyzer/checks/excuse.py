"""An excuse: an instructor's reason why a finding is not held against a flight, and which finding it means.

A finding is identified by what stays the same when a flight is debriefed again: the approach or hold, the check, the leg, the
part, the fix and the lap, and the instant where several findings share all of these. The excused finding stays in the debrief
and counts neither for nor against the flight (`analyzer.debriefs.excusing`).
"""

from __future__ import annotations

import datetime as dt
from dataclasses import astuple, dataclass
from hashlib import sha256

from analyzer.vocabulary import CheckName, Leg, PartName, Verdict

__all__ = ["Excuse", "Excused"]


@dataclass(frozen=True)
class Excuse:
    """Which finding is excused, why, by whom, and on which day.

    Attributes
    ----------
    check : str
        The check of the finding.
    reason, by : str
        The reason, and the name of the instructor.
    on : datetime.date, optional
        The day on which it was excused.
    flight : str
        The file of the log; empty for an excuse that is kept with its log.
    approach, hold : int, optional
        The number of the approach, or of the hold, in the flight, from 1. With neither, any of them.
    leg, part, fix, lap
        The leg, part, charted fix, and lap of a hold that the finding is about. None leaves them open.
    time_s : float, optional
        The instant of the finding. [s since 1970]
    sentence : str
        How the finding read when it was excused; empty if that is not known.
    """

    check: CheckName
    reason: str
    by: str
    on: dt.date | None = None
    flight: str = ""
    approach: int | None = None
    hold: int | None = None
    leg: Leg | None = None
    part: PartName | None = None
    fix: str | None = None
    lap: int | None = None
    time_s: float | None = None
    sentence: str = ""

    @property
    def key(self) -> str:
        """A short digest by which a form or a record refers to this excuse."""
        return sha256(repr(astuple(self)).encode()).hexdigest()[:16]


@dataclass(frozen=True)
class Excused:
    """The excuse that a finding has, and the verdict that it would have without."""

    excuse: Excuse
    verdict: Verdict
