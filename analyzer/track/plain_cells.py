"""The cells of plain CSV, found and read a column at a time: texts are made only of those that are asked for.

Plain are rows of one width whose cells hold no quotation mark, and numbers of digits with at most one point and a sign. What
is not is left to the general readers, which are many times slower. A number here is the very one that `float` makes of its
text: up to 15 digits are a whole number exactly, and its quotient with a power of ten up to 22 is rounded once [1]_.

References
----------
.. [1] W. D. Clinger, "How to read floating point numbers accurately", PLDI 1990, section 2: the exact cases.
"""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Iterator, Sequence
from functools import cached_property
from typing import Self, overload

import numpy as np
import numpy.typing as npt
from numpy.lib.stride_tricks import sliding_window_view

from analyzer.frozen import dataclass
from analyzer.physics.units import FloatArray

__all__ = ["PlainCells", "plain_columns"]

_Letters = npt.NDArray[np.uint8]
_Places = npt.NDArray[np.intp]

_NEWLINE, _POINT, _PLUS, _MINUS, _ZERO = b"\n.+-0"
_LONGEST = 17  # letters of a number: 15 digits, a point and a sign
_ROOM = b"\0" * _LONGEST
_EXACT = 10**15  # whole numbers below are exact as they are
_POWERS = 10.0 ** np.arange(_LONGEST + 1)
_AT_ONCE = 1 << 14  # cells whose letters are laid out at a time, so that they stay in the cache
_INSTANT = re.compile(r"(\d{4}-\d\d-\d\d)([T ])\d\d:\d\d:\d\d(?:\.(\d{1,6}))?(Z?)", re.ASCII)
_DATES = 1000  # changes of the date from row to row, at most: more are no flight's
_EPOCH_DAY = dt.date(1970, 1, 1).toordinal()


@dataclass(frozen=True, eq=False)
class PlainCells(Sequence[str]):
    """The cells of a column, made by `plain_columns`: where each begins and ends in the `source`.

    They come without the blanks around them. Before and behind all cells of the source there is room for one of the longest.
    """

    source: bytes
    begins: _Places
    ends: _Places

    def __len__(self) -> int:
        return len(self.begins)

    @overload
    def __getitem__(self, place: int) -> str: ...
    @overload
    def __getitem__(self, place: slice) -> Self: ...
    def __getitem__(self, place: int | slice) -> str | Self:
        """One cell, or some."""
        if isinstance(place, slice):
            return type(self)(self.source, self.begins[place], self.ends[place])
        return self.source[self.begins[place] : self.ends[place]].decode("ascii").strip()

    def __iter__(self) -> Iterator[str]:
        return iter(self._texts)

    @cached_property
    def _texts(self) -> list[str]:
        if not len(self):
            return []
        first = int(self.begins[0])
        text = self.source[first : int(self.ends[-1])].decode("ascii")
        places = zip((self.begins - first).tolist(), (self.ends - first).tolist(), strict=True)
        return [text[begin:end].strip() for begin, end in places]

    @cached_property
    def numbers(self) -> FloatArray | None:
        """The cells as numbers, NaN where one is empty; None where one is anything but a plain number."""
        lengths = self.ends - self.begins
        width = int(lengths.max())
        if not 0 < width <= _LONGEST:
            return None
        values = np.empty(len(self))
        for letters, part in self._laid_out(self.ends - width, width):
            read = _decimals(letters, width - lengths[part])
            if read is None:
                return None
            values[part] = read
        values.flags.writeable = False
        return values

    def digits_before_point(self) -> _Places:
        """How many digits stand before the point of each of plain numbers; 0 where it has no point, or no digit after it."""
        lengths = self.ends - self.begins
        width = int(lengths.max())
        found = np.empty(len(self), dtype=np.intp)
        for letters, part in self._laid_out(self.begins, width):
            point = letters == _POINT
            place = point.argmax(axis=1)
            inside = point.any(axis=1) & (place < lengths[part] - 1)
            found[part] = np.where(inside, place - ((letters[:, 0] == _MINUS) | (letters[:, 0] == _PLUS)), 0)
        return found

    def instants(self) -> tuple[FloatArray, bool] | None:
        """The cells as seconds since 1970, and whether they end with Z; None unless all are alike, and as ISO 8601 has it."""
        form = _INSTANT.fullmatch(self[0])
        width = int(self.ends[0] - self.begins[0])
        if form is None or width != form.end() or (self.ends - self.begins != width).any():
            return None
        template = np.frombuffer(re.sub(r"\d", "0", form[0]).encode("ascii"), dtype=np.uint8)
        digit = template == _ZERO
        seconds = np.empty(len(self))
        for letters, part in self._laid_out(self.begins, width):
            digits = letters - np.uint8(_ZERO)
            if (digits[:, digit] > 9).any() or (letters[:, ~digit] != template[~digit]).any():
                return None
            read = _seconds(digits, len(form[3] or ""))
            if read is None:
                return None
            seconds[part] = read
        return seconds, bool(form[4])

    def _laid_out(self, begins: _Places, width: int) -> Iterator[tuple[_Letters, slice]]:
        """The letters of so many from each place on, some thousand cells at a time."""
        windows = sliding_window_view(np.frombuffer(self.source, dtype=np.uint8), width)
        for first in range(0, len(self), _AT_ONCE):
            part = slice(first, first + _AT_ONCE)
            yield windows[begins[part]], part


