"""A column that has latitude and longitude in one cell, like ``48.3457, -24.8246``: two columns."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace

from analyzer.track.column_names import read_name
from analyzer.track.raw_table import BLANK, RawTable, first_filled, unique
from analyzer.track.track import Note

__all__ = ["with_positions_apart"]

_DEGREES = r"[+-]?\d{1,3}\.\d{2,}"
_JOINED = re.compile(rf"[(\[]?\s*({_DEGREES})°?(?:\s*[,;/|]\s*|\s+)({_DEGREES})°?\s*[)\]]?", re.ASCII)
_NEARLY_ALL = 0.9
_MOST_LATITUDE = 90.0


def with_positions_apart(table: RawTable) -> RawTable:
    """The table with such a column taken apart, where there is one alone, and no column of latitude or longitude.

    Latitude comes first, unless the name says otherwise or the numbers cannot be latitudes.
    """
    known = {read_name(name).quantity for name in table.names} | {meaning.quantity for meaning in table.defined.values()}
    if known & {"latitude", "longitude"}:
        return table
    joined = [place for place, column in enumerate(table.cells) if _is_joined(column)]
    if len(joined) != 1:
        return table
    (place,) = joined
    name = table.names[place]
    found = [_JOINED.fullmatch(cell) for cell in table.cells[place]]
    first, second = ([match[side] if match is not None else "" for match in found] for side in (1, 2))
    exchanged = _longitude_first(name) or any(abs(float(cell)) > _MOST_LATITUDE for cell in first if cell)
    order = ("longitude", "latitude") if exchanged else ("latitude", "longitude")
    names = unique([*table.names[:place], *order, *table.names[place + 1 :]])
    units = (*table.units[:place], "", "", *table.units[place + 1 :]) if table.units else ()
    cells = (*table.cells[:place], first, second, *table.cells[place + 1 :])
    note = Note(f"{name!r} has {order[0]} and {order[1]} in one cell: taken apart")
    return replace(table, names=names, units=units, cells=cells, notes=(*table.notes, note))


def _is_joined(column: Sequence[str]) -> bool:
    """Whether nearly all cells of a column that are filled have two numbers such as degrees are written."""
    if _JOINED.fullmatch(first_filled(column)) is None:
        return False
    filled = [cell for cell in column if cell.casefold() not in BLANK]
    return sum(_JOINED.fullmatch(cell) is not None for cell in filled) >= _NEARLY_ALL * len(filled)


def _longitude_first(name: str) -> bool:
    small = name.casefold()
    longitude, latitude = (
        min((small.find(word) for word in words if word in small), default=-1) for words in (("lon", "lng"), ("lat",))
    )
    return 0 <= longitude < latitude
