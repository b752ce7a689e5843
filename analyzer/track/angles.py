"""Cells that hold a latitude or longitude as charts write it: with a hemisphere letter, in degrees and minutes, or seconds."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Sequence

import numpy as np

from analyzer.physics.units import FloatArray

__all__ = [
    "LETTERS",
    "joined_degrees",
    "jump_at_the_full_degree",
    "letter_sign",
    "minutes_for_decimals",
    "written_degrees",
]

LETTERS = {"latitude": ("N", "S"), "longitude": ("E", "W")}
_WORDS = {"NORTH": "N", "SOUTH": "S", "EAST": "E", "WEST": "W"}
_LONGEST = 40  # letters of a cell
_WRITTEN = re.compile(
    r"([NSEW])? {0,2}([+-])? {0,2}(\d{1,3}(?:[.,]\d+)?) {0,2}[°ºd:]? {0,2}"
    r"(?:(?:(?<=[ °ºd:])|-)(\d{1,2}(?:[.,]\d+)?) {0,2}['′’m:]? {0,2}"
    r"(?:(?<=[ '′’m:])(\d{1,2}(?:[.,]\d+)?) {0,2}(?:\"|″|”|''|s)? {0,2})?)?([NSEW])?",
    re.IGNORECASE | re.ASCII,
)
_MOST = 0.6  # the minutes in the place of decimals are below this
_JUMP = 0.4  # by so much they jump at a full degree
_STEPS_OVER = 10.0  # median steps that a row may be from the full degree, and at least the next
_JUMP_SLACK = 0.001
_JOINED = 100.0  # degrees are written before minutes as their hundreds: 4818.27 is 48° 18.27'


def written_degrees(cells: Sequence[str], quantity: str) -> FloatArray:
    """The cells as decimal degrees; NaN where one is not written so, or has the other quantity's letter.

    >>> written_degrees(["N48 21.0", "48°21'N", "W024 42.0"], "latitude").tolist()
    [48.35, 48.35, nan]
    """
    return np.array([_degrees(cell.strip(), LETTERS[quantity]) for cell in cells])


def _degrees(cell: str, letters: tuple[str, str]) -> float:
    parts = _WRITTEN.fullmatch(cell.replace("−", "-")) if len(cell) <= _LONGEST else None
    if parts is None:
        return math.nan
    letter = (parts[1] or parts[6] or "").upper()
    degrees, minutes, seconds = (float((text or "0").replace(",", ".")) for text in parts.group(3, 4, 5))
    broken = (parts[4] and degrees % 1.0) or (parts[5] and minutes % 1.0) or minutes >= 60.0 or seconds >= 60.0
    if broken or (letter and (letter not in letters or parts[2])) or (parts[1] and parts[6]):
        return math.nan
    sign = -1.0 if parts[2] == "-" or letter == letters[1] else 1.0
    return sign * (degrees + minutes / 60.0 + seconds / 3600.0)


def letter_sign(cell: str, quantity: str) -> float:
    """1 for N or E, -1 for S or W, NaN for anything else."""
    letter = _WORDS.get(cell.strip().upper(), cell.strip().upper())
    positive, negative = LETTERS[quantity]
    return 1.0 if letter == positive else -1.0 if letter == negative else math.nan


def joined_degrees(values: FloatArray) -> FloatArray:
    """Degrees of numbers that join degrees and minutes, 4818.27 for 48° 18.27'; NaN where the minutes are 60 or more."""
    size = np.abs(values)
    minutes = size % _JOINED
    degrees = np.sign(values) * (np.floor(size / _JOINED) + minutes / 60.0)
    return np.where(minutes < 60.0, degrees, np.nan)


def minutes_for_decimals(values: FloatArray) -> FloatArray:
    """Degrees of numbers whose decimals are minutes, 48.1827 for 48° 18.27'; NaN where those are 60 or more."""
    return joined_degrees(values * _JOINED)


def jump_at_the_full_degree(coordinates: Iterable[FloatArray]) -> bool:
    """Whether decimals are minutes: none of either coordinate is .60 or more, and one jumps from .60 to .00 between two rows.

    A track whose decimals are true goes through .60 to .99 on its way to the next degree.
    """
    jumps = False
    for values in coordinates:
        size = np.abs(values[np.isfinite(values)])
        if len(size) < 3 or (size % 1.0 >= _MOST).any():
            return False
        steps = np.abs(np.diff(size))
        near = _STEPS_OVER * float(np.median(steps)) + _JUMP_SLACK
        over = np.floor(size[1:]) != np.floor(size[:-1])
        jumps = jumps or bool((over & (np.abs(steps - _JUMP) <= near)).any() and near < _JUMP / 4.0)
    return jumps
