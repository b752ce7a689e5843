"""Times as logs write them to seconds since 1970-01-01 UTC: ISO 8601, epochs, elapsed seconds, date and time of day."""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime

import numpy as np

from analyzer.errors import LogError
from analyzer.physics.units import BoolArray, FloatArray
from analyzer.track.columns import Matched
from analyzer.track.dates import day_order, read_date
from analyzer.track.instants import (
    EARLIEST_S,
    EPOCH_UNITS,
    day_seconds,
    is_time_of_day,
    iso_seconds,
    may_be_epoch,
    offset_seconds,
)
from analyzer.track.model import Note, counted
from analyzer.track.options import ReadOptions
from analyzer.track.table import BLANK, RawTable, numbers

__all__ = ["Clock", "read_times"]

_DAY_S = 86400.0
_SANE_S = (datetime(1900, 1, 1, tzinfo=UTC).timestamp(), datetime(2200, 1, 1, tzinfo=UTC).timestamp())
_MIDNIGHT_S = 23.0 * 3600.0
_TRIED = 50  # rows in which a readable time is looked for

_PLAIN_ISO = re.compile(r"(?:\d{4}-\d\d-\d\d[T ]\d\d:\d\d:\d\d(?:\.\d{1,6})?Z?\n)+", re.ASCII)
_DAY_FIRST = re.compile(r"(\d{1,4}[/.-]\d{1,2}[/.-]\d{1,4})[ T,]{1,3}(\S.*)", re.ASCII)


@dataclass(frozen=True)
class Clock:
    """The rows' times. `seconds` [s since 1970-01-01 UTC] is NaN where a cell holds no time.

    Where `elapsed`, the seconds count from an instant that is not known: the caller adds what makes the first row the start
    given. `unit` and `basis` say how the cells were read and why. `without_zone` tells the rows that name no zone, and is empty
    where none is like that.
    """

    seconds: FloatArray
    unit: str
    basis: str = ""
    elapsed: bool = False
    uses_start: bool = False
    notes: tuple[Note, ...] = ()
    without_zone: BoolArray = field(default_factory=lambda: np.zeros(0, dtype=np.bool_))


@dataclass(frozen=True)
class _Source:
    """The time column, what is known about it, and the first row whose cell is not blank or, if any, is a time."""

    table: RawTable
    matched: Matched
    options: ReadOptions
    file: str
    name: str
    cells: Sequence[str]
    first: int

    def wrong(self, message: str) -> LogError:
        return LogError(f"{self.file}, {self.table.place(self.first)}, column {self.name!r}: {message}")


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
    for row in filled:
        form = _form(cells[row], table.decimal)
        if form is not None:
            source = _Source(table, matched, options, file, name, cells, row)
            clock = _in_utc(form(source), source)
            sane = (clock.seconds >= _SANE_S[0]) & (clock.seconds < _SANE_S[1])
            clock = replace(clock, seconds=np.where(sane, clock.seconds, math.nan))
            if options.start is not None and not clock.uses_start:
                note = Note("the start given is not used: the times have their own date")
                clock = replace(clock, notes=(*clock.notes, note))
            return clock
    raise _Source(table, matched, options, file, name, cells, filled[0]).wrong(
        f"{cells[filled[0]][:40]!r} is not a time. Known are ISO 8601 (2026-05-01T14:00:00Z), seconds since 1970,"
        " elapsed seconds, and hh:mm:ss with a date column"
    )


def _in_utc(clock: Clock, source: _Source) -> Clock:
    """The times that name no zone less the offset from UTC beside them; where there is none they are UTC, with a note."""
    count = int(clock.without_zone.sum())
    if not count:
        return clock
    match = source.matched.by_quantity.get("utc_offset")
    if match is not None:
        ahead = np.array([offset_seconds(cell) for cell in source.table.column(match.name)])
        seconds = np.where(clock.without_zone, clock.seconds - ahead, clock.seconds)
        note = Note(f"local times brought to UTC by the offset in {match.name!r}", count)
        return replace(clock, seconds=seconds, notes=(*clock.notes, note))
    if "utc" in source.name.casefold() or "gmt" in source.name.casefold():
        return clock
    return replace(clock, notes=(Note("the times carry no zone: read as UTC", count), *clock.notes))


def _form(cell: str, decimal: str) -> Callable[[_Source], Clock] | None:
    """What reads a column of cells like this one; None where it is no time."""
    if not math.isnan(numbers([cell], decimal)[0]):
        return _from_numbers
    if is_time_of_day(cell):
        return _from_times_of_day
    if not math.isnan(iso_seconds(cell)[0]):
        return _from_iso
    return _from_slash_dates if _DAY_FIRST.fullmatch(cell) else None


def _from_numbers(source: _Source) -> Clock:
    """Epochs, told from elapsed time by their size; with a start given, any numbers are elapsed time."""
    values = numbers(source.cells, source.table.decimal)
    unit = source.matched.by_quantity["time"].unit
    told = [(unit.text, unit.factor)] if unit and unit.kind == "time" else []
    if source.options.start_s is not None:
        text, factor = told[0] if told else ("s", 1.0)
        return Clock(values * factor, f"elapsed {text}", "start given by the user", elapsed=True, uses_start=True)
    middle = float(np.nanmedian(values))
    for text, factor in (*told, *EPOCH_UNITS):  # epochs in different units are never of one size
        if may_be_epoch(middle * factor):
            otherwise = f", not in {told[0][0]} as it says" if told and factor != told[0][1] else ""
            return Clock(values * factor, f"{text} since 1970", f"an epoch by its size{otherwise}")
    example = source.cells[source.first][:40]
    if middle * (told or EPOCH_UNITS)[0][1] < EARLIEST_S:
        raise source.wrong(
            f"{example} is elapsed time, not a date (epochs before 1990 are not taken)."
            " Give the instant of the first row: --start 2026-05-01T14:00:00Z"
        )
    raise source.wrong(f"{example} is no time since 1970 in s, ms, us or ns. Name another column: --column time=NAME")


