"""Times that are plain numbers: epochs, GPS time, seconds of the day, clock times without colons, and elapsed time."""

from __future__ import annotations

import re
from dataclasses import replace

import numpy as np

from analyzer.physics.units import FloatArray
from analyzer.track.clock import START_OPTION, Clock, TimeColumn
from analyzer.track.dated import dated
from analyzer.track.gps_time import GPS_EPOCH_S, ROLLOVER_WEEKS, WEEK_S, gps_to_utc, utc_behind_s
from analyzer.track.instants import EARLIEST_S, EPOCH_UNITS, may_be_epoch
from analyzer.track.midnights import DAY_S, follow_midnights
from analyzer.track.quantities import GPS_UNIT
from analyzer.track.raw_table import numbers
from analyzer.track.spreadsheet_time import are_days, day_serial_seconds
from analyzer.track.track import Note

__all__ = ["read_numbers"]

_BEGIN_S = 60.0  # elapsed time begins within so much of zero, in a log whose seconds of the day do not
_CLOCK_DIGITS = re.compile(r"\d{5,6}(?:\.\d*)?", re.ASCII)
_FEW_DIGITS = re.compile(r"\d{1,4}(?:\.\d*)?", re.ASCII)  # the same between midnight and one o'clock, without leading zeros
_RUNS_ON = 1.5  # times the usual step: a clock's into the next minute
_ENOUGH_ROWS, _ENOUGH_SECONDS = 20, 3  # rows, and different seconds among them, that show numbers to be hhmmss
_GPS_UNTIL_S = 2_051_222_400.0  # 2035-01-01: what would be later as GPS time is taken as seconds since 1970


def read_numbers(column: TimeColumn) -> Clock:
    """The times of a column of numbers, with notes on what was inferred beyond their magnitude.

    With a start given, numbers are elapsed time; but where the start is a day's beginning, or there is a date column,
    numbers that do not begin at zero and stay below 86,400 s are seconds of the day.
    """
    values = numbers(column.cells, column.table.decimal)
    unit = column.matched.by_quantity["time"].unit
    stated = (unit.text, unit.factor) if unit and unit.kind == "time" else None
    if "gps_week" in column.matched.by_quantity:
        return _of_weeks(column, values * (stated or EPOCH_UNITS[0])[1])
    if are_days(values):
        note = Note(f"the numbers in {column.name!r} are days since 1899-12-30, as spreadsheets count them")
        seconds = day_serial_seconds(column.cells, values, column.table.decimal)
        known = np.isfinite(seconds)
        return Clock(seconds, "days", "a date by its size", notes=(note,), without_zone=known)
    if stated is None and "date" in column.matched.by_quantity and are_days(values, 0.0, 1.0):
        note = Note(f"the numbers in {column.name!r} are fractions of the day, as spreadsheets count them")
        return _of_day(column, day_serial_seconds(column.cells, values, column.table.decimal), "parts of a day", note)
    if stated is None and _are_clock_digits(column, values):
        hours, minutes = np.floor(values / 10_000.0), np.floor(values / 100.0) % 100.0
        note = Note(f"the numbers in {column.name!r} are clock times, hhmmss: no second or minute is above 59")
        return _of_day(column, hours * 3600.0 + minutes * 60.0 + values % 100.0, "hhmmss", note)
    text, factor = stated or EPOCH_UNITS[0]
    if _are_of_the_day(column, values * factor):
        note = Note(f"{column.name!r} counts {text} from midnight, as it does not begin at 0 and a day goes with it")
        return _of_day(column, values * factor, f"{text} of the day", note)
    if column.options.start_s is not None:
        return _elapsed(column, values, text, factor)
    return _epoch(column, values, stated)


def _are_clock_digits(column: TimeColumn, values: FloatArray) -> bool:
    """Whether five or six digits run as a clock does: to 59 and on with the next minute, over enough rows to show it.

    Fewer digits, from which leading zeros were lost, must run on evenly into every next minute, too.
    """
    known = values[np.isfinite(values)]
    cell = column.cells[column.first]
    few = _FEW_DIGITS.fullmatch(cell) is not None
    if len(known) < _ENOUGH_ROWS or not (few or _CLOCK_DIGITS.fullmatch(cell)):
        return False
    seconds, minutes = known % 100.0, np.floor(known / 100.0)
    fits = (seconds < 60.0) & (minutes % 100.0 < 60.0) & (known < 240_000.0) & (known >= 0.0)
    several = len(np.unique(np.floor(seconds))) >= _ENOUGH_SECONDS
    next_minute = np.diff(minutes) != 0.0
    if not (fits.all() and several and next_minute.any()):
        return False
    steps = np.diff(np.floor(minutes / 100.0) * 3600.0 + minutes % 100.0 * 60.0 + seconds)
    return not few or bool((np.abs(steps[next_minute]) <= _RUNS_ON * np.median(np.abs(steps))).all())


