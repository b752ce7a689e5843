"""Calendar dates as logs write them to days since 1970-01-01, and which of two numbers is the day."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable
from datetime import date

__all__ = ["day_order", "read_date"]

_EPOCH_DAY = date(1970, 1, 1).toordinal()
_YEAR_FIRST = re.compile(r"(\d{4})([/.-]?)(\d{1,2})\2(\d{1,2})")
_YEAR_LAST = re.compile(r"(\d{1,2})([/.-])(\d{1,2})\2(\d{4}|\d{2})")


def day_order(cells: Iterable[str], told: str | None) -> str | None:
    """``d/m/y`` or ``m/d/y``, the order of dates such as 03/04/2026; None where it cannot be told, or the cells disagree.

    `told` is the user's word and wins. Dates with dots are day first, by custom; else a number above 12 tells.
    """
    if told is not None:
        return told
    orders = set()
    for cell in set(cells):
        parts = _YEAR_LAST.fullmatch(cell)
        if parts is None:
            continue
        if parts[2] == "." or int(parts[1]) > 12:
            orders.add("d/m/y")
        elif int(parts[3]) > 12:
            orders.add("m/d/y")
    return orders.pop() if len(orders) == 1 else None


def read_date(cell: str, order: str | None) -> float:
    """Days from 1970-01-01 to the date in `cell`; NaN where it holds none, or one whose `order` would have to be known.

    Known are the year first (``2026-05-01``, ``2026/05/01``, ``20260501``) and the year last in two or four digits.
    """
    parts = _YEAR_FIRST.fullmatch(cell)
    if parts is not None:
        return _days(int(parts[1]), int(parts[3]), int(parts[4]))
    parts = _YEAR_LAST.fullmatch(cell)
    if parts is None or order is None:
        return math.nan
    year = int(parts[4]) + (2000 if len(parts[4]) == 2 else 0)
    first, second = int(parts[1]), int(parts[3])
    return _days(year, second, first) if order == "d/m/y" else _days(year, first, second)


def _days(year: int, month: int, day: int) -> float:
    try:
        return float(date(year, month, day).toordinal() - _EPOCH_DAY)
    except ValueError:
        return math.nan
