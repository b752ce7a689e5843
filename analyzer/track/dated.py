"""Seconds of the day with the day that goes with them: from a date column, or from the start that the user gives."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from datetime import UTC, datetime

import numpy as np

from analyzer.physics.units import FloatArray
from analyzer.track.clock import START_OPTION, Clock, TimeColumn
from analyzer.track.dates import day_order, possible_orders, read_date
from analyzer.track.midnights import DAY_S, follow_midnights
from analyzer.track.track import Note

__all__ = ["dated", "days_of"]

_ORDER_WORDS = {"d/m/y": "day first", "m/d/y": "month first", "y/m/d": "year first"}
_SHORT_ENOUGH_S = 120.0  # a start is as good as this where it is the first row's


def dated(column: TimeColumn, of_day_s: FloatArray, unit: str) -> Clock:
    """The clock of rows whose seconds since midnight are these. Raises `OpenError` where the day is not known."""
    match = column.matched.by_quantity.get("date")
    start_s = column.options.start_s
    notes: tuple[Note, ...] = ()
    if match is not None:
        days, notes = days_of(column, column.table.column(match.name), match.name, "date")
        basis = f"date from {match.name!r}"
    elif start_s is not None:
        days, basis = np.full(len(of_day_s), np.floor(start_s / DAY_S)), "date of the start given"
        notes = _other_start(column, of_day_s, start_s)
    else:
        raise column.open(
            f"{column.example} is a time of day without a date. Name the date's column (--column date=NAME)"
            " or give the day (--start 2026-05-01T00:00:00Z)",
            START_OPTION,
        )
    seconds, crossed = follow_midnights(days * DAY_S + of_day_s)
    return Clock(seconds, unit, basis, uses_start=match is None, notes=(*notes, *crossed))


def _other_start(column: TimeColumn, of_day_s: FloatArray, start_s: float) -> tuple[Note, ...]:
    """A note where the start given has a time of day, and it is not that of the first row."""
    first, start_time_s = float(of_day_s[column.first]), start_s % DAY_S
    apart = abs((first - start_time_s + DAY_S / 2.0) % DAY_S - DAY_S / 2.0)
    if start_time_s == 0.0 or math.isnan(apart) or apart <= _SHORT_ENOUGH_S:
        return ()
    at = datetime.fromtimestamp(start_s, UTC)
    return (Note(f"of the start given only the day is used: the first row says {column.example}, not {at:%H:%M:%S} UTC"),)


def days_of(column: TimeColumn, cells: Sequence[str], name: str, quantity: str) -> tuple[FloatArray, tuple[Note, ...]]:
    """Days since 1970 of the date cells, and notes on what was assumed by custom. Each different text is read once."""
    match = column.matched.by_quantity.get(quantity)
    unit = match.unit if match else None
    stated = unit.text if unit and unit.kind == "date" else None
    order = day_order(cells, stated)
    read: dict[str, float] = {cell: read_date(cell, order) for cell in set(cells)}
    first = next((cell for cell in cells if cell), "")
    possible = possible_orders([cell for cell in cells if cell])
    if math.isnan(read.get(first, math.nan)):
        here = replace(column, name=name)
        if order is None and len(possible) > 1 and not math.isnan(read_date(first, possible[0])):
            parts = "day, month and year" if "y/m/d" in possible else "day and month"
            choices = " or ".join(f"--unit {quantity}={one}" for one in possible)
            raise here.open(
                f"{parts} of {first!r} cannot be told apart. Say which: {choices}", f"--unit {quantity}={possible[0]}"
            )
        raise here.wrong(f"{first[:40]!r} is not a date. Known are 2026-05-01, 20260501, 1.5.2026 and 1/5/2026")
    notes: tuple[Note, ...] = ()
    if stated is None and order is not None and "y/m/d" in possible and len(possible) > 1 and "/" in first:
        other = f"if the year is first: --unit {quantity}=y/m/d"
        notes = (Note(f"the date {first!r} is read with the {_ORDER_WORDS[order]}; {other}"),)
    return np.array([read[cell] for cell in cells]), notes
