"""Excuses as plain TOML, a table ``[[excused]]`` each: read from a file, and as tables of other files.

    [[excused]]
    flight = "strong_wind.csv"
    approach = 1
    check = "distance_limit"
    part = "reversal_turn"
    time = 2026-06-28T15:45:33Z
    reason = "ATC extended the outbound leg"
    by = "B. Instructor"
    on = 2026-06-29

``check``, ``reason`` and ``by`` are needed; the rest says which finding is meant, where a flight has several of the check.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable
from dataclasses import replace
from pathlib import Path
from typing import Annotated, TypeAlias

from pydantic import Field

from analyzer.checks.excuse import Excuse
from analyzer.errors import ExcuseError
from analyzer.toml_files import NO_TEXT, Table, checked, read_toml
from analyzer.vocabulary import CheckName, Leg, PartName

__all__ = ["ExcuseTable", "Number", "excuses_for", "read_excuses"]

_MOST = 10_000
_Said: TypeAlias = Annotated[
    str, Field(min_length=1, max_length=500, pattern=rf"^[^{NO_TEXT}]*$", description="a line of text in quotes")
]
Number: TypeAlias = Annotated[int, Field(ge=1, le=1000, description="a number from 1")]


class ExcuseTable(Table):
    """A table ``[[excused]]``, in the words of the file."""

    flight: _Said | None = None
    approach: Number | None = None
    hold: Number | None = None
    check: Annotated[CheckName, Field(description="the name of a check, as in the JSON")]
    leg: Leg | None = None
    part: PartName | None = None
    fix: _Said | None = None
    lap: Number | None = None
    time: Annotated[dt.datetime, Field(description="an instant, like 2026-06-28T15:45:33Z")] | None = None
    reason: _Said
    by: _Said
    on: Annotated[dt.date, Field(description="a date without quotes, like 2026-06-29")] | None = None
    sentence: Annotated[str, Field(max_length=1000, pattern=rf"^[^{NO_TEXT}]*$")] = ""

    def excuse(self) -> Excuse:
        """The excuse. An instant without a zone is read as UTC."""
        at = self.time
        if at is not None and at.tzinfo is None:
            at = at.replace(tzinfo=dt.UTC)
        return Excuse(
            check=self.check,
            reason=self.reason,
            by=self.by,
            on=self.on,
            flight=self.flight or "",
            approach=self.approach,
            hold=self.hold,
            leg=self.leg,
            part=self.part,
            fix=self.fix,
            lap=self.lap,
            time_s=None if at is None else at.timestamp(),
            sentence=self.sentence,
        )


class _File(Table):
    """A file of excuses."""

    excused: list[ExcuseTable] = Field(default_factory=list, max_length=_MOST)


def read_excuses(path: str | Path) -> tuple[Excuse, ...]:
    """The excuses in a file, in order. Raises `ExcuseError`."""
    tables = checked(_File, read_toml(path, "file of excuses", ExcuseError), str(path), ExcuseError)
    return tuple(table.excuse() for table in tables.excused)


def excuses_for(excuses: Iterable[Excuse], log: str) -> tuple[Excuse, ...]:
    """The excuses that are for a log, by its path, the end of its path from any folder on, or none at all; without the flight.

    >>> one = Excuse("turn_bank", "gusts", "B. Instructor", flight="day 1/A.csv")
    >>> len(excuses_for([one], "spring/day 1/a.csv")), len(excuses_for([one], "spring/day 2/a.csv"))
    (1, 0)
    """
    folders = log.replace("\\", "/").lower().split("/")
    names = {"", *("/".join(folders[k:]) for k in range(len(folders)))}
    return tuple(replace(excuse, flight="") for excuse in excuses if excuse.flight.replace("\\", "/").lower() in names)
