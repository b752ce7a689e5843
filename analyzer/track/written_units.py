"""Cells with their unit behind the number, like ``3,083 ft``, and flight levels, like ``FL035``: number and unit apart."""

from __future__ import annotations

import re
from dataclasses import replace

from analyzer.track.column_names import read_name
from analyzer.track.quantities import Unit, parse_unit
from analyzer.track.raw_table import BLANK, RawTable, first_filled
from analyzer.track.track import Note

__all__ = ["with_units_apart"]

_NUMBER_AND_UNIT = re.compile(r"([+-]?\d(?:[\d.,'\u2019\u00a0\u2009\u202f ]*\d)?)\s*([^\W\d_](?:[^\d\s]*[^\W\d_])?)\.?")
_LEVEL = re.compile(r"(fl)\s?(\d{1,3})", re.ASCII | re.IGNORECASE)
_KINDS = ("length", "speed")  # angles and times are written in more ways, which have readers of their own
_NEARLY_ALL = 0.9


def with_units_apart(table: RawTable) -> RawTable:
    """The table with the units of such columns where a row of units would have them. One that the name has must be the same."""
    units, cells, notes = list(table.units or [""] * len(table.names)), list(table.cells), []
    for place, (name, column) in enumerate(zip(table.names, table.cells, strict=True)):
        first = first_filled(column)
        # most columns are numbers alone
        unit = _parted(first)[1] if any(map(str.isalpha, first)) else None
        if unit is None or name in table.defined or not _agree(unit, read_name(name).unit, parse_unit(units[place])):
            continue
        parted = [_parted(cell) for cell in column]
        filled = sum(cell.casefold() not in BLANK for cell in column)
        if sum(found == unit for _, found in parted) < _NEARLY_ALL * filled:
            continue
        # what has another unit, or none, is no number of this one
        cells[place] = [number if found == unit else "" for number, found in parted]
        units[place] = unit.text
        notes.append(Note(f"{name!r} has its unit in every cell: read in {unit.text}"))
    return replace(table, cells=tuple(cells), units=tuple(units), notes=(*table.notes, *notes)) if notes else table


def _parted(cell: str) -> tuple[str, Unit | None]:
    """The number of a cell and its unit; the cell and None where it is not a number with a known one."""
    level = _LEVEL.fullmatch(cell)
    if level is not None:
        return level[2], parse_unit(level[1])
    found = _NUMBER_AND_UNIT.fullmatch(cell)
    unit = parse_unit(found[2]) if found is not None else None
    return (found[1], unit) if found is not None and unit is not None and unit.kind in _KINDS else (cell, None)


def _agree(unit: Unit, *others: Unit | None) -> bool:
    return all(other is None or (other.kind, other.factor) == (unit.kind, unit.factor) for other in others)
