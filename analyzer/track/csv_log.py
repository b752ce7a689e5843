"""CSV in any ordinary dialect to a raw table: encoding, comment lines, decimal mark, rows of one width."""

from __future__ import annotations

import codecs
import csv
import re
from collections.abc import Sequence

from analyzer.errors import LogError
from analyzer.frozen import dataclass
from analyzer.track.csv_header import (
    BEFORE_ASIDE,
    BLANKS,
    DELIMITERS,
    HEADER_AT_MOST,
    Header,
    find_header,
    is_aside,
    tabbed,
    units_below,
)
from analyzer.track.limits import DEFAULT_LIMITS, Limits
from analyzer.track.lost_power import without_nuls
from analyzer.track.plain_cells import plain_columns
from analyzer.track.raw_table import RawTable, unique
from analyzer.track.track import Note, counted

__all__ = ["read_csv"]

_LOOKED_AT = 60  # rows that decide on the decimal mark
_MOST_WIDER = 0.2  # of the rows: some have a stray delimiter, so many are written otherwise than the header
_LONGEST_ROW = 100  # lines that one quoted cell may span before its quote is taken as never closed
_COMMA_NUMBER = re.compile(r"[+-]?\d+,\d+")
_POINT_NUMBER = re.compile(r"[+-]?\d*\.\d+")
_HEAD, _MOSTLY = 1024, 0.8  # bytes in which UTF-16 without its mark is detected, and the share of NULs next to letters
_BOMS = ((codecs.BOM_UTF8, "utf-8-sig"), (codecs.BOM_UTF16_LE, "utf-16"), (codecs.BOM_UTF16_BE, "utf-16"))


@dataclass(frozen=True)
class _Body:
    """What stands below the header: cells by column, and the 1-based line that each row begins on."""

    columns: list[Sequence[str]]
    lines: Sequence[int]
    notes: tuple[Note, ...] = ()


def read_csv(data: bytes, file: str, chosen: Sequence[str] = (), limits: Limits = DEFAULT_LIMITS) -> RawTable:
    """The table in a CSV file.

    `chosen` are column names that the user gave, which help to find the header. Raises `LogError` where there is no table.
    """
    plain = _plain(data, file, chosen, limits)
    if plain is not None:
        return plain
    text, notes = _decoded(data, file)
    text = text.replace("\r\n", "\n").replace("\r", "\n")
    limits.check_values(text.count("\n"), file)  # before empty lines take more room than the text
    lines = text.split("\n")
    header = find_header(lines, file, chosen)
    # most lines are recognised by their first letter, without a call
    after = range(header.line + 1, len(lines))
    below = [number for number in after if lines[number][:1] not in BEFORE_ASIDE or not is_aside(lines[number])]
    kept = below if header.line < 0 else [number for number in below if lines[number] != lines[header.line]]
    if len(kept) < len(below):
        repeated = len(below) - len(kept)
        notes.append(Note(f"{counted(repeated, 'repeated header line')} left out", repeated))
    limits.check_samples(len(kept), file)
    limits.check_values(len(kept) * len(header.names), file)
    units = units_below(lines[kept[0]], header) if kept else ()
    body = _body(lines, kept[1:] if units else kept, header, file)
    if not body.lines:
        raise LogError(f"{file}: no rows below the header on line {header.line + 1}: this log is empty")
    return _table(header, units, body, notes, file)


def _plain(data: bytes, file: str, chosen: Sequence[str], limits: Limits) -> RawTable | None:
    """The same table, many times faster, of a file that is plain below its header; None of any other.

    Plain are ASCII rows of the header's width, without quotation marks, comments, blank lines or the header again.
    """
    if b"\r" in data:
        data = data.replace(b"\r\n", b"\n")
    if b"\0" in data or b"\r" in data:
        return None
    limits.check_values(data.count(b"\n"), file)
    *top, rest = data.split(b"\n", HEADER_AT_MOST)
    if len(top) < HEADER_AT_MOST:
        top, rest = [*top, rest], b""
    text, notes = _decoded(b"\n".join(top), file)
    lines = text.split("\n")
    header = find_header(lines, file, chosen)
    below = lines[header.line + 1] if header.line + 1 < len(lines) else ""
    units = units_below(below, header) if not is_aside(below) else ()
    first = header.line + 1 + bool(units)
    rows = b"\n".join((*top[first:], rest)) if len(top) == HEADER_AT_MOST else b"\n".join(top[first:])
    again = header.line >= 0 and top[header.line] in rows
    if not rows or header.delimiter == BLANKS or again or b'"' in rows or not rows.isascii():
        return None
    columns = plain_columns(rows, header.delimiter, len(header.names), BEFORE_ASIDE)
    if columns is None:
        return None
    limits.check_samples(len(columns[0]) + bool(units), file)
    limits.check_values((len(columns[0]) + bool(units)) * len(columns), file)
    return _table(header, units, _Body(list(columns), range(first + 1, first + 1 + len(columns[0]))), notes, file)


def _table(header: Header, units: Sequence[str], body: _Body, notes: Sequence[Note], file: str) -> RawTable:
    """The raw table of a header and what stands below it. Raises `LogError` where that is a single column."""
    decimal = _decimal(body.columns)
    named = [place for place, name in enumerate(header.names) if name or any(body.columns[place])]
    if len(named) < 2:
        raise LogError(f"{file}: only one column; is it a position log? Export the log as CSV or GPX")
    return RawTable(
        format=f"CSV ({DELIMITERS[header.delimiter]}{', decimal comma' if decimal == ',' else ''})",
        names=unique([header.names[place] or f"column {place + 1}" for place in named]),
        cells=tuple(body.columns[place] for place in named),
        lines=body.lines,
        units=tuple(units[place] for place in named) if units else (),
        decimal=decimal,
        notes=(*notes, *body.notes),
    )