def _are_of_the_day(column: TimeColumn, seconds: FloatArray) -> bool:
    """Whether numbers are seconds of the day: a day is given, they stay below 86,400, and do not begin at zero."""
    known = seconds[np.isfinite(seconds)]
    start_s = column.options.start_s
    if not len(known) or not (known.min() >= 0.0 and known.max() < DAY_S + 1.0) or known[0] <= _BEGIN_S:
        return False
    return start_s % DAY_S == 0.0 if start_s is not None else "date" in column.matched.by_quantity


def _of_day(column: TimeColumn, seconds: FloatArray, unit: str, note: Note) -> Clock:
    clock = dated(column, seconds, unit)
    return replace(clock, notes=(note, *clock.notes), without_zone=np.isfinite(clock.seconds))


def _elapsed(column: TimeColumn, values: FloatArray, text: str, factor: float) -> Clock:
    seconds = values * factor
    notes: tuple[Note, ...] = ()
    if not len(seconds) or np.nanmax(seconds) < DAY_S:
        seconds, notes = follow_midnights(seconds)
    if may_be_epoch(float(np.nanmedian(values))):
        notes = (*notes, Note(f"{column.example} would be a date by its size: read as elapsed {text}, as a start is given"))
    return Clock(seconds, f"elapsed {text}", "start given by the user", elapsed=True, uses_start=True, notes=notes)


def _epoch(column: TimeColumn, values: FloatArray, stated: tuple[str, float] | None) -> Clock:
    """Epochs, distinguished from elapsed time by their magnitude; GPS time where the user or the column's name says so."""
    middle = float(np.nanmedian(values))
    by_user = "time" in {**column.options.open_units, **column.options.units}
    units = (stated, *EPOCH_UNITS) if stated else EPOCH_UNITS
    if stated is not None and stated[0] == GPS_UNIT:
        return _of_gps(column, values, ", as the unit says")
    if "gps" in column.name.casefold() and not by_user:
        for _, factor in units:
            if may_be_epoch(middle * factor) and middle * factor + GPS_EPOCH_S < _GPS_UNTIL_S:
                return _of_gps(column, values * factor, ", by its name; if it counts from 1970: --unit time=s (or ms)")
    for text, factor in units:  # epochs in different units are never of one size
        if may_be_epoch(middle * factor):
            otherwise = f", not in {stated[0]} as it says" if stated and factor != stated[1] else ""
            return Clock(values * factor, f"{text} since 1970", f"an epoch by its size{otherwise}")
    if middle * units[0][1] < EARLIEST_S:
        of_day = " or, if it counts from midnight, the day: --start 2026-05-01" if 0.0 <= middle * units[0][1] < DAY_S else ""
        raise column.open(
            f"{column.example} is elapsed time, not a date (epochs before 1990 are not taken)."
            f" Give the instant of the first row: {START_OPTION}{of_day}",
            START_OPTION,
        )
    raise column.wrong(f"{column.example} is no time since 1970 in s, ms, us or ns. Name another column: --column time=NAME")


def _of_gps(column: TimeColumn, gps_s: FloatArray, why: str) -> Clock:
    seconds = gps_to_utc(gps_s)
    behind = float(utc_behind_s(np.array([np.nanmedian(gps_s) + GPS_EPOCH_S]))[0])
    note = Note(
        f"{column.name!r} is brought to UTC from GPS time, which is {behind:.0f} s ahead and counts from 1980-01-06{why}"
    )
    return Clock(seconds, GPS_UNIT, "GPS time", notes=(note,))


def _of_weeks(column: TimeColumn, of_week_s: FloatArray) -> Clock:
    """Weeks of GPS time and seconds of the week."""
    name = column.matched.by_quantity["gps_week"].name
    weeks = numbers(column.table.column(name), column.table.decimal)
    known = weeks[np.isfinite(weeks)]
    whole = bool(len(known)) and bool(((known % 1.0 == 0.0) & (known >= 0.0)).all())
    if not whole or np.nanmax(of_week_s, initial=0.0) > WEEK_S:
        raise column.wrong(f"with the weeks in {name!r} it gives no GPS time: seconds of the week are below {WEEK_S:,.0f}")
    if known.max() < ROLLOVER_WEEKS:
        if column.options.start_s is not None:
            return _elapsed(column, of_week_s, "s", 1.0)
        raise column.open(
            f"the weeks in {name!r} begin again after each 1,024, so {known.max():.0f} is of no known year."
            f" Give the instant of the first row instead: {START_OPTION}, with --column time={column.name!r}",
            START_OPTION,
        )
    clock = _of_gps(column, weeks * WEEK_S + of_week_s, f", with the weeks in {name!r}")
    return replace(clock, unit="s of the GPS week")