def _from_iso(source: _Source) -> Clock:
    """ISO 8601, by one vectorised conversion where every cell is plain UTC or without zone, else cell by cell."""
    joined = "\n".join(source.cells) + "\n"
    if _PLAIN_ISO.fullmatch(joined) and joined.count("\n") == len(source.cells):  # a cell may hold a line break
        zoned = joined.count("Z")
        try:
            stamps = np.array(joined.replace("Z", "").split("\n")[:-1], dtype="datetime64[us]")
        except ValueError:
            pass
        else:
            seconds = stamps.astype(np.int64) / 1e6
            naive = [] if zoned == len(seconds) else [not cell.endswith("Z") for cell in source.cells]
            return Clock(seconds, "ISO 8601", without_zone=np.array(naive, dtype=np.bool_))
    read = np.array([iso_seconds(cell) for cell in source.cells])
    return Clock(read[:, 0], "ISO 8601", without_zone=read[:, 1] != 0.0)


def _from_slash_dates(source: _Source) -> Clock:
    """Date and time of day in one cell, the date with slashes, dots or dashes, in the order that the dates tell."""
    parted = [_DAY_FIRST.fullmatch(cell) for cell in source.cells]
    dates = [parts[1] if parts else "" for parts in parted]
    seconds = _days_of(source, dates, source.name, "time") * _DAY_S
    read = np.array([day_seconds(parts[2]) if parts else (math.nan, False) for parts in parted])
    return Clock(seconds + read[:, 0], "date and time", without_zone=read[:, 1] != 0.0)


def _from_times_of_day(source: _Source) -> Clock:
    """Times of day with a date column, or from the date of the start given; elapsed hh:mm:ss if the column's name says so."""
    read = np.array([day_seconds(cell) for cell in source.cells])
    seconds = read[:, 0]
    match = source.matched.by_quantity.get("date")
    start_s = source.options.start_s
    cell = source.cells[source.first]
    if "elapsed" in source.name.casefold():
        if start_s is None:
            raise source.wrong(f"{cell} is elapsed time. Give the instant of the first row: --start 2026-05-01T14:00:00Z")
        return Clock(seconds, "elapsed hh:mm:ss", "start given by the user", elapsed=True, uses_start=True)
    if match is not None:
        days, basis = _days_of(source, source.table.column(match.name), match.name, "date"), f"date from {match.name!r}"
    elif start_s is not None:
        days, basis = np.full(len(seconds), np.floor(start_s / _DAY_S)), "date of the start given"
    else:
        raise source.wrong(
            f"{cell} is a time of day without a date. Name the date's column (--column date=NAME)"
            " or give the day (--start 2026-05-01T00:00:00Z)"
        )
    seconds, crossed = _over_midnight(days * _DAY_S + seconds)
    text = f"{counted(crossed, 'midnight')} crossed without a new date: a day added from there on"
    notes = (Note(text, crossed),) if crossed else ()
    return Clock(seconds, "time of day", basis, uses_start=match is None, notes=notes, without_zone=read[:, 1] != 0.0)


def _over_midnight(seconds: FloatArray) -> tuple[FloatArray, int]:
    """Add a day where the clock falls by 23 hours or more and the date does not follow, until it does."""
    known = np.flatnonzero(~np.isnan(seconds))
    steps = np.diff(seconds[known])
    changes = np.zeros(len(known))  # of the days added
    crossed, pending = 0, 0
    for place in np.flatnonzero(np.abs(steps) >= _MIDNIGHT_S).tolist():
        if -_DAY_S <= steps[place] < 0.0:
            pending += 1
            crossed += 1
            changes[place + 1] = 1.0
        elif pending and steps[place] > 0.0:
            pending -= 1
            changes[place + 1] = -1.0
    result = seconds.copy()
    result[known] += np.cumsum(changes) * _DAY_S
    return result, crossed


def _days_of(source: _Source, cells: Sequence[str], name: str, quantity: str) -> FloatArray:
    """Days since 1970 of the date cells; each different text is read once."""
    match = source.matched.by_quantity.get(quantity)
    unit = match.unit if match else None
    order = day_order(cells, unit.text if unit and unit.kind == "date" else None)
    read: dict[str, float] = {cell: read_date(cell, order) for cell in set(cells)}
    first = next((cell for cell in cells if cell), "")
    if math.isnan(read.get(first, math.nan)):
        dated = replace(source, name=name)
        if order is None and not math.isnan(read_date(first, "d/m/y")):
            raise dated.wrong(
                f"day and month of {first!r} cannot be told apart."
                f" Say which: --unit {quantity}=d/m/y or --unit {quantity}=m/d/y"
            )
        raise dated.wrong(f"{first[:40]!r} is not a date. Known are 2026-05-01, 20260501, 1.5.2026 and 1/5/2026")
    return np.array([read[cell] for cell in cells])
