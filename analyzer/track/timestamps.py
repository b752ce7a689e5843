"""Times as logs write them to seconds since 1970-01-01 UTC: ISO 8601, epochs, elapsed seconds, date and time of day."""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime

import numpy as np

from analyzer.errors import LogError
from analyzer.physics.units import FloatArray
from analyzer.track.columns import Matched
from analyzer.track.dates import day_order, read_date
from analyzer.track.model import Note, counted
from analyzer.track.options import ReadOptions
from analyzer.track.table import BLANK, RawTable, numbers

__all__ = ["Clock", "read_times"]

_DAY_S = 86400.0
_MIDNIGHT_S = 23.0 * 3600.0
_TRIED = 50  # rows in which a readable time is looked for
_EARLIEST_S = datetime(1990, 1, 1, tzinfo=UTC).timestamp()  # a number that gives an earlier date is no epoch but elapsed time
_LATEST_S = datetime(2100, 1, 1, tzinfo=UTC).timestamp()
_EPOCH_UNITS = (("s", 1.0), ("ms", 1e-3), ("us", 1e-6), ("ns", 1e-9))

_PLAIN_ISO = re.compile(r"(?:\d{4}-\d\d-\d\d[T ]\d\d:\d\d:\d\d(?:\.\d{1,6})?Z?\n)+")
_TIME_OF_DAY = re.compile(r"(\d{1,2}):(\d\d)(?::(\d\d(?:[.,]\d*)?))?\s*(?:([AaPp])\.?[Mm]\.?)?\s*(?:Z|z|UTC|GMT)?")
_DAY_FIRST = re.compile(r"\s*(\d{1,4}[/.-]\d{1,2}[/.-]\d{1,4})[ T,]+(\S.*)")
_ZONE_WORD = re.compile(r"\s*(?:UTC|GMT|z)$")


@dataclass(frozen=True)
class Clock:
    """The rows' times. `seconds` [s since 1970-01-01 UTC] is NaN where a cell holds no time.

    Where `elapsed`, the seconds count from an instant that is not known: the caller adds what makes the first row the start
    given. `unit` and `basis` say how the cells were read and why.
    """

    seconds: FloatArray
    unit: str
    basis: str = ""
    elapsed: bool = False
    uses_start: bool = False
    notes: tuple[Note, ...] = ()


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
        return LogError(f"{self.file}, line {self.table.lines[self.first]}, column {self.name!r}: {message}")

    def zone_notes(self, without_zone: int) -> tuple[Note, ...]:
        """A note on times without zone, unless the column's name says UTC."""
        if not without_zone or "utc" in self.name.casefold() or "gmt" in self.name.casefold():
            return ()
        return (Note("the times carry no zone: read as UTC", without_zone),)


