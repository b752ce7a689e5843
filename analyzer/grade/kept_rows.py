"""The rows that are kept: what an earlier run left, to be used again, and what this one makes, safe chunk by chunk.

In the output, ``rows`` holds the documents of all logs in order of their names, a line each, in parts of a thousand. While a
run goes on its chunks and parts are in ``unfinished``, each written whole; at the end the parts take their place in ``rows``.
Every file is in order in itself and every line tells what it was made by, so that the lines of several runs, finished or not,
can be used together.
"""

from __future__ import annotations

import heapq
import json
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from hashlib import sha256
from typing import Any

from analyzer.errors import GradeError
from analyzer.grade.output_folder import Folder
from analyzer.gradebook.roster import Entry
from analyzer.gradebook.settings import Settings
from analyzer.report.exports.write import dated_stem

__all__ = ["PART_LOGS", "Earlier", "Keeper", "kept_documents", "page_name", "sheet_key", "sheet_names"]

PART_LOGS = 1000
_ROWS, _UNFINISHED = "rows", "unfinished"
Json = dict[str, Any]


def page_name(log: str, start: str) -> str:
    """Where a log's own page is, below the output; `start` is when the log begins (RFC 3339)."""
    return f"pages/{_dated(log, start)}.html"


def sheet_names(log: str, start: str) -> tuple[str, str]:
    """Where the sheets of a log's student are, page and PDF, below the output."""
    return f"sheets/{_dated(log, start)}.html", f"sheets/{_dated(log, start)}.pdf"


def _dated(log: str, start: str) -> str:
    """A log as reports of it are named, in the folder that it is in."""
    folder, slash, name = log.rpartition("/")
    return f"{folder}{slash}{dated_stem(datetime.fromisoformat(start), name)}"


def sheet_key(settings: Settings, entry: Entry | None) -> str | None:
    """Stands for what a sheet follows from besides the row: the roster's words and the paper. None where none is asked for."""
    if settings.sheets is None:
        return None
    said = None if entry is None else [entry.pilot, str(entry.date), entry.aircraft, entry.remark]
    return sha256(json.dumps([settings.sheets, said]).encode()).hexdigest()[:12]


def kept_documents(folder: Folder) -> Iterator[tuple[str, Json]]:
    """The documents of a finished run in order, each with the name of the part that it is in.

    Raises
    ------
    GradeError
        A line is none that this program wrote.
    """
    for name in folder.names(_ROWS):
        for document, _ in _lines(folder, name):
            yield name, document


def _lines(folder: Folder, name: str) -> Iterator[tuple[Json, bytes]]:
    for line in folder.read(name).splitlines(keepends=True):
        try:
            document = json.loads(line)
        except ValueError as error:
            raise GradeError(f"{folder.place}/{name}: not rows of this program; take the file away") from error
        if not isinstance(document, dict) or not isinstance(document.get("file"), str):
            raise GradeError(f"{folder.place}/{name}: not rows of this program; take the file away")
        yield document, line


