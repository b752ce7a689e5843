"""What accompanies a latitude or longitude in its own columns: hemisphere letters, and the minutes of whole degrees."""

from __future__ import annotations

import numpy as np

from analyzer.errors import LogError
from analyzer.physics.units import FloatArray
from analyzer.track.angles import letter_sign
from analyzer.track.columns import Matched
from analyzer.track.raw_table import BLANK, RawTable, numbers
from analyzer.track.track import Note

__all__ = ["letters_column", "with_letters", "with_minutes"]

_LETTERED = {"latitude": "north_south", "longitude": "east_west"}
_SHORT = {"latitude": ("ns", "latns", "latitudens"), "longitude": ("ew", "lonew", "longew", "longitudeew")}  # letters of names


def with_minutes(
    table: RawTable, matched: Matched, quantity: str, degrees: FloatArray, file: str
) -> tuple[FloatArray, tuple[Note, ...]]:
    """Whole degrees with the minutes of their column. Raises `LogError` where they are not whole degrees and minutes.

    Minutes go in the direction of the degrees, whose sign counts at 0° too (``-0``).
    """
    match = matched.by_quantity.get(f"{quantity}_minutes")
    if match is None:
        return degrees, ()
    name = matched.by_quantity[quantity].name
    minutes = numbers(table.column(match.name), table.decimal)
    known = np.isfinite(degrees) & np.isfinite(minutes)
    wrong = known & ((degrees % 1.0 != 0.0) | (minutes < 0.0) | (minutes >= 60.0))
    if wrong.sum() * 2 > known.sum():
        row = int(np.argmax(wrong))
        raise LogError(
            f"{file}, {table.place(row)}: {table.column(name)[row][:20]!r} in {name!r} and"
            f" {table.column(match.name)[row][:20]!r} in {match.name!r} are no whole degrees with minutes below 60:"
            f" name the right column, --column {quantity}=NAME"
        )
    signs = np.array([-1.0 if cell.strip().startswith(("-", "−")) else 1.0 for cell in table.column(name)])
    whole = signs * (np.abs(degrees) + minutes / 60.0)
    return np.where(wrong, np.nan, whole), (Note(f"{quantity} is the degrees of {name!r} with the minutes of {match.name!r}"),)


def letters_column(table: RawTable, matched: Matched, quantity: str) -> str | None:
    """The column of hemisphere letters of a quantity: the one so named, or else an adjacent one that holds nothing else."""
    match = matched.by_quantity.get(_LETTERED[quantity])
    if match is not None:
        return match.name
    taken = {other.name for other in matched.by_quantity.values()}
    for name in table.names:  # "ns" is a unit of time too, so the cells decide
        if "".join(filter(str.isalpha, name.casefold())) in _SHORT[quantity] and _are_letters(table, name, quantity):
            return name
    numeric = [matched.by_quantity.get(name) for name in (f"{quantity}_minutes", quantity)]
    for other in filter(None, numeric):
        place = table.names.index(other.name)
        for near in (place + 1, place - 1):
            neighbour = table.names[near] if 0 <= near < len(table.names) else None
            if neighbour is not None and neighbour not in taken and _are_letters(table, neighbour, quantity):
                return neighbour
    return None


def _are_letters(table: RawTable, name: str, quantity: str) -> bool:
    filled = {cell for cell in table.column(name) if cell.casefold() not in BLANK}
    return bool(filled) and not any(np.isnan(letter_sign(cell, quantity)) for cell in filled)


def with_letters(
    table: RawTable, matched: Matched, quantity: str, degrees: FloatArray, file: str
) -> tuple[FloatArray, tuple[Note, ...]]:
    """Degrees with the sign of their hemisphere letters, NaN where there is none. Raises `LogError` where signs contradict."""
    name = letters_column(table, matched, quantity)
    if name is None:
        return degrees, ()
    cells = table.column(name)
    read = {cell: letter_sign(cell, quantity) for cell in set(cells)}
    signs = np.array([read[cell] for cell in cells])
    against = (degrees < 0.0) & (signs > 0.0)
    if against.any():
        row = int(np.argmax(against))
        raise LogError(
            f"{file}, {table.place(row)}: the {quantity} is negative and {name!r} says {cells[row][:10]!r}: one is wrong."
            f" Take the column {name!r} out, or the signs"
        )
    return np.abs(degrees) * signs, (Note(f"the letters of {name!r} are applied to the {quantity}"),)
