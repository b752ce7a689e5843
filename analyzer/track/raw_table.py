"""The raw table: what every format's reader returns, cells as texts, before anything is known of their meaning."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping, Sequence
from dataclasses import field, replace

import numpy as np

from analyzer.errors import printable
from analyzer.frozen import dataclass
from analyzer.physics.units import FloatArray
from analyzer.track.plain_cells import PlainCells
from analyzer.track.track import Note
from analyzer.vocabulary import AltitudeReference

__all__ = ["BLANK", "TRACK_NUMBER", "Meaning", "RawTable", "first_filled", "fit_to_print", "numbers", "unique"]

# what stands in a cell that holds nothing, in small letters
BLANK = frozenset(("", "-", "--", "nan", "null", "none", "n/a", "na"))

TRACK_NUMBER = "track number"  # the column in which a reader of a file with several tracks counts them

_NAMES_SHOWN = 12
_LOOKED_AT = 200  # cells, at most, before the first that is filled
_APART = " \u00a0\u2009\u202f'\u2019"  # blanks, thin ones too, and apostrophes between groups of three digits
_THOUSANDS = {
    ".": re.compile(rf"[+-]?\d{{1,3}}(?:([,{_APART}])\d{{3}})(?:\1\d{{3}})*(?:\.\d*)?", re.ASCII),
    ",": re.compile(rf"[+-]?\d{{1,3}}(?:([.{_APART}])\d{{3}})(?:\1\d{{3}})*(?:,\d*)?", re.ASCII),
}


@dataclass(frozen=True)
class Meaning:
    """What a format itself says about one of its columns."""

    quantity: str
    unit: str


@dataclass(frozen=True)
class RawTable:
    """One row a record, in file order.

    `names` are the columns, unique; `cells` holds one sequence of texts a column; `lines` the line of the file that each row
    begins on, from 1, or its number among what `counts` names, where a format has no lines. `units` are the texts of a units
    row, empty where there is none. `defined` maps the columns that the format itself defines to their meaning,
    `altitude_references` those of altitudes to what they count from by the format. `decimal` is the decimal mark.
    `pilot` is the name in the file's header, empty where it has none.
    """

    format: str
    names: tuple[str, ...]
    cells: tuple[Sequence[str], ...]
    lines: Sequence[int]
    units: tuple[str, ...] = ()
    defined: Mapping[str, Meaning] = field(default_factory=dict)
    decimal: str = "."
    notes: tuple[Note, ...] = ()
    counts: str = "line"
    altitude_references: Mapping[str, AltitudeReference] = field(default_factory=dict)
    pilot: str = ""

    def __len__(self) -> int:
        return len(self.lines)

    def listing(self) -> str:
        """The names of the columns for a message, a dozen at most."""
        shown = ", ".join(self.names[:_NAMES_SHOWN])
        more = len(self.names) - _NAMES_SHOWN
        return f"{shown} and {more} more" if more > 0 else shown

    def place(self, row: int) -> str:
        """Where in the file a row stands, for messages: ``line 12``."""
        return f"{self.counts} {self.lines[row]}"

    def column(self, name: str) -> Sequence[str]:
        """The texts of the column called `name`."""
        return self.cells[self.names.index(name)]

    def take(self, rows: Sequence[int]) -> RawTable:
        """The same table with these rows only."""
        return replace(
            self,
            cells=tuple([column[row] for row in rows] for column in self.cells),
            lines=[self.lines[row] for row in rows],
        )


def unique(names: Sequence[str]) -> tuple[str, ...]:
    """The names, a number added where one comes again."""
    taken: set[str] = set()
    distinct = []
    seen: dict[str, int] = {}
    for name in names:
        again = name
        while again in taken:
            seen[name] = seen.get(name, 1) + 1
            again = f"{name} ({seen[name]})"
        taken.add(again)
        distinct.append(again)
    return tuple(distinct)


def fit_to_print(table: RawTable) -> RawTable:
    """The table with names, units and format that can be shown: nothing in them steers a terminal."""
    names = [printable(name) for name in table.names]
    if tuple(names) == table.names and table.format.isprintable() and all(unit.isprintable() for unit in table.units):
        return table
    fit = dict(zip(table.names, unique(names), strict=True))
    return replace(
        table,
        format=printable(table.format),
        names=tuple(fit.values()),
        units=tuple(printable(unit) for unit in table.units),
        defined={fit.get(name, name): meaning for name, meaning in table.defined.items()},
    )


def first_filled(cells: Sequence[str]) -> str:
    """The first cell that holds something, empty where there is none near the top."""
    for row in range(min(len(cells), _LOOKED_AT)):
        cell = cells[row]
        if cell.casefold() not in BLANK:
            return cell
    return ""


def numbers(cells: Sequence[str], decimal: str = ".") -> FloatArray:
    """The cells as numbers; NaN where a cell is empty or holds none.

    The other mark between groups of three digits is taken as the thousands mark (``4,604.6``; with a decimal comma
    ``4.604,6``), as are a blank and an apostrophe (``4 604.6``, ``4'604.6``). Infinities are no numbers here.
    """
    if isinstance(cells, PlainCells) and decimal == "." and cells.numbers is not None:
        return cells.numbers
    plain = cells
    if decimal == ",":
        thousands = any("." in cell or not cell.isascii() or " " in cell or "'" in cell for cell in cells)
        plain = [str(_number(cell, decimal)) if thousands else cell.replace(",", ".") for cell in cells]
    try:
        values = np.fromiter(map(float, plain), dtype=np.float64, count=len(cells))
    except ValueError:
        values = np.fromiter((_number(cell, decimal) for cell in cells), dtype=np.float64, count=len(cells))
    values[np.isinf(values)] = np.nan
    return values


def _number(cell: str, decimal: str) -> float:
    cell = cell.strip()
    grouped = _THOUSANDS[decimal].fullmatch(cell)
    if grouped is not None:
        cell = cell.replace(grouped[1], "")
    try:
        return float(cell.replace(decimal, "."))
    except ValueError:
        return math.nan
