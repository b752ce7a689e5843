"""Times as logs write them to seconds since 1970-01-01 UTC: ISO 8601, epochs, elapsed seconds, date and time of day."""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime

import numpy as np

from analyzer.errors import LogError
from analyzer.track.clock import Clock, TimeColumn
from analyzer.track.columns import Matched
from analyzer.track.counted_time import read_numbers
from analyzer.track.dated import days_of
from analyzer.track.day_times import read_times_of_day
from analyzer.track.instants import day_seconds, is_time_of_day, iso_seconds, offset_seconds, offset_text
from analyzer.track.midnights import DAY_S
from analyzer.track.options import ReadOptions
from analyzer.track.plain_cells import PlainCells
from analyzer.track.raw_table import BLANK, RawTable, numbers
from analyzer.track.track import Note

__all__ = ["NO_ZONE", "read_times"]

NO_ZONE = "the times carry no zone: read as UTC"  # what a note says where nobody said which it is

_SANE_S = (datetime(1900, 1, 1, tzinfo=UTC).timestamp(), datetime(2200, 1, 1, tzinfo=UTC).timestamp())
_TRIED = 50  # rows in which a readable time is looked for

_PLAIN_ISO = re.compile(r"(?:\d{4}-\d\d-\d\d[T ]\d\d:\d\d:\d\d(?:\.\d{1,6})?Z?\n)+", re.ASCII)
_DATE = (
    r"\d{1,4}[/.-]\d{1,2}[/.-]\d{1,4}|\d{1,2}[ .-]{1,2}[A-Za-z]{3,9}[ .,-]{1,2}\d{2,4}|[A-Za-z]{3,9}[ .]{1,2}\d{1,2},? \d{4}"
)
# with a day of the week before it or the word between that spreadsheets write: Sun, 14 Jun 2026 at 9:12:00 AM
_DATE_AND_TIME = re.compile(rf"(?:[A-Za-z]{{3,9}},? )?({_DATE})(?:,? at |[ T,]{{1,3}})(\S.*)", re.ASCII)
_FIRM_BLANKS = re.compile("[\u00a0\u2009\u202f]")  # some programs write one before AM


def read_times(table: RawTable, matched: Matched, options: ReadOptions, file: str) -> Clock:
    """The times of all rows, in the form that the first readable one has.

    A time before 1900 or after 2199 is none. Raises `LogError` where none of the first times is in a form known here, where
    elapsed time or a time of day has no date to go with, and where day and month cannot be told apart.
    """
    name = matched.by_quantity["time"].name
    cells = table.column(name)
    filled = [row for row, cell in enumerate(cells[:_TRIED]) if cell.casefold() not in BLANK]
    filled = filled or [row for row, cell in enumerate(cells) if cell.casefold() not in BLANK][:1]
    if not filled:
        raise LogError(f"{file}: no row has a time: the column {name!r} is empty. Name another: --column time=NAME")
    if _FIRM_BLANKS.search(cells[filled[0]]):
        cells = [_FIRM_BLANKS.sub(" ", cell) for cell in cells]
    for row in filled:
        form = _form(cells[row], table.decimal)
        if form is not None:
            column = TimeColumn(table, matched, options, file, name, cells, row)
            clock = _in_utc(form(column), column)
            sane = (clock.seconds >= _SANE_S[0]) & (clock.seconds < _SANE_S[1])
            clock = replace(clock, seconds=np.where(sane, clock.seconds, math.nan))
            if options.start is not None and not clock.uses_start:
                note = Note("the start given is not used: the times have their own date")
                clock = replace(clock, notes=(*clock.notes, note))
            return clock
    raise TimeColumn(table, matched, options, file, name, cells, filled[0]).wrong(
        f"{cells[filled[0]][:40]!r} is not a time. Known are ISO 8601 (2026-05-01T14:00:00Z), date and time"
        " (1 May 2026 14:00:00, 1.5.2026 14:00:00), seconds since 1970, elapsed seconds, and hh:mm:ss with a date column"
    )


def _in_utc(clock: Clock, column: TimeColumn) -> Clock:
    """Times that name no zone, less the offset from UTC that was stated, or their row's; without one they are taken as UTC."""
    count, stated_s = int(clock.without_zone.sum()), column.options.utc_offset_s
    if not count:
        unused = Note("the offset from UTC that was given is not used: the times have their own zone, or are elapsed")
        return clock if not stated_s else replace(clock, notes=(*clock.notes, unused))
    if stated_s is not None:
        seconds = np.where(clock.without_zone, clock.seconds - stated_s, clock.seconds)
        said = f"local times brought to UTC: they are {offset_text(stated_s)} from it, as stated" if stated_s else NO_ZONE
        note = Note(said, count)
        return replace(clock, seconds=seconds, notes=(*clock.notes, note))
    match = column.matched.by_quantity.get("utc_offset")
    if match is not None:
        ahead = np.array([offset_seconds(cell) for cell in column.table.column(match.name)])
        seconds = np.where(clock.without_zone, clock.seconds - ahead, clock.seconds)
        note = Note(f"local times brought to UTC by the offset in {match.name!r}", count)
        return replace(clock, seconds=seconds, notes=(*clock.notes, note))
    if "utc" in column.name.casefold() or "gmt" in column.name.casefold():
        return clock
    return replace(clock, notes=(Note(NO_ZONE, count), *clock.notes))


def _form(cell: str, decimal: str) -> Callable[[TimeColumn], Clock] | None:
    """What reads a column of cells like this one; None where it is no time."""
    if not math.isnan(numbers([cell], decimal)[0]):
        return read_numbers
    if is_time_of_day(cell):
        return read_times_of_day
    if not math.isnan(iso_seconds(cell)[0]):
        return _from_iso
    return _from_dates if _DATE_AND_TIME.fullmatch(cell) else None


def _from_iso(column: TimeColumn) -> Clock:
    """ISO 8601, by one vectorised conversion where every cell is plain UTC or without zone, else cell by cell."""
    instants = column.cells.instants() if isinstance(column.cells, PlainCells) else None
    if instants is not None:
        seconds, in_utc = instants
        return Clock(seconds, "ISO 8601", without_zone=np.zeros(0 if in_utc else len(seconds), dtype=np.bool_) | (not in_utc))
    joined = "\n".join(column.cells) + "\n"
    if _PLAIN_ISO.fullmatch(joined) and joined.count("\n") == len(column.cells):  # a cell may hold a line break
        zoned = joined.count("Z")
        try:
            stamps = np.array(joined.replace("Z", "").split("\n")[:-1], dtype="datetime64[us]")
        except ValueError:
            pass
        else:
            seconds = stamps.astype(np.int64) / 1e6
            naive = [] if zoned == len(seconds) else [not cell.endswith("Z") for cell in column.cells]
            return Clock(seconds, "ISO 8601", without_zone=np.array(naive, dtype=np.bool_))
    read = np.array([iso_seconds(cell) for cell in column.cells])
    return Clock(read[:, 0], "ISO 8601", without_zone=read[:, 1] != 0.0)


def _from_dates(column: TimeColumn) -> Clock:
    """Date and time of day in one cell: with the month's name, or in the order that the dates settle."""
    parted = [_DATE_AND_TIME.fullmatch(cell) for cell in column.cells]
    dates = [parts[1] if parts else "" for parts in parted]
    days, notes = days_of(column, dates, column.name, "time")
    seconds = days * DAY_S
    read = np.array([day_seconds(parts[2]) if parts else (math.nan, False) for parts in parted])
    return Clock(seconds + read[:, 0], "date and time", notes=notes, without_zone=read[:, 1] != 0.0)