def plain_columns(rows: bytes, delimiter: str, width: int, barred: str) -> list[PlainCells] | None:
    """The columns of ASCII rows that all have so many cells; None where one has not, or begins with a letter that is barred."""
    source = b"".join((_ROOM, rows, b"" if rows.endswith(b"\n") else b"\n", _ROOM))
    letters = np.frombuffer(source, dtype=np.uint8)
    marks = np.flatnonzero((letters == _NEWLINE) | (letters == ord(delimiter)))
    if len(marks) % width:
        return None
    ends = marks.reshape(-1, width).T.copy()
    begins = np.concatenate(([len(_ROOM)], marks[:-1] + 1)).reshape(-1, width).T.copy()
    if (letters[ends[-1]] != _NEWLINE).any() or (letters[ends[:-1]] != ord(delimiter)).any():
        return None
    lead = letters[begins[0]]
    if any((lead == letter).any() for letter in barred.encode("ascii")):
        return None
    return [PlainCells(source, begin, end) for begin, end in zip(begins, ends, strict=True)]


def _decimals(letters: _Letters, before: _Places) -> FloatArray | None:
    """The numbers that end with the last letter of each row, and begin so many letters after the first; None if one is none."""
    width, rows = letters.shape[1], np.arange(len(letters))
    digits = letters - np.uint8(_ZERO)  # what is no digit wraps round to more than 9
    if before.any():
        digits[np.arange(width) < before[:, None]] = 0
    first = np.minimum(before, width - 1)
    lead = letters[rows, first]
    signed = ((lead == _MINUS) | (lead == _PLUS)) & (before < width)
    if signed.any():
        digits[rows[signed], first[signed]] = 0
    point = digits == np.uint8(_POINT - _ZERO & 0xFF)
    pointed = point.any(axis=1)
    place = np.where(pointed, point.argmax(axis=1), width)
    bare = (before + signed + pointed == width) & (before < width)  # a sign or a point alone
    digits[rows[pointed], place[pointed]] = 0
    if bare.any() or (digits > 9).any():
        return None
    numbers = np.empty(len(letters))
    for column in np.flatnonzero(np.bincount(place)).tolist():  # of most logs one: they give as many decimals everywhere
        there = slice(None) if (place == column).all() else place == column
        powers = np.insert(_POWERS[: width - 1][::-1], column, 0.0) if column < width else _POWERS[:width][::-1]
        whole = digits[there].astype(np.float64) @ powers
        if whole.max() >= _EXACT:
            return None
        numbers[there] = whole / _POWERS[max(0, width - 1 - column)]
    numbers[lead == _MINUS] *= -1.0
    numbers[before == width] = np.nan
    return numbers


def _seconds(digits: _Letters, decimals: int) -> FloatArray | None:
    """Seconds since 1970 of instants whose digits stand as in ISO 8601, with so many decimals; None where one is none."""

    def two(place: int) -> npt.NDArray[np.int64]:
        return 10 * digits[:, place].astype(np.int64) + digits[:, place + 1]

    year, month, day, hour, minute, second = 100 * two(0) + two(2), *(two(place) for place in (5, 8, 11, 14, 17))
    if (hour > 23).any() or (minute > 59).any() or (second > 59).any():
        return None
    begins = np.concatenate(([0], np.flatnonzero(np.diff(10_000 * year + 100 * month + day)) + 1))
    if len(begins) > _DATES:
        return None
    try:
        dates = [dt.date(*one) for one in zip(*(part[begins].tolist() for part in (year, month, day)), strict=True)]
    except ValueError:
        return None
    days = np.repeat([date.toordinal() - _EPOCH_DAY for date in dates], np.diff(np.append(begins, len(digits))))
    micros = np.zeros(len(digits), dtype=np.int64)
    for place in range(decimals):
        micros += 10 ** (5 - place) * digits[:, 20 + place].astype(np.int64)
    whole = 86_400 * days + 3_600 * hour + 60 * minute + second
    seconds: FloatArray = (1_000_000 * whole + micros) / 1e6
    return seconds
