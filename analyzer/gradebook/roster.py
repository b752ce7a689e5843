"""Reading a roster, which says who flew which log, and when: a CSV file whose columns are recognised by name."""

from __future__ import annotations

import csv
import datetime as dt
import io
import math
import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from pathlib import Path

from analyzer.errors import GradeError
from analyzer.files import read_bounded
from analyzer.frozen import dataclass
from analyzer.track.dates import day_order, possible_orders, read_date

__all__ = ["Entry", "Matches", "Roster", "is_roster", "log_names", "match_roster", "read_roster", "roster_entries"]

_WORDS: Mapping[str, tuple[str, ...]] = {
    "file": ("file", "filename", "file name", "log", "log file", "logfile", "track"),
    "pilot": ("pilot", "name", "student", "trainee", "pilot name", "crew"),
    "date": ("date", "day", "flown", "flown on", "date flown"),
    "aircraft": ("aircraft", "aircraft type", "aeroplane", "airplane"),
    "flown_as": ("flown as", "flown shape", "what was flown"),
    "remark": ("remark", "remarks", "comment", "comments", "instructor remark", "instructor's remark"),
}
_NEEDED = ("file", "pilot")
_LARGEST_BYTES = 64 * 1024 * 1024
_PACKED = ".gz"
_EPOCH_DAY = dt.date(1970, 1, 1).toordinal()
_BETWEEN_WORDS = re.compile(r"[\s,;]+")


@dataclass(frozen=True)
class Entry:
    """One line of a roster, with None for empty cells. `remark` is the instructor's remark for the student's sheet.

    `flown_as` names what was flown, in words like ``15:41:30=base-turn`` that `analyzer.legs.named.read_flown` reads.
    """

    line: int
    file: str
    pilot: str
    date: dt.date | None
    aircraft: str | None = None
    remark: str | None = None
    flown_as: tuple[str, ...] = ()


@dataclass(frozen=True)
class Roster:
    """The entries of a roster, by the name of the log in lower case."""

    name: str
    entries: Mapping[str, Entry]


@dataclass(frozen=True)
class Matches:
    """How a roster matches the logs.

    Attributes
    ----------
    by_place : mapping
        Entries by the position of the log in the order.
    logs_without : int
        Number of logs without an entry.
    without_log, of_several_logs : tuple of Entry
        Entries that match no log, and those that match several.
    """

    by_place: Mapping[int, Entry]
    logs_without: int
    without_log: tuple[Entry, ...]
    of_several_logs: tuple[Entry, ...]


def read_roster(path: Path) -> Roster:
    """The roster in a CSV file, whose header has columns for file and pilot, and any of the others.

    Raises
    ------
    GradeError
        The file cannot be read, a column is missing or ambiguous, a date is none or leaves open which number is the month, or a
        log is named twice.
    """
    try:
        data = read_bounded(path, _LARGEST_BYTES)
    except (OSError, ValueError) as error:  # a name with a NUL raises ValueError
        why = getattr(error, "strerror", None) or error
        raise GradeError(f"{path}: cannot be read: {why}; give a CSV file with --roster") from error
    if len(data) > _LARGEST_BYTES:
        raise GradeError(f"{path}: larger than {_LARGEST_BYTES // 2**20} MiB, too long for a roster; is it a log?")
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError:
        text = data.decode("latin-1")
    header_line = text.partition("\n")[0]
    delimiter = max(",;\t", key=header_line.count)
    try:
        rows = list(csv.reader(io.StringIO(text, newline=""), delimiter=delimiter))
    except csv.Error as error:
        raise GradeError(f"{path}: not CSV: {error}; export the roster again") from error
    if not rows:
        raise GradeError(f"{path}: empty; a roster begins with a header like file,pilot,date")
    columns = _columns(path, rows[0])
    place = columns.get("date", len(rows[0]))
    order = day_order([row[place].strip() for row in rows[1:] if place < len(row)], None)
    entries: dict[str, Entry] = {}
    for number, row in enumerate(rows[1:], 2):
        entry = _entry(path, number, row, columns, order)
        if entry is None:
            continue
        key = _key(entry.file)
        if key in entries:
            raise GradeError(f"{path}: line {number}: {entry.file} is on line {entries[key].line} too; keep one of them")
        entries[key] = entry
    return Roster(path.name, entries)


def is_roster(content: bytes) -> bool:
    """Whether a file that begins with these bytes is a roster by its header, and not a log.

    >>> is_roster(b"Log file;Student;Day"), is_roster(b"time,name,track,latitude"), is_roster(b"file,aircraft")
    (True, False, False)
    """
    header = content.partition(b"\n")[0].decode("utf-8-sig", errors="replace")
    cells = header.split(max(",;\t", key=header.count))
    words = [_word(cell.strip().strip('"')) for cell in cells]
    return all(any(word in _WORDS[needed] for word in words) for needed in _NEEDED) and not any(
        word.startswith("lat") for word in words
    )


