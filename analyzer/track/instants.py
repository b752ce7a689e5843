"""Single cells that hold a time: ISO 8601, times of day, offsets from UTC, and the numbers that are epochs."""

from __future__ import annotations

import math
import re
from datetime import UTC, datetime

from analyzer.errors import LogError
from analyzer.track.raw_table import numbers

__all__ = [
    "EARLIEST_S",
    "EPOCH_UNITS",
    "day_seconds",
    "hours_seconds",
    "is_date_and_time",
    "is_time_of_day",
    "iso_seconds",
    "may_be_epoch",
    "offset_seconds",
    "offset_text",
    "stated_offset",
]

EPOCH_UNITS = (("s", 1.0), ("ms", 1e-3), ("us", 1e-6), ("ns", 1e-9))
EARLIEST_S = datetime(1990, 1, 1, tzinfo=UTC).timestamp()  # a number that gives an earlier date is no epoch but elapsed time
_LATEST_S = datetime(2100, 1, 1, tzinfo=UTC).timestamp()
_LONGEST = 64  # letters; a longer cell holds no time, and is not searched for one

_TIME_OF_DAY = re.compile(
    r"(\d{1,2}):(\d\d|\d(?=:))(?::(\d{1,2}(?:[.,]\d*)?))? {0,3}"
    r"(?:([AaPp])\.?[Mm]\.?)? {0,3}(?:(Z|z|UTC|GMT)|([+-]\d\d:?(?:\d\d)?))?",
    re.ASCII,
)
_HOURS = re.compile(r"(\d{1,4}):(\d\d|\d(?=:))(?::(\d{1,2}(?:[.,]\d*)?))?", re.ASCII)
_MINUTES = re.compile(r"\d{1,4}:\d\d[.,]\d*", re.ASCII)
_UNPADDED = re.compile(r"(\d{4})-(\d{1,2})-(\d{1,2})([ T])(\d{1,2}):(\d{1,2}):(\d{1,2})(?!\d)", re.ASCII)
_OFFSET = re.compile(r"(?:UTC|GMT)? ?([+-]?)(\d{1,2})(?::?(\d\d))?", re.ASCII)
_ZONE_WORD = re.compile(r" ?(?:UTC|GMT|z)$")
_APART = re.compile(r" +(?=[+-]\d\d:?(?:\d\d)?$)", re.ASCII)  # blanks before an offset


def may_be_epoch(seconds: float) -> bool:
    """Whether so many seconds since 1970 are of a time in which logs are recorded."""
    return EARLIEST_S <= seconds < _LATEST_S


def is_date_and_time(cell: str) -> bool:
    """Whether a cell gives an instant by itself: ISO 8601 with a time of day, or a number that is an epoch by its size."""
    value = float(numbers([cell])[0])
    if math.isnan(value):
        return not math.isnan(iso_seconds(cell)[0])
    return any(may_be_epoch(value * factor) for _, factor in EPOCH_UNITS)


def is_time_of_day(cell: str) -> bool:
    """Whether a cell holds a time of day in one of the usual forms: 14:00, 14:00:00.5, 14:0:5, 2:00:00 PM, 14:00:00+02:00.

    Counts in the same form are accepted too: 126:14:00 of hours, 14:00.5 of minutes.
    """
    return len(cell) <= _LONGEST and any(form.fullmatch(cell) for form in (_TIME_OF_DAY, _HOURS, _MINUTES))


