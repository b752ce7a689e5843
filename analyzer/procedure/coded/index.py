"""The index of a file of coded records, built in one pass over its lines.

The table ``airports`` has the records of each airport, ``fixes`` those of en-route navaids and waypoints, both with line
numbers; ``reversals`` has the approaches with a course reversal and the position of its fix. Other records are ignored.
"""

from __future__ import annotations

import re
import sqlite3
import struct
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field

from analyzer.procedure.coded.content import RECORD
from analyzer.procedure.coded.facilities import facility
from analyzer.procedure.coded.fields import FieldError
from analyzer.procedure.coded.turns import Route, turns_back

__all__ = ["VERSION", "make_index", "numbers", "packed"]

VERSION = 1
_TABLES = """
CREATE TABLE about (key TEXT PRIMARY KEY, value TEXT) WITHOUT ROWID;
CREATE TABLE airports (ident TEXT PRIMARY KEY, lines BLOB, records BLOB) WITHOUT ROWID;
CREATE TABLE fixes (section TEXT, ident TEXT, lines BLOB, records BLOB, PRIMARY KEY (section, ident)) WITHOUT ROWID;
CREATE TABLE damaged (ident TEXT, line INTEGER);
CREATE TABLE reversals (airport TEXT, approach TEXT, latitude REAL, longitude REAL);
"""
_INDEX = "CREATE INDEX near ON reversals (latitude, longitude); CREATE INDEX of_airport ON reversals (airport);"
_ENROUTE = (b"D ", b"DB", b"EA")
_FACILITIES = b"CNGA"  # subsections of an airport whose records have a position


@dataclass(eq=False)
class _Pass:
    """The result of one pass over the lines: records by airport and by ident, each with its line number."""

    airports: dict[bytes, list[tuple[int, bytes]]] = field(default_factory=dict)
    fixes: dict[tuple[bytes, bytes], list[tuple[int, bytes]]] = field(default_factory=dict)
    damaged: list[tuple[bytes, int]] = field(default_factory=list)
    cycle: str | None = None

    def read(self, lines: Iterable[bytes]) -> None:
        airports, fixes = self.airports, self.fixes
        for number, line in enumerate(lines, 1):
            if line[:3] == b"HDR":
                self.cycle = self.cycle or _cycle_of(line)
                continue
            record = line.rstrip(b"\r\n")
            if len(record) != RECORD or record[:1] not in b"ST":
                if record.strip(b"\x00\x1a "):
                    self.damaged.append((record[6:10], number))
            elif record[4] in b"PH":
                airports.setdefault(record[6:10], []).append((number, record))
            elif record[4:6] in _ENROUTE:
                fixes.setdefault((record[4:6], record[13:18]), []).append((number, record))


def make_index(connection: sqlite3.Connection, lines: Iterable[bytes], about: dict[str, str]) -> None:
    """Fill an empty database with the index of some lines, and with the state of the file in `about`."""
    gathered = _Pass()
    gathered.read(lines)
    connection.executescript(_TABLES)
    metadata = {**about, "version": str(VERSION), **({"cycle": gathered.cycle} if gathered.cycle is not None else {})}
    with connection:
        connection.executemany("INSERT INTO about VALUES (?, ?)", metadata.items())
        connection.executemany(
            "INSERT OR REPLACE INTO airports VALUES (?, ?, ?)",
            ((_text(ident), *packed(records)) for ident, records in gathered.airports.items()),
        )
        connection.executemany(
            "INSERT OR REPLACE INTO fixes VALUES (?, ?, ?, ?)",
            ((_text(section), _text(ident), *packed(records)) for (section, ident), records in gathered.fixes.items()),
        )
        connection.executemany(
            "INSERT INTO damaged VALUES (?, ?)", ((_text(ident), number) for ident, number in gathered.damaged)
        )
        connection.executemany("INSERT INTO reversals VALUES (?, ?, ?, ?)", _reversals(gathered))
        connection.executescript(_INDEX)


def packed(records: list[tuple[int, bytes]]) -> tuple[bytes, bytes]:
    """Line numbers and their records, as two blobs."""
    return struct.pack(f"<{len(records)}I", *(number for number, _ in records)), b"".join(record for _, record in records)


def numbers(blob: bytes) -> tuple[int, ...]:
    """The line numbers in a blob."""
    return struct.unpack(f"<{len(blob) // 4}I", blob)


def _text(key: bytes) -> str:
    return key.decode("latin-1").strip()


def _cycle_of(header: bytes) -> str | None:
    """The cycle in the first header record, columns 36 to 39, like 2013 for the thirteenth of 2020 (from memory)."""
    text = header[35:39].decode("latin-1")
    return text if re.fullmatch(r"\d\d(0[1-9]|1[0-4])", text, re.ASCII) else None


def _reversals(gathered: _Pass) -> Iterator[tuple[str, str, float | None, float | None]]:
    """The approaches with a reversal, once for each fix of one, with its position if that is in the file."""
    for airport, airport_records in gathered.airports.items():
        routes: dict[tuple[bytes, bytes], Route] = {}
        own: dict[bytes, bytes] = {}
        for _, record in airport_records:
            subsection = record[5:6].strip() or record[12:13]
            if subsection == b"F" and record[38] in b"01 ":
                routes.setdefault((record[13:19], record[19:25]), []).append(record)
            elif subsection in _FACILITIES:
                own.setdefault(subsection + record[13:18], record)
        seen: set[tuple[bytes, bytes]] = set()
        for (approach, _), records in routes.items():
            fix = turns_back(records)
            if fix is None or (approach, fix) in seen:
                continue
            seen.add((approach, fix))
            yield (_text(airport), _text(approach), *_place(fix, own, gathered))


def _place(fix: bytes, own: dict[bytes, bytes], gathered: _Pass) -> tuple[float | None, float | None]:
    """Position of a fix, by its ident, region and section (columns 30 to 38 of a leg)."""
    ident, region, section = fix[:5], fix[5:7], fix[7:9]
    if section[:1] in b"PH":
        candidates = [own[section[1:] + ident]] if section[1:] + ident in own else []
    else:
        candidates = [one for _, one in gathered.fixes.get((section, ident), ()) if one[21] in b"01 "]
        candidates = [one for one in candidates if one[19:21] == region] or candidates
    for record in candidates:
        try:
            made = facility(record.decode("latin-1"))
        except FieldError:
            continue
        return made.latitude_deg, made.longitude_deg
    return None, None