class Earlier:
    """What earlier runs left in a folder, asked for in order of the names of logs."""

    def __init__(self, folder: Folder, settings: Settings) -> None:
        self._folder, self._settings = folder, settings
        self._lines = self._merged()
        self._next = next(self._lines, None)

    def line(self, log: str, sheet: str | None = None) -> tuple[str, bytes] | None:
        """The digest and line that were kept of a log by the same settings, None where there is none. Names must rise.

        `sheet` is the key of its student's sheet, if one is asked for.
        """
        found = None
        while self._next is not None and self._next[0] <= log:
            name, document, line = self._next
            if name == log and found is None:
                found = self._usable(document, line, sheet)
            self._next = next(self._lines, None)
        return found

    def _usable(self, document: Json, line: bytes, sheet: str | None) -> tuple[str, bytes] | None:
        digest, settings = document.get("sha256"), self._settings
        if document.get("made_by") != settings.fingerprint or not isinstance(digest, str):
            return None
        log, start = document["file"], document.get("start")
        has_page = bool(document["page"]) and start is not None and self._folder.exists(page_name(log, start))
        if settings.pages and (document["approaches"] or document["holds"]) and not has_page:
            return None
        has_sheet = document["sheet"] == sheet and start is not None and all(map(self._folder.exists, sheet_names(log, start)))
        if sheet is not None and document["procedure"] is not None and not has_sheet:
            return None
        page, kept = document["page"] and settings.pages, document["sheet"] if sheet is not None else None
        if (page, kept) != (document["page"], document["sheet"]):  # the same as if it had been made without
            line = json.dumps({**document, "page": page, "sheet": kept}, separators=(",", ":")).encode() + b"\n"
        return digest, line

    def _merged(self) -> Iterator[tuple[str, Json, bytes]]:
        """All lines in order of the names, with no more files in memory than overlap there."""
        files = [name for below in (_ROWS, _UNFINISHED) for name in self._folder.names(below)]
        begins = sorted((first, name) for name in files if (first := self._first(name)) is not None)
        heap: list[tuple[str, int, Json, bytes, Iterator[tuple[Json, bytes]]]] = []
        waiting = iter([*enumerate(begins), (len(begins), None)])
        number, upcoming = next(waiting)
        while heap or upcoming is not None:
            while upcoming is not None and (not heap or upcoming[0] <= heap[0][0]):
                lines = _lines(self._folder, upcoming[1])
                document, line = next(lines)
                heapq.heappush(heap, (document["file"], number, document, line, lines))
                number, upcoming = next(waiting)
            name, rank, document, line, lines = heapq.heappop(heap)
            yield name, document, line
            following = next(lines, None)
            if following is not None:
                heapq.heappush(heap, (following[0]["file"], rank, *following, lines))

    def _first(self, name: str) -> str | None:
        return next((str(document["file"]) for document, _ in _lines(self._folder, name)), None)


@dataclass
class Keeper:
    """Keeps what a run makes: chunks as they come, in parts as soon as they are in order."""

    folder: Folder
    _waiting: dict[int, tuple[Sequence[bytes], str | None]] = field(default_factory=dict)
    _next: int = 0
    _open: list[bytes] = field(default_factory=list)
    _chunks: list[tuple[int, str]] = field(default_factory=list)  # of the open lines: how many remain, and their file
    _parts: list[str] = field(default_factory=list)

    def keep(self, number: int, lines: Sequence[bytes], *, new: bool, pages: Mapping[str, bytes]) -> None:
        """Keep a chunk: its lines in order, whether any is new, and pages and sheets by name, which come first."""
        for name, content in pages.items():
            self.folder.write(name, content)
        file = None
        if new:
            file = self._write("chunk", lines)
        self._waiting[number] = lines, file
        while self._next in self._waiting:
            ready, written = self._waiting.pop(self._next)
            self._next += 1
            self._open += ready
            self._chunks.append((len(ready), written or ""))
            while len(self._open) >= PART_LOGS:
                self._close_part(PART_LOGS)

    def _write(self, kind: str, lines: Sequence[bytes]) -> str:
        content = b"".join(lines)
        name = f"{_UNFINISHED}/{kind}-{sha256(content).hexdigest()[:24]}.jsonl"
        self.folder.write(name, content)
        return name

    def _close_part(self, size: int) -> None:
        self._parts.append(self._write("part", self._open[:size]))
        del self._open[:size]
        while size and self._chunks:
            count, file = self._chunks[0]
            if count > size:
                self._chunks[0] = count - size, file
                return
            size -= count
            del self._chunks[0]
            if file:
                self.folder.delete(file)

    def finish(self) -> None:
        """Put the parts in their place, and take away what is left of earlier runs."""
        if self._open:
            self._close_part(len(self._open))
        names = [f"{_ROWS}/part-{number:05d}.jsonl" for number in range(len(self._parts))]
        for part, name in zip(self._parts, names, strict=True):
            self.folder.move(part, name)
        for name in (*self.folder.names(_UNFINISHED), *self.folder.names(_ROWS)):
            if name not in names:
                self.folder.delete(name)