def _decoded(data: bytes, file: str) -> tuple[str, list[Note]]:
    for bom, encoding in _BOMS:
        if data.startswith(bom):
            try:
                return data.decode(encoding), []
            except UnicodeDecodeError as error:
                raise LogError(f"{file}: begins as {encoding} text but is not: save it as UTF-8") from error
    wide = _wide(data[:_HEAD])
    if wide is not None:
        try:
            return data.decode(wide), [Note("the text is UTF-16 without the mark that says so: read as that")]
        except UnicodeDecodeError as error:
            raise LogError(f"{file}: looks like {wide} text but is not: save it as UTF-8") from error
    cut: list[Note] = []
    if b"\0" in data:
        text = without_nuls(data)
        if text is None:
            raise LogError(f"{file}: not a text file, so no log in a format that is read here: export the log as CSV or GPX")
        data, cut = text
    try:
        return data.decode("utf-8"), cut
    except UnicodeDecodeError:
        notes = [*cut, Note("the text is not UTF-8: read as Latin-1 (Windows-1252)")]
        try:
            return data.decode("cp1252"), notes
        except UnicodeDecodeError:
            return data.decode("latin-1"), notes


def _wide(head: bytes) -> str | None:
    """The variant of UTF-16 of text without a mark: most characters of a log are one byte with a NUL next to it."""
    for place, encoding in ((1, "utf-16-le"), (0, "utf-16-be")):
        every_other = head[place::2]
        if every_other.count(0) > _MOSTLY * len(every_other) and 0 not in head[1 - place :: 2]:
            return encoding
    return None


def _body(lines: Sequence[str], kept: Sequence[int], header: Header, file: str) -> _Body:
    """The kept lines cut into cells: in one go where all are plain and of the header's width, else row by row."""
    rows = [lines[number] for number in kept]
    delimiter = header.delimiter
    if delimiter == BLANKS:
        rows, delimiter = [tabbed(row) for row in rows], "\t"
    width = len(header.names)
    joined = delimiter.join(rows)
    if '"' not in joined and {row.count(delimiter) for row in rows} == {width - 1}:
        cells = joined.split(delimiter)
        columns = [cells[place::width] for place in range(width)]
        if " " in joined:
            columns = [[cell.strip() for cell in column] for column in columns]
        return _Body(list(columns), [number + 1 for number in kept])
    table, begins = _rows(rows, kept, delimiter, file)
    body = _rectangular(table, begins, width, ended=not lines[-1])
    _check_width(table, begins, body, width, file)
    return body


def _rows(lines: Sequence[str], kept: Sequence[int], delimiter: str, file: str) -> tuple[list[list[str]], list[int]]:
    """Rows of cells and the 1-based line that each begins on; a quoted cell may span lines."""
    reader = csv.reader(lines, delimiter=delimiter, skipinitialspace=True)
    rows: list[list[str]] = []
    begins: list[int] = []
    begin = 0
    try:
        for row in reader:
            rows.append([cell.strip() for cell in row])
            begins.append(kept[begin] + 1)
            if reader.line_num - begin > _LONGEST_ROW:
                break
            begin = reader.line_num
        else:
            return rows, begins
    except csv.Error:
        pass
    raise LogError(f"{file}, line {kept[begin] + 1}: a quotation mark is opened and not closed: close it or take it out")


def _rectangular(rows: list[list[str]], begins: list[int], width: int, *, ended: bool) -> _Body:
    """Rows of one width.

    Empty cells beyond the header are cut off; a row with more is left out. A short row is filled with empty cells, but for
    the last line of a file that does not end with a line break: its last number may have lost digits, so it is left out.
    """
    notes = []
    if rows and not ended and len(rows[-1]) < width:
        notes.append(Note(f"the last line ({begins[-1]}) is cut short: left out", 1))
        rows, begins = rows[:-1], begins[:-1]
    fitting = [place for place, row in enumerate(rows) if not any(row[width:])]
    if len(fitting) < len(rows):
        left_out = len(rows) - len(fitting)
        notes.append(Note(f"{counted(left_out, 'row')} with more cells than the header left out", left_out))
    padding = [""] * width
    even = [(rows[place] + padding)[:width] for place in fitting]
    return _Body([list(column) for column in zip(*even, strict=True)], [begins[place] for place in fitting], tuple(notes))


def _check_width(rows: Sequence[Sequence[str]], begins: Sequence[int], body: _Body, width: int, file: str) -> None:
    """Raise `LogError` where so many rows have more cells than the header that they are no accident."""
    wider = len(rows) - len(body.lines)
    if wider <= _MOST_WIDER * len(rows) or wider <= 1:
        return
    place, row = next((place, row) for place, row in enumerate(rows) if any(row[width:]))
    raise LogError(
        f"{file}: {wider:,} of {len(rows):,} rows have more cells than the header, which has {width}; the first has {len(row)},"
        f" on line {begins[place]}: {','.join(row)[:80]!r}. Is a comma the thousands mark? Export the log without it,"
        " or with numbers in quotation marks; else repair the header"
    )


def _decimal(columns: Sequence[Sequence[str]]) -> str:
    """The decimal mark: a comma where a number has one that cannot mark thousands, or has one and none has a point."""
    cells = [cell for column in columns for cell in column[:_LOOKED_AT]]
    with_comma = [cell for cell in cells if "," in cell and _COMMA_NUMBER.fullmatch(cell)]
    if not with_comma:
        return "."
    decimal = any(len(cell.partition(",")[2]) != 3 for cell in with_comma)
    return "," if decimal or not any(_POINT_NUMBER.fullmatch(cell) for cell in cells) else "."
