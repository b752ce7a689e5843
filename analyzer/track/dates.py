"""Calendar dates as logs write them to days since 1970-01-01, and in which order day, month and year stand."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Sequence
from datetime import date

__all__ = ["DAY_ORDERS", "day_order", "possible_orders", "read_date"]

_EPOCH_DAY = date(1970, 1, 1).toordinal()
_YEAR_FIRST = re.compile(r"(\d{4})(?:([/.-])(\d{1,2})\2(\d{1,2})|(\d\d)(\d\d))", re.ASCII)
_YEAR_LAST = re.compile(r"(\d{1,2})([/.-])(\d{1,2})\2(\d{4}|\d{2})|(\d\d)(\d\d)(\d\d)", re.ASCII)
_NAMED = re.compile(r"(\d{1,2})[ ./-]{0,2}([A-Za-z]{3,9})[ .,/-]{0,2}(\d{4}|\d{2})", re.ASCII)
_MONTH_FIRST = re.compile(r"([A-Za-z]{3,9})[ .-]{1,2}(\d{1,2})[ ,-]{1,2}(\d{4})", re.ASCII)
_MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")
DAY_ORDERS = ("d/m/y", "m/d/y", "y/m/d")
_ONE_FLIGHT = 3.0  # days that the dates of one log may span


def day_order(cells: Iterable[str], stated: str | None) -> str | None:
    """``d/m/y``, ``m/d/y`` or ``y/m/d``, the order of dates such as 03/04/2026 or 26-05-01; None where it is ambiguous.

    `stated`, the order that the user gave, takes precedence. Otherwise the order must be the only one in which the cells are
    dates, or in which they are those of one flight. Dates with dots are day first, by custom; so are those with
    slashes where the year might be first.

    >>> day_order(["28/06/2026"], None)
    'd/m/y'
    >>> day_order(["03/04/2026"], None) is None
    True
    """
    if stated is not None:
        return stated
    cells = set(cells)
    possible = possible_orders(cells)
    if len(possible) > 1 and possible[0] == "d/m/y":
        signs = {parts[2] for cell in cells if (parts := _YEAR_LAST.fullmatch(cell)) is not None}
        if signs == {"."} or (signs == {"/"} and "m/d/y" not in possible):
            return "d/m/y"
    return possible[0] if len(possible) == 1 else None


def possible_orders(cells: Iterable[str]) -> tuple[str, ...]:
    """The orders in which all of these dates with two-digit parts, or the year last, can be read. Other cells do not count."""
    dates = [cell for cell in cells if _YEAR_LAST.fullmatch(cell)]
    read = {order: [read_date(cell, order) for cell in dates] for order in DAY_ORDERS}
    dates = [cell for place, cell in enumerate(dates) if not all(math.isnan(read[order][place]) for order in DAY_ORDERS)]
    fitting = {order: [read_date(cell, order) for cell in dates] for order in DAY_ORDERS}
    fitting = {order: days for order, days in fitting.items() if days and not any(map(math.isnan, days))}
    of_one_flight = [order for order, days in fitting.items() if _span(days) <= _ONE_FLIGHT]
    return tuple(of_one_flight or fitting)


def _span(days: Sequence[float]) -> float:
    return max(days) - min(days)


def read_date(cell: str, order: str | None) -> float:
    """Days from 1970-01-01 to the date in `cell`; NaN where it holds none, or one whose `order` would have to be known.

    Known are the year first (``2026-05-01``, ``2026/05/01``, ``20260501``), the month's English name (``1-May-2026``,
    ``May 1, 2026``), the year last in two or four digits, and the year first in two (``26-05-01``), which are of this century.
    """
    parts = _YEAR_FIRST.fullmatch(cell)
    if parts is not None:
        return _days(int(parts[1]), int(parts[3] or parts[5]), int(parts[4] or parts[6]))
    named = _NAMED.fullmatch(cell)
    if named is not None:
        return _days(_whole(named[3]), _month(named[2]), int(named[1]))
    month_first = _MONTH_FIRST.fullmatch(cell)
    if month_first is not None:
        return _days(int(month_first[3]), _month(month_first[1]), int(month_first[2]))
    parts = _YEAR_LAST.fullmatch(cell)
    if parts is None or order is None:
        return math.nan
    first, second, third = (parts[1], parts[3], parts[4]) if parts[1] else (parts[5], parts[6], parts[7])
    if order == "y/m/d":
        return _days(_whole(first), int(second), int(third)) if len(first) == 2 and len(third) == 2 else math.nan
    day, month_text = (first, second) if order == "d/m/y" else (second, first)
    return _days(_whole(third), int(month_text), int(day))


def _month(name: str) -> int:
    """The number of a month by the beginning of its English name; 0 of other words, which no date has."""
    return next((number for number, month in enumerate(_MONTHS, 1) if name.lower().startswith(month)), 0)


def _whole(year: str) -> int:
    return int(year) + (2000 if len(year) == 2 else 0)


def _days(year: int, month: int, day: int) -> float:
    try:
        return float(date(year, month, day).toordinal() - _EPOCH_DAY)
    except ValueError:
        return math.nan
