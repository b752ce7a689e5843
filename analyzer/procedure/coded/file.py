"""A file of coded records, indexed by one pass: where each airport's records begin, and each enroute navaid's and waypoint's.

Records are decoded only when they are asked for. What the pass finds are offsets in bytes, which can be kept beside the file.
"""

from __future__ import annotations

import io
import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path

from analyzer.procedure.coded.content import RECORD, coded_bytes
from analyzer.procedure.coded.fields import columns

__all__ = ["CodedFile", "read_coded"]


@dataclass(frozen=True, eq=False)
class CodedFile:
    """Coded records, by where they begin.

    `airports` holds the offsets of each airport's records, `fixes` those of navaids and waypoints by section and ident,
    `damaged` those of lines that are no records of 132 columns. `cycle` is the file's, by its header.
    """

    name: str
    content: bytes
    cycle: str | None
    airports: Mapping[str, tuple[int, ...]]
    fixes: Mapping[tuple[str, str], tuple[int, ...]]
    damaged: tuple[int, ...]

    def records(self, offsets: Iterable[int]) -> Iterator[tuple[int, str]]:
        """The records at some offsets, each with its own."""
        for offset in offsets:
            yield offset, self.content[offset : offset + RECORD].decode("latin-1")

    def line(self, offset: int) -> int:
        """The number of the line at an offset, counted from 1."""
        return self.content.count(b"\n", 0, offset) + 1

    def damaged_of(self, airport: str) -> tuple[int, ...]:
        """The offsets of damaged lines that may be an airport's."""
        return tuple(at for at in self.damaged if columns(self._head(at), 7, 10).strip() == airport)

    def _head(self, offset: int) -> str:
        return self.content[offset : offset + 10].decode("latin-1")


def read_coded(path: Path) -> CodedFile:
    """The file at `path`, indexed. Raises `ProcedureError`."""
    return _indexed(path.name, coded_bytes(path))


def _indexed(name: str, content: bytes) -> CodedFile:
    airports: dict[bytes, list[int]] = {}
    fixes: dict[tuple[bytes, bytes], list[int]] = {}
    damaged: list[int] = []
    cycle, offset = None, 0
    for line in io.BytesIO(content):
        at, offset = offset, offset + len(line)
        if line[:3] == b"HDR":
            cycle = cycle or _cycle_of(line)
        elif len(line.rstrip(b"\r\n")) != RECORD or line[:1] not in b"ST":
            if line.strip(b"\r\n\x00\x1a "):
                damaged.append(at)
        elif line[4] in b"PH":
            airports.setdefault(line[6:10], []).append(at)
        elif line[4:6] in (b"D ", b"DB", b"EA"):
            fixes.setdefault((line[4:6], line[13:18]), []).append(at)
    return CodedFile(
        name,
        content,
        cycle,
        {_text(key): tuple(found) for key, found in airports.items()},
        {(_text(section), _text(ident)): tuple(found) for (section, ident), found in fixes.items()},
        tuple(damaged),
    )


def _text(key: bytes) -> str:
    return key.decode("latin-1").strip()


def _cycle_of(header: bytes) -> str | None:
    """The cycle in the first header record, columns 36 to 39, like 2013 for the thirteenth of 2020 (from memory)."""
    text = header[35:39].decode("latin-1")
    return text if re.fullmatch(r"\d\d(0[1-9]|1[0-4])", text, re.ASCII) else None
