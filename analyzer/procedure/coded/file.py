"""A file of coded records with its index: records by airport and by ident, decoded only on demand.

The index of a small file is built in memory each time. The index of a large file is kept next to it, and rebuilt when the file
has changed; if it cannot be kept, it is built in memory, too.
"""

from __future__ import annotations

import math
import sqlite3
from collections.abc import Iterator, Sequence
from functools import cached_property
from pathlib import Path
from urllib.parse import quote

from analyzer.errors import ProcedureError
from analyzer.frozen import dataclass
from analyzer.procedure.coded.content import RECORD, coded_lines
from analyzer.procedure.coded.index import VERSION, make_index, numbers
from analyzer.temporary import whole_file

__all__ = ["CodedFile", "read_coded"]

_KEPT_BYTES = 1 << 20  # indexing a smaller file takes less time than looking for its index
_SUFFIX = ".approach-index"
_OURS = 0x41504958  # marks the index, so that no other file of that name is read or overwritten
_DEGREE_NM = 60.0


@dataclass(frozen=True, eq=False)
class CodedFile:
    """A file of coded records."""

    name: str
    path: Path
    index: sqlite3.Connection

    @cached_property
    def cycle(self) -> str | None:
        """The cycle of the file, from its header; None if that has none."""
        rows = self._asked("SELECT value FROM about WHERE key = 'cycle'")
        return str(rows[0][0]) if rows else None

    @cached_property
    def airports(self) -> tuple[str, ...]:
        """The idents of all airports, in order."""
        return tuple(str(ident) for (ident,) in self._asked("SELECT ident FROM airports ORDER BY ident"))

    def holds(self, airport: str) -> bool:
        """Whether an airport has records."""
        return bool(self._asked("SELECT 1 FROM airports WHERE ident = ?", airport))

    def of_airport(self, airport: str) -> list[tuple[int, str]]:
        """The records of an airport, each with its line number."""
        return list(_unpacked(self._asked("SELECT lines, records FROM airports WHERE ident = ?", airport)))

    def of_ident(self, section: str, ident: str) -> list[tuple[int, str]]:
        """The records of en-route navaids and waypoints by section and ident, each with its line number."""
        return list(_unpacked(self._asked("SELECT lines, records FROM fixes WHERE section = ? AND ident = ?", section, ident)))

    def damaged_of(self, airport: str) -> tuple[int, ...]:
        """The numbers of lines that may belong to an airport but are not records of 132 columns."""
        return tuple(number for (number,) in self._asked("SELECT line FROM damaged WHERE ident = ?", airport))

    def with_reversals(self) -> list[tuple[str, int]]:
        """The airports that have approaches with a reversal, each with the number of them."""
        return list(self._asked("SELECT airport, count(DISTINCT approach) FROM reversals GROUP BY airport ORDER BY airport"))

    def near(self, latitude_deg: float, longitude_deg: float, radius_nm: float) -> list[tuple[str, str]]:
        """The approaches whose reversal begins within a square about a place, as airport and ident."""
        north = radius_nm / _DEGREE_NM
        east = min(north / max(math.cos(math.radians(latitude_deg)), 1e-3), 180.0)
        approaches: list[tuple[str, str]] = []
        for turned in (-360.0, 0.0, 360.0):
            approaches += self._asked(
                "SELECT DISTINCT airport, approach FROM reversals WHERE latitude BETWEEN ? AND ? AND longitude BETWEEN ? AND ?",
                latitude_deg - north,
                latitude_deg + north,
                longitude_deg + turned - east,
                longitude_deg + turned + east,
            )
        return sorted(set(approaches))

    def _asked(self, query: str, *values: str | float) -> Sequence[tuple]:  # type: ignore[type-arg]
        try:
            return self.index.execute(query, values).fetchall()
        except sqlite3.DatabaseError as error:
            place = index_path(self.path)
            raise ProcedureError(f"{place}: the index is damaged: {error}; delete it, and it is made again") from None


def _unpacked(rows: Sequence[tuple[bytes, bytes]]) -> Iterator[tuple[int, str]]:
    for lines, records in rows:
        for k, number in enumerate(numbers(lines)):
            yield number, records[k * RECORD : (k + 1) * RECORD].decode("latin-1")


def index_path(path: Path) -> Path:
    """Where the index of a file is kept."""
    return path.with_name(path.name + _SUFFIX)


def read_coded(path: Path) -> CodedFile:
    """Open the file at `path` with its index. Raises `ProcedureError`."""
    about = _state(path)
    kept = about is not None and int(about["size"]) >= _KEPT_BYTES
    if kept and about is not None:
        stored = _opened(path, about) or _stored(path, about)
        if stored is not None:
            return CodedFile(path.name, path, stored)
    index = sqlite3.connect(":memory:", check_same_thread=False)  # as below
    with coded_lines(path) as lines:
        make_index(index, lines, about or {})
    return CodedFile(path.name, path, index)


def _state(path: Path) -> dict[str, str] | None:
    """Size and time of modification of a file, to notice changes; None if not known, and reading it reports why."""
    try:
        state = path.stat()
    except (OSError, ValueError):
        return None
    return {"size": str(state.st_size), "changed": str(state.st_mtime_ns)}


def _opened(path: Path, about: dict[str, str]) -> sqlite3.Connection | None:
    """The index next to a file; None if there is none, or it is of another state of the file or another version."""
    place = index_path(path)
    if not place.is_file():
        return None
    try:
        # only read, and never by two threads at once: a run with one worker opens it in one thread and reads it in another
        place_of = f"file:{quote(str(place.resolve()))}?mode=ro&immutable=1"
        index = sqlite3.connect(place_of, uri=True, check_same_thread=False)
        ours = index.execute("PRAGMA application_id").fetchone()[0] == _OURS
        indexed = dict(index.execute("SELECT key, value FROM about")) if ours else {}
    except sqlite3.DatabaseError:
        return None
    same = indexed.get("version") == str(VERSION) and all(indexed.get(key) == value for key, value in about.items())
    return index if same else None


def _stored(path: Path, about: dict[str, str]) -> sqlite3.Connection | None:
    """Build the index and keep it next to its file; None if it cannot be kept there."""
    place = index_path(path)
    if place.exists() and not _is_ours(place):
        return None
    with coded_lines(path) as lines:
        try:
            with whole_file(place) as file:
                index = sqlite3.connect(file.name, isolation_level=None)
                index.executescript(f"PRAGMA journal_mode = OFF; PRAGMA synchronous = OFF; PRAGMA application_id = {_OURS};")
                make_index(index, lines, about)
                index.close()
        except (OSError, sqlite3.OperationalError):
            return None
    return _opened(path, about)


def _is_ours(place: Path) -> bool:
    try:
        index = sqlite3.connect(f"file:{quote(str(place.resolve()))}?mode=ro&immutable=1", uri=True)
        return bool(index.execute("PRAGMA application_id").fetchone()[0] == _OURS)
    except sqlite3.DatabaseError:
        return False
