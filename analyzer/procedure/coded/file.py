"""A file of coded records, behind its index: records by airport and by ident, decoded only when they are asked for.

The index of a small file is made in memory each time. That of a large one is kept beside the file, and made again when the file
has changed; where it cannot be kept, it is made in memory, too.
"""

from __future__ import annotations

import math
import sqlite3
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from urllib.parse import quote

from analyzer.errors import ProcedureError
from analyzer.procedure.coded.content import RECORD, coded_lines
from analyzer.procedure.coded.index import VERSION, make_index, numbers
from analyzer.temporary import whole_file

__all__ = ["CodedFile", "read_coded"]

_KEPT_BYTES = 1 << 20  # a smaller file is indexed sooner than its index is looked for
_SUFFIX = ".approach-index"
_OURS = 0x41504958  # written into the index, so that no other file of that name is taken for it, or written over
_DEGREE_NM = 60.0


@dataclass(frozen=True, eq=False)
class CodedFile:
    """Coded records. `cycle` is the file's, by its header, None where that does not say."""

    name: str
    path: Path
    index: sqlite3.Connection

    @cached_property
    def cycle(self) -> str | None:
        """The cycle of the file, by its header."""
        found = self._asked("SELECT value FROM about WHERE key = 'cycle'")
        return str(found[0][0]) if found else None

    @cached_property
    def airports(self) -> tuple[str, ...]:
        """The idents of all airports, in order."""
        return tuple(str(ident) for (ident,) in self._asked("SELECT ident FROM airports ORDER BY ident"))

    def holds(self, airport: str) -> bool:
        """Whether an airport has records."""
        return bool(self._asked("SELECT 1 FROM airports WHERE ident = ?", airport))

    def of_airport(self, airport: str) -> list[tuple[int, str]]:
        """The records of an airport, each with its line."""
        return list(_unpacked(self._asked("SELECT lines, records FROM airports WHERE ident = ?", airport)))

    def of_ident(self, section: str, ident: str) -> list[tuple[int, str]]:
        """The records of enroute navaids and waypoints of a section and an ident, each with its line."""
        return list(_unpacked(self._asked("SELECT lines, records FROM fixes WHERE section = ? AND ident = ?", section, ident)))

    def damaged_of(self, airport: str) -> tuple[int, ...]:
        """The lines that are no records of 132 columns, and may be an airport's."""
        return tuple(number for (number,) in self._asked("SELECT line FROM damaged WHERE ident = ?", airport))

    def with_reversals(self) -> list[tuple[str, int]]:
        """The airports that have approaches with a reversal, each with their number."""
        return list(self._asked("SELECT airport, count(DISTINCT approach) FROM reversals GROUP BY airport ORDER BY airport"))

    def near(self, latitude_deg: float, longitude_deg: float, radius_nm: float) -> list[tuple[str, str]]:
        """The approaches whose reversal begins within a square about a place, by airport and ident."""
        north = radius_nm / _DEGREE_NM
        east = min(north / max(math.cos(math.radians(latitude_deg)), 1e-3), 180.0)
        found: list[tuple[str, str]] = []
        for turned in (-360.0, 0.0, 360.0):
            found += self._asked(
                "SELECT DISTINCT airport, approach FROM reversals WHERE latitude BETWEEN ? AND ? AND longitude BETWEEN ? AND ?",
                latitude_deg - north,
                latitude_deg + north,
                longitude_deg + turned - east,
                longitude_deg + turned + east,
            )
        return sorted(set(found))

    def _asked(self, query: str, *values: str | float) -> Sequence[tuple]:  # type: ignore[type-arg]
        try:
            return self.index.execute(query, values).fetchall()
        except sqlite3.DatabaseError as error:
            place = index_path(self.path)
            raise ProcedureError(f"{place}: the index is damaged: {error}; delete it, and it is made again") from None


def _unpacked(found: Sequence[tuple[bytes, bytes]]) -> Iterator[tuple[int, str]]:
    for lines, records in found:
        for k, number in enumerate(numbers(lines)):
            yield number, records[k * RECORD : (k + 1) * RECORD].decode("latin-1")


def index_path(path: Path) -> Path:
    """Where the index of a file is kept."""
    return path.with_name(path.name + _SUFFIX)


def read_coded(path: Path) -> CodedFile:
    """The file at `path`, with its index. Raises `ProcedureError`."""
    about = _state(path)
    kept = about is not None and int(about["size"]) >= _KEPT_BYTES
    if kept and about is not None:
        found = _opened(path, about) or _made_beside(path, about)
        if found is not None:
            return CodedFile(path.name, path, found)
    index = sqlite3.connect(":memory:", check_same_thread=False)  # as below
    with coded_lines(path) as lines:
        make_index(index, lines, about or {})
    return CodedFile(path.name, path, index)


def _state(path: Path) -> dict[str, str] | None:
    """What tells that a file is still the same; None where it cannot be told, and reading it says why."""
    try:
        state = path.stat()
    except (OSError, ValueError):
        return None
    return {"size": str(state.st_size), "changed": str(state.st_mtime_ns)}


def _opened(path: Path, about: dict[str, str]) -> sqlite3.Connection | None:
    """The index beside a file, None where there is none of this file as it is, or of this version."""
    place = index_path(path)
    if not place.is_file():
        return None
    try:
        # only read, and never by two threads at once: a run with one worker opens it in one thread and reads it in another
        place_of = f"file:{quote(str(place.resolve()))}?mode=ro&immutable=1"
        index = sqlite3.connect(place_of, uri=True, check_same_thread=False)
        ours = index.execute("PRAGMA application_id").fetchone()[0] == _OURS
        told = dict(index.execute("SELECT key, value FROM about")) if ours else {}
    except sqlite3.DatabaseError:
        return None
    same = told.get("version") == str(VERSION) and all(told.get(key) == value for key, value in about.items())
    return index if same else None


def _made_beside(path: Path, about: dict[str, str]) -> sqlite3.Connection | None:
    """The index, made and kept beside its file; None where it cannot be kept there."""
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
