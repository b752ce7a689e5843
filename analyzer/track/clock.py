"""What reading the time column gives, and what is known while it is read."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import field

import numpy as np

from analyzer.errors import LogError
from analyzer.frozen import dataclass
from analyzer.physics.units import BoolArray, FloatArray
from analyzer.track.columns import Matched
from analyzer.track.open_questions import OpenError, Question
from analyzer.track.options import ReadOptions
from analyzer.track.raw_table import RawTable
from analyzer.track.track import Note

__all__ = ["START_OPTION", "Clock", "TimeColumn"]

START_OPTION = "--start 2026-05-01T14:00:00Z"


@dataclass(frozen=True)
class Clock:
    """The rows' times. `seconds` [s since 1970-01-01 UTC] is NaN where a cell holds no time.

    Where `elapsed`, the seconds count from an unknown instant: the caller shifts them so that the first row is at the start
    given. `unit` and `basis` say how the cells were read and why. `without_zone` marks the rows that name no time zone, and is
    empty where there are none.
    """

    seconds: FloatArray
    unit: str
    basis: str = ""
    elapsed: bool = False
    uses_start: bool = False
    notes: tuple[Note, ...] = ()
    without_zone: BoolArray = field(default_factory=lambda: np.zeros(0, dtype=np.bool_))


@dataclass(frozen=True)
class TimeColumn:
    """The time column, what is known about it, and the first row whose cell is not blank or, if any, is a time."""

    table: RawTable
    matched: Matched
    options: ReadOptions
    file: str
    name: str
    cells: Sequence[str]
    first: int

    @property
    def example(self) -> str:
        """The first cell, for messages."""
        return self.cells[self.first][:40]

    def wrong(self, message: str) -> LogError:
        """The error of a column that holds no times."""
        return LogError(f"{self.file}, {self._place}: {message}")

    def open(self, message: str, *options: str) -> OpenError:
        """The error for what the user has to settle, with the options that settle it."""
        return OpenError(self.file, [Question(message, options, self._place)])

    @property
    def _place(self) -> str:
        return f"{self.table.place(self.first)}, column {self.name!r}"