def read_times(table: RawTable, matched: Matched, options: ReadOptions, file: str) -> Clock:
    """The times of all rows, in the form that the first readable one has.

    Raises `LogError` where none of the first times is in a form known here, where elapsed time or a time of day has no date to
    go with, and where day and month cannot be told apart.
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
            clock = form(_Source(table, matched, options, file, name, cells, row))
            if options.start is not None and not clock.uses_start:
                note = Note("the start given is not used: the times have their own date")
                clock = replace(clock, notes=(*clock.notes, note))
            return clock
    raise _Source(table, matched, options, file, name, cells, filled[0]).wrong(
        f"{cells[filled[0]][:40]!r} is not a time. Known are ISO 8601 (2026-05-01T14:00:00Z), seconds since 1970,"
        " elapsed seconds, and hh:mm:ss with a date column"
    )


def _form(cell: str, decimal: str) -> Callable[[_Source], Clock] | None:
    """What reads a column of cells like this one; None where it is no time."""
    if not math.isnan(numbers([cell], decimal)[0]):
        return _from_numbers
    if _TIME_OF_DAY.fullmatch(cell):
        return _from_times_of_day
    if not math.isnan(_iso_seconds(cell)[0]):
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
    for text, factor in told or _EPOCH_UNITS:
        if _EARLIEST_S <= middle * factor < _LATEST_S:
            return Clock(values * factor, f"{text} since 1970", "an epoch by its size")
    example = source.cells[source.first][:40]
    if middle * (told or _EPOCH_UNITS)[0][1] < _EARLIEST_S:
        raise source.wrong(
            f"{example} is elapsed time, not a date (epochs before 1990 are not taken)."
            " Give the instant of the first row: --start 2026-05-01T14:00:00Z"
        )
    raise source.wrong(f"{example} is no time since 1970 in s, ms, us or ns. Name another column: --column time=NAME")


def _from_iso(source: _Source) -> Clock:
    """ISO 8601, by one vectorised conversion where every cell is plain UTC or without zone, else cell by cell."""
    joined = "\n".join(source.cells) + "\n"
    if _PLAIN_ISO.fullmatch(joined):
        zoned = joined.count("Z")
        try:
            stamps = np.array(joined.replace("Z", "").split("\n")[:-1], dtype="datetime64[us]")
        except ValueError:
            pass
        else:
            seconds = stamps.astype(np.int64) / 1e6
            return Clock(seconds, "ISO 8601", notes=source.zone_notes(len(source.cells) - zoned))
    read, naive = zip(*map(_iso_seconds, source.cells), strict=True)
    return Clock(np.array(read), "ISO 8601", notes=source.zone_notes(sum(naive)))


def _iso_seconds(cell: str) -> tuple[float, bool]:
    """Seconds since 1970 in an ISO 8601 cell, NaN where it is none, and whether it lacked a zone."""
    text = cell.strip().upper()
    if _ZONE_WORD.search(cell):
        text = _ZONE_WORD.sub("Z", cell).upper()
    leap = 1.0 if text[17:19] == "60" else 0.0  # a leap second counts as the one after it, as epochs do
    if leap:
        text = f"{text[:17]}59{text[19:]}"
    if len(text) < 15:
        return math.nan, False
    try:
        instant = datetime.fromisoformat(text)
    except ValueError:
        return math.nan, False
    if instant.tzinfo is None:
        return instant.replace(tzinfo=UTC).timestamp() + leap, True
    return instant.timestamp() + leap, False


def _from_slash_dates(source: _Source) -> Clock:
    """Date and time of day in one cell, the date with slashes, dots or dashes, in the order that the dates tell."""
    parted = [_DAY_FIRST.fullmatch(cell) for cell in source.cells]
    dates = [parts[1] if parts else "" for parts in parted]
    seconds = _days_of(source, dates, source.name, "time") * _DAY_S
    seconds = seconds + np.array([_day_seconds(parts[2]) if parts else math.nan for parts in parted])
    return Clock(seconds, "date and time", notes=source.zone_notes(len(seconds)))


def _from_times_of_day(source: _Source) -> Clock:
    """Times of day with a date column, or from the date of the start given; elapsed hh:mm:ss if the column's name says so."""
    day_seconds = np.array([_day_seconds(cell) for cell in source.cells])
    match = source.matched.by_quantity.get("date")
    start_s = source.options.start_s
    cell = source.cells[source.first]
    if "elapsed" in source.name.casefold():
        if start_s is None:
            raise source.wrong(f"{cell} is elapsed time. Give the instant of the first row: --start 2026-05-01T14:00:00Z")
        return Clock(day_seconds, "elapsed hh:mm:ss", "start given by the user", elapsed=True, uses_start=True)
    if match is not None:
        days, basis = _days_of(source, source.table.column(match.name), match.name, "date"), f"date from {match.name!r}"
    elif start_s is not None:
        days, basis = np.full(len(day_seconds), np.floor(start_s / _DAY_S)), "date of the start given"
    else:
        raise source.wrong(
            f"{cell} is a time of day without a date. Name the date's column (--column date=NAME)"
            " or give the day (--start 2026-05-01T00:00:00Z)"
        )
    seconds, crossed = _over_midnight(days * _DAY_S + day_seconds)
    notes = source.zone_notes(len(seconds))
    if crossed:
        text = f"{counted(crossed, 'midnight')} crossed without a new date: a day added from there on"
        notes = (*notes, Note(text, crossed))
    return Clock(seconds, "time of day", basis, uses_start=match is None, notes=notes)


def _over_midnight(seconds: FloatArray) -> tuple[FloatArray, int]:
    """Add a day where the clock falls by 23 hours or more and the date does not follow, until it does."""
    known = np.flatnonzero(~np.isnan(seconds))
    steps = np.diff(seconds[known])
    added = np.zeros(len(known))
    crossed, pending = 0, 0
    for place in np.flatnonzero(np.abs(steps) >= _MIDNIGHT_S).tolist():
        if -_DAY_S <= steps[place] < 0.0:
            pending += 1
            crossed += 1
        elif pending and steps[place] > 0.0:
            pending -= 1
        added[place + 1 :] = pending * _DAY_S
    result = seconds.copy()
    result[known] += added
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


def _day_seconds(cell: str) -> float:
    """Seconds since midnight; NaN where the cell holds no time of day."""
    parts = _TIME_OF_DAY.fullmatch(cell.strip())
    if parts is None:
        return math.nan
    hour, minute, second = int(parts[1]), int(parts[2]), float((parts[3] or "0").replace(",", "."))
    if parts[4]:
        if not 1 <= hour <= 12:
            return math.nan
        hour = hour % 12 + (12 if parts[4] in "Pp" else 0)
    return hour * 3600.0 + minute * 60.0 + second if hour < 24 and minute < 60 and second < 61.0 else math.nan
