"""Times of day as hh:mm:ss, and what is written like them: hours that count on beyond 24, and minutes and seconds."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

import numpy as np

from analyzer.physics.units import FloatArray
from analyzer.track.clock import START_OPTION, Clock, TimeColumn
from analyzer.track.dated import dated
from analyzer.track.instants import day_seconds, hours_seconds
from analyzer.track.midnights import DAY_S
from analyzer.track.quantities import HOURS_UNIT, MINUTES_UNIT
from analyzer.track.raw_table import BLANK
from analyzer.track.track import Note

__all__ = ["read_times_of_day"]

_TWO_PARTS = re.compile(r"(\d{1,4}):(\d\d)([.,]\d*)?", re.ASCII)
_HOUR_S = 3600.0
_BEGIN_S = 60.0  # elapsed time begins within so much of zero
_SAME_S = 120.0  # a start that is so near to the first row's time of day is that


def read_times_of_day(column: TimeColumn) -> Clock:
    """Times of day with a date column or the day of the start given; elapsed time where name, numbers or start say so."""
    pairs = [_TWO_PARTS.fullmatch(cell) for cell in column.cells if cell.casefold() not in BLANK]
    if all(pairs) and _are_minutes(column, [pair for pair in pairs if pair is not None]):
        return _minutes(column)
    counting_on = np.array([hours_seconds(cell) for cell in column.cells])
    if "elapsed" in column.name.casefold():
        return _elapsed(column, counting_on, ())
    beyond = bool((counting_on >= DAY_S).any())
    if beyond and not _begins_with_the_start(column, counting_on):
        return _elapsed(column, counting_on, (Note("hours go beyond 24, as no clock's do: read as elapsed time"),))
    if not beyond and _is_at_zero_for_the_start(column, counting_on):
        note = Note(f"the first row is at {column.example}, and the start given is not: read as elapsed time")
        return _elapsed(column, counting_on, (note,))
    read = np.array([day_seconds(cell) for cell in column.cells])
    clock = dated(column, counting_on if beyond else read[:, 0], "time of day")
    return replace(clock, without_zone=np.isfinite(counting_on) if beyond else read[:, 1] != 0.0)


def _are_minutes(column: TimeColumn, pairs: Sequence[re.Match[str]]) -> bool:
    """Whether times in two parts are minutes and seconds: by the user's or the name's unit, or as no hours are like that."""
    unit = column.matched.by_quantity["time"].unit
    if unit is not None and unit.kind == "clock":
        return unit.text == MINUTES_UNIT
    if any(pair[3] or int(pair[1]) >= 24 for pair in pairs):
        return True
    texts = [pair[0] for pair in pairs]
    if len(texts) < 3 or any(one == other for one, other in pairwise(texts)):
        return False
    undated = column.options.start_s is None
    raise column.open(
        f"{column.example} and those below may be hours and minutes, or minutes and seconds. Say which:"
        f" --unit time={HOURS_UNIT}, or --unit time={MINUTES_UNIT}{f' and the first row: {START_OPTION}' if undated else ''}",
        f"--unit time={MINUTES_UNIT}",
        *((START_OPTION,) if undated else ()),
    )


def _minutes(column: TimeColumn) -> Clock:
    """Minutes and seconds from the first row on. The minutes may begin again after 59."""
    parts = [_TWO_PARTS.fullmatch(cell) for cell in column.cells]
    seconds = np.array(
        [int(part[1]) * 60.0 + float(part[2] + (part[3] or "").replace(",", ".")) if part else math.nan for part in parts]
    )
    known = np.flatnonzero(np.isfinite(seconds))
    again = np.diff(seconds[known]) < -_HOUR_S * 0.9
    seconds[known] += _HOUR_S * np.concatenate(([0.0], np.cumsum(again)))
    return _elapsed(column, seconds, (Note(f"{column.name!r} is read as minutes and seconds ({MINUTES_UNIT})"),))


def _elapsed(column: TimeColumn, seconds: FloatArray, notes: tuple[Note, ...]) -> Clock:
    if column.options.start_s is None:
        raise column.open(f"{column.example} is elapsed time. Give the instant of the first row: {START_OPTION}", START_OPTION)
    basis = "start given by the user"
    return Clock(seconds, "elapsed hh:mm:ss", basis, elapsed=True, uses_start=True, notes=notes)


def _begins_with_the_start(column: TimeColumn, seconds: FloatArray) -> bool:
    """Whether hours beyond 24 are those of a clock that counts on: there is a date, or a start at the first row's time."""
    start_s = column.options.start_s
    if start_s is None or "date" in column.matched.by_quantity:
        return "date" in column.matched.by_quantity
    return start_s % DAY_S == 0.0 or abs(start_s % DAY_S - float(seconds[column.first])) <= _SAME_S


def _is_at_zero_for_the_start(column: TimeColumn, seconds: FloatArray) -> bool:
    """Whether the first row is at zero though the start given, the instant of that row, is not at midnight."""
    start_s, first = column.options.start_s, float(seconds[column.first])
    if start_s is None or "date" in column.matched.by_quantity or not 0.0 <= first < _BEGIN_S:
        return False
    return _SAME_S < start_s % DAY_S < DAY_S - _SAME_S