def iso_seconds(cell: str) -> tuple[float, bool]:
    """Seconds since 1970 in an ISO 8601 cell, NaN where it is none, and whether it lacked a zone.

    Leading zeros may be missing, as scripts leave them out that join numbers.

    >>> iso_seconds("2026-06-28T15:40:00Z")
    (1782661200.0, False)
    """
    if len(cell) > _LONGEST:
        return math.nan, False
    cell = _UNPADDED.sub(_padded, cell.strip(), count=1)
    if len(cell) < 15:
        return math.nan, False
    text = cell.upper()
    if _ZONE_WORD.search(cell):
        text = _ZONE_WORD.sub("Z", cell).upper()
    text = _APART.sub("", text)
    leap = 1.0 if text[17:19] == "60" else 0.0  # a leap second counts as the one after it, as epochs do
    if leap:
        text = f"{text[:17]}59{text[19:]}"
    try:
        instant = datetime.fromisoformat(text)
        naive = instant.tzinfo is None
        return (instant.replace(tzinfo=UTC) if naive else instant).timestamp() + leap, naive
    except (ValueError, OverflowError):
        return math.nan, False


def _padded(parts: re.Match[str]) -> str:
    """A date and a time of day with their leading zeros."""
    year, month, day, between, hour, minute, second = parts.groups()
    return f"{year}-{month:0>2}-{day:0>2}{between}{hour:0>2}:{minute:0>2}:{second:0>2}"


def day_seconds(cell: str) -> tuple[float, bool]:
    """Seconds since midnight UTC, NaN where the cell holds no time of day, and whether it lacked a zone.

    >>> day_seconds("3:40:00 PM"), day_seconds("15:40:00+02:00")
    ((56400.0, True), (49200.0, False))
    """
    parts = _TIME_OF_DAY.fullmatch(cell.strip()) if len(cell) <= _LONGEST else None
    if parts is None:
        return math.nan, False
    hour, minute, second = int(parts[1]), int(parts[2]), float((parts[3] or "0").replace(",", "."))
    if parts[4]:
        if not 1 <= hour <= 12:
            return math.nan, False
        hour = hour % 12 + (12 if parts[4] in "Pp" else 0)
    if hour >= 24 or minute >= 60 or second >= 61.0:
        return math.nan, False
    seconds = hour * 3600.0 + minute * 60.0 + second
    return (seconds - offset_seconds(parts[6]), False) if parts[6] else (seconds, parts[5] is None)


def hours_seconds(cell: str) -> float:
    """Seconds of hours, minutes and seconds, however many hours, or since midnight of a time of day; NaN of other cells."""
    parts = _HOURS.fullmatch(cell.strip()) if len(cell) <= _LONGEST else None
    if parts is None:
        return day_seconds(cell)[0]
    minute, second = int(parts[2]), float((parts[3] or "0").replace(",", "."))
    return int(parts[1]) * 3600.0 + minute * 60.0 + second if minute < 60 and second < 61.0 else math.nan


def offset_seconds(cell: str) -> float:
    """How far local time is ahead of UTC, of ``+02:00``, ``-0330``, ``UTC+2`` or ``2``. [s] NaN where the cell is none."""
    parts = _OFFSET.fullmatch(cell.strip()) if len(cell) <= _LONGEST else None
    if parts is None:
        return math.nan
    hours, minutes = int(parts[2]), int(parts[3] or 0)
    if hours > 14 or minutes > 59:  # the easternmost zone is 14 hours ahead
        return math.nan
    return (-1.0 if parts[1] == "-" else 1.0) * (hours * 3600.0 + minutes * 60.0)


def stated_offset(text: str) -> float:
    """How far local time is ahead of UTC, as a user says it: as in a cell, or ``UTC``, ``Z``. [s] Raises `LogError`.

    >>> stated_offset("+02:00"), stated_offset("UTC-3:30"), stated_offset("UTC")
    (7200.0, -12600.0, 0.0)
    """
    seconds = 0.0 if text.strip().upper() in ("UTC", "GMT", "Z") else offset_seconds(text)
    if math.isnan(seconds):
        raise LogError(f"--utc-offset {text}: no offset from UTC; give how far the clock is ahead, like +02:00, or UTC")
    return seconds


def offset_text(seconds: float) -> str:
    """An offset from UTC as in ISO 8601: ``+02:00``."""
    minutes = round(abs(seconds) / 60.0)
    return f"{'-' if seconds < 0.0 else '+'}{minutes // 60:02}:{minutes % 60:02}"