def _word(name: str) -> str:
    return " ".join(name.replace("_", " ").replace("-", " ").lower().split())


def _columns(path: Path, header: Sequence[str]) -> Mapping[str, int]:
    """The position of each column, by the names in the header."""
    words = [_word(name) for name in header]
    columns = {}
    for column, known in _WORDS.items():
        positions = [k for k, word in enumerate(words) if word in known]
        if len(positions) > 1:
            named = " and ".join(header[k] for k in positions)
            raise GradeError(f"{path}: line 1: {named} could both be the {column}; rename one")
        if positions:
            columns[column] = positions[0]
        elif column in _NEEDED:
            raise GradeError(f"{path}: line 1: no column for the {column}; name one of them {' or '.join(known[:3])}")
    return columns


def _entry(path: Path, number: int, row: Sequence[str], columns: Mapping[str, int], order: str | None) -> Entry | None:
    """The entry in a row, None where that is empty; `order` is that of day, month and year, None where it cannot be told."""
    cells = {name: row[k].strip() if k < len(row) else "" for name, k in columns.items()}
    if not any(cells.values()):
        return None
    for name in _NEEDED:
        if not cells[name]:
            raise GradeError(f"{path}: line {number}: no {name}; fill it in, or remove the line")
    date = None
    if cells.get("date"):
        days = read_date(cells["date"], order)
        if math.isnan(days):
            what = f"{path}: line {number}: date {cells['date']!r}"
            if possible_orders([cells["date"]]):
                raise GradeError(f"{what}: day and month cannot be told apart; write it like 2026-06-14")
            raise GradeError(f"{what}: not a date; write it like 2026-06-14")
        date = dt.date.fromordinal(_EPOCH_DAY + int(days))
    flown_as = tuple(filter(None, _BETWEEN_WORDS.split(cells.get("flown_as", ""))))
    return Entry(
        number, cells["file"], cells["pilot"], date, cells.get("aircraft") or None, cells.get("remark") or None, flown_as
    )


def _key(file: str) -> str:
    return file.replace("\\", "/").lower()


def match_roster(roster: Roster, logs: Iterable[str], alike: Callable[[Sequence[int]], bool] = lambda _: False) -> Matches:
    """Match entries to logs by the path or the end of it, else by the file name, else by that without the suffix.

    Of several logs that an entry matches it is given to the one that it names most fully. If it names several equally, it is
    ambiguous and given to none, unless `alike` says that the logs at these places are copies of one another: then to the first.
    """
    matched: dict[int, list[tuple[int, int]]] = {}  # by line of the roster: how fully it names a log, and the log's place
    logs_without = 0
    for place, log in enumerate(logs):
        named = next(((rank, name) for rank, name in enumerate(log_names(log)) if name in roster.entries), None)
        if named is None:
            logs_without += 1
        else:
            matched.setdefault(roster.entries[named[1]].line, []).append((named[0], place))
    by_place, several = {}, []
    for entry in roster.entries.values():
        found = matched.get(entry.line, [])
        places = [place for rank, place in found if rank == min(found)[0]]
        logs_without += len(found) - len(places)
        if len(places) > 1 and not alike(places):
            several.append(entry)
        elif places:
            by_place[places[0]] = entry
    without = tuple(entry for entry in roster.entries.values() if entry.line not in matched)
    return Matches(by_place, logs_without, without, tuple(several))


def roster_entries(path: Path, logs: Sequence[str]) -> tuple[Entry | None, ...]:
    """The entry of each log in a roster, None where it has none.

    Raises
    ------
    GradeError
        The roster cannot be read, names none of the logs, or a line of it matches several of them.
    """
    matches = match_roster(read_roster(path), logs)
    for entry in matches.of_several_logs:
        raise GradeError(f"{path}: line {entry.line}: {entry.file} matches several of the logs; write it with its folder")
    if not matches.by_place:
        raise GradeError(f"{path}: names none of the logs; its column of files must hold their names")
    return tuple(matches.by_place.get(place) for place in range(len(logs)))


def log_names(log: str) -> tuple[str, ...]:
    """The names by which a log may be called, the fullest first: its path, the ends of that, and its name without suffixes.

    All are in lower case with ``/`` between folders.
    """
    folders = _key(log).split("/")
    bare = folders[-1].removesuffix(_PACKED)
    stem = bare.rpartition(".")[0] or bare
    return (*("/".join(folders[k:]) for k in range(len(folders))), bare, stem)
