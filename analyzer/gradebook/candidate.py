"""A procedure that a log may have been flown by, with what it is judged by besides."""

from __future__ import annotations

from dataclasses import dataclass

from analyzer.procedure.clearance import AS_CHARTED, Clearance
from analyzer.procedure.schema import Procedure
from analyzer.procedure.values import Line

__all__ = ["Candidate"]


@dataclass(frozen=True)
class Candidate:
    """A procedure that may have been flown, by the name of its file, with the line of minimums and clearance to judge by."""

    name: str
    procedure: Procedure
    line: Line = "straight-in"
    cleared: Clearance = AS_CHARTED
