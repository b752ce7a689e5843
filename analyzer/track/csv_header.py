"""Where the header of a CSV log stands, how its lines are cut into cells, and what its names are."""

from __future__ import annotations

import csv
import re
from collections.abc import Iterator, Sequence

from analyzer.errors import LogError
from analyzer.frozen import dataclass
from analyzer.track.column_names import read_name
from analyzer.track.quantities import UNIT_WORDS

__all__ = [
    "BEFORE_ASIDE",
    "BLANKS",
    "DELIMITERS",
    "HEADER_AT_MOST",
    "Header",
    "find_header",
    "is_aside",
    "tabbed",
    "units_below",
]

BLANKS = " "  # any run of blanks and tabs
DELIMITERS = {",": "comma", ";": "semicolon", "\t": "tab", "|": "pipe", BLANKS: "blanks"}
BEFORE_ASIDE = " \t#/%"  # what a line that is blank or a comment begins with, if with anything
_COMMENTS = ("#", "//", "%")
_LINES_OF_A_HEADER = 5
_HEADER_WITHIN = 60  # a header is looked for in so many lines from the top
HEADER_AT_MOST = 2 * _HEADER_WITHIN + _LINES_OF_A_HEADER  # lines from the top that are looked at for it
_ENOUGH_KNOWN = 3  # a line with so many known columns is the header
_LONGEST_HEADER = 65536  # letters
_NUMBER = re.compile(r"[+-]?(?:\d+(?:[.,]\d+)?|[.,]\d+)")
_WORD = re.compile(r'"[^"]*"|\S+')


@dataclass(frozen=True)
class Header:
    """Where the header stands and how its line is cut: `line` indexes the file's lines, -1 where there is none."""

    line: int
    delimiter: str
    names: tuple[str, ...]


def is_aside(line: str) -> bool:
    """Whether a line is blank or a comment."""
    return not line or (line[0] in BEFORE_ASIDE and (line.isspace() or line.lstrip().startswith(_COMMENTS)))


def tabbed(line: str) -> str:
    """A line whose cells stand apart by blanks, with one tab between them. Blanks within quotation marks stay."""
    return "\t".join(_WORD.findall(line)) if '"' in line else "\t".join(line.split())


def _cut(line: str, delimiter: str) -> list[str]:
    if delimiter == BLANKS:
        line, delimiter = tabbed(line), "\t"
    return [cell.strip() for cell in next(csv.reader([line], delimiter=delimiter, skipinitialspace=True), [])]


def find_header(lines: Sequence[str], file: str, chosen: Sequence[str]) -> Header:
    """The line, and the delimiter, in which the most columns are known; the first line that is no comment where none are.

    A header may be written as a comment (``# time, lat, lon``). Where the first line holds numbers only, there is no header and
    the columns are called 1, 2, 3, ... `chosen` are column names that the user gave. Raises `LogError` where there is no table.
    """
    best, best_known = None, 1
    first = None
    for number, line in enumerate(lines[:_HEADER_WITHIN]):
        if first is None and not is_aside(line):
            first = number
        if len(line) > _LONGEST_HEADER:
            break
        for header in _candidates(lines, number):
            known = _known(header.names, chosen)
            if known > best_known:
                best, best_known = header, known
        if best_known >= _ENOUGH_KNOWN:
            break
    if best is not None:
        return best
    if first is None:
        raise LogError(f"{file}: the file holds no rows")
    return _first_line(lines, first, file)


def _candidates(lines: Sequence[str], number: int) -> Iterator[Header]:
    """The line as a header, cut at each delimiter that stands in it.

    At blanks it is cut only where the next line has as many cells, since a sentence may name quantities too. A name in
    quotation marks may go on in the next lines.
    """
    line = lines[number]
    text = line.lstrip(" ").lstrip("#/%").strip(" ") if is_aside(line) else line
    last = min(number + _LINES_OF_A_HEADER, len(lines)) - 1
    while text.count('"') % 2 and number < last and len(text) + len(lines[number + 1]) < _LONGEST_HEADER:
        number += 1
        text = f"{text} {lines[number]}"
    for delimiter in DELIMITERS:
        if delimiter in text:
            names = _cut(text, delimiter)
            if delimiter != BLANKS or len(names) == _cells_below(lines, number):
                yield Header(number, delimiter, tuple(names))


def _cells_below(lines: Sequence[str], number: int) -> int:
    """How many cells, cut at blanks, the next line has that is no comment."""
    below = (line for line in lines[number + 1 : number + _HEADER_WITHIN] if not is_aside(line))
    line = next(below, "")
    return len(_cut(line, BLANKS)) if len(line) <= _LONGEST_HEADER else 0


def _known(names: Sequence[str], chosen: Sequence[str]) -> int:
    """How many of the names are known, by the user's word or by their own. A line with a number in it is no header."""
    if any(_NUMBER.fullmatch(name) for name in names):
        return 0
    folded = {name.casefold() for name in names}
    quantities = {read_name(name).quantity for name in names} - {None}
    return len(quantities) + sum(name.strip().casefold() in folded for name in chosen)


def _first_line(lines: Sequence[str], first: int, file: str) -> Header:
    line = lines[first]
    if len(line) > _LONGEST_HEADER:
        raise LogError(f"{file}, line {first + 1}: longer than {_LONGEST_HEADER:,} letters: this is no header of a table")
    delimiter = max(DELIMITERS, key=lambda mark: 0 if mark == BLANKS else line.count(mark))
    names = _cut(line, delimiter)
    if len(names) < 2:
        delimiter = BLANKS
        names = _cut(line, delimiter)
    has_numbers = any(_NUMBER.fullmatch(name) for name in names)
    if len(names) < 2 or (delimiter == BLANKS and not has_numbers):
        raise LogError(
            f"{file}, line {first + 1}: not a table: no comma, semicolon, tab or pipe stands in {line[:40]!r}."
            f" A log is CSV, GPX, IGC, NMEA, KML or GeoJSON{_of_chart(line)}"
        )
    if has_numbers:
        return Header(-1, delimiter, tuple(str(place + 1) for place in range(len(names))))
    return Header(first, delimiter, tuple(names))


def _of_chart(line: str) -> str:
    """A question for whoever gives a procedure file in the place of a log: its lines are keys with values, and tables."""
    return "; is this a procedure file?" if re.match(r"\s*(\[\[?\w+\]|[a-z_]+\s*=\s*\S)", line) else ""


def units_below(line: str, header: Header) -> tuple[str, ...]:
    """The units in a row below the header, empty where the line is none: no number, and at least one unit."""
    if len(line) > _LONGEST_HEADER:
        return ()
    cells = [cell.strip("()[] ") for cell in _cut(line, header.delimiter)]
    if any(_NUMBER.fullmatch(cell) for cell in cells) or not any(cell.lower() in UNIT_WORDS for cell in cells):
        return ()
    width = len(header.names)
    return tuple((cells + [""] * width)[:width])
