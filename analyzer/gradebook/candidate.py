"""A procedure that a log may have been flown by, with the line of minimums and clearance to judge by."""

from __future__ import annotations

from analyzer.frozen import dataclass
from analyzer.procedure.clearance import AS_CHARTED, Clearance
from analyzer.procedure.schema import Procedure
from analyzer.procedure.values import Line

__all__ = ["Candidate"]


@dataclass(frozen=True)
class Candidate:
    """A candidate procedure; `name` is the name of its file."""

    name: str
    procedure: Procedure
    line: Line = "straight-in"
    cleared: Clearance = AS_CHARTED
