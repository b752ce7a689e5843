"""Saved rows: those of earlier runs, which are reused, and those of this run, saved chunk by chunk.

In the output, ``rows`` has the documents of all logs in order of their names, one line each, in parts of a thousand. During a
run its chunks and parts are in ``unfinished``, each written whole; at the end the parts are moved to ``rows``. Every file is
sorted and every line names the settings that it was made by, so that the lines of several runs, finished or not, can be merged.
"""

from __future__ import annotations

import heapq
import json
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from hashlib import sha256
from itertools import groupby
from operator import itemgetter
from typing import Any

from analyzer.errors import GradeError
from analyzer.grade.output_folder import Folder
from analyzer.gradebook.review import FlightReview
from analyzer.gradebook.roster import Entry
from analyzer.gradebook.settings import Settings
from analyzer.report.exports.write import dated_stem

__all__ = ["PART_LOGS", "Earlier", "Keeper", "kept_documents", "page_name", "present_documents", "sheet_key", "sheet_names"]

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


def sheet_key(settings: Settings, entry: Entry | None, review: FlightReview | None) -> str | None:
    """A key of what a sheet depends on besides the row: the roster's entry, what was said of the flight, and the paper.

    None without sheets.
    """
    if settings.sheets is None:
        return None
    words = None if entry is None else [entry.pilot, str(entry.date), entry.aircraft, entry.remark]
    said = [] if review is None else [review.key()]
    return sha256(json.dumps([settings.sheets, words, *said]).encode()).hexdigest()[:12]


def kept_documents(folder: Folder) -> Iterator[tuple[str, Json]]:
    """The documents of a finished run in order, each with the name of its part.

    Raises
    ------
    GradeError
        A line was not written by this program.
    """
    for name in folder.names(_ROWS):
        for document, _ in _lines(folder, name):
            yield name, document


def present_documents(folder: Folder, settings: Settings, given: Callable[[str], Json]) -> Iterator[tuple[Json, bool]]:
    """What is known of each log at any time, in order of the names, and whether it is current.

    It is by these settings and by what is `given` for the log besides, as its document has it: the key of its excuses, and what
    the roster names as flown. Rows of a run that is not finished count too. Raises `GradeError`, also where a run moves the
    rows meanwhile.
    """
    merged = ((document["file"], document) for document, _ in _merged(folder))
    for log, alike in groupby(merged, key=itemgetter(0)):
        now = {"made_by": settings.fingerprint, **given(log)}
        known = [(document, all(document.get(key) == value for key, value in now.items())) for _, document in alike]
        yield max(known, key=itemgetter(1))


def _lines(folder: Folder, name: str) -> Iterator[tuple[Json, bytes]]:
    for line in folder.read(name).splitlines(keepends=True):
        try:
            document = json.loads(line)
        except ValueError as error:
            raise GradeError(f"{folder.place}/{name}: not rows of this program; remove the file") from error
        if not isinstance(document, dict) or not isinstance(document.get("file"), str):
            raise GradeError(f"{folder.place}/{name}: not rows of this program; remove the file")
        yield document, line


class Earlier:
    """The rows of earlier runs in a folder, to be asked for in order of the names of logs."""

    def __init__(self, folder: Folder, settings: Settings) -> None:
        self._folder, self._settings = folder, settings
        self._lines = ((document["file"], document, line) for document, line in _merged(folder))
        self._next = next(self._lines, None)

    def line(
        self, log: str, sheet: str | None = None, flown_as: Sequence[str] = (), excuses: str | None = None
    ) -> tuple[str, bytes] | None:
        """The digest and line saved for a log by the same settings, or None. Successive names must be in ascending order.

        `sheet` is the key of its student's sheet, if sheets are wanted, `flown_as` what the roster names as flown, `excuses`
        the key of the excuses for its findings.
        """
        usable = None
        while self._next is not None and self._next[0] <= log:
            name, document, line = self._next
            if name == log and usable is None:
                usable = self._usable(document, line, sheet, flown_as) if document.get("excuses") == excuses else None
            self._next = next(self._lines, None)
        return usable

    def _usable(self, document: Json, line: bytes, sheet: str | None, flown_as: Sequence[str]) -> tuple[str, bytes] | None:
        digest, settings = document.get("sha256"), self._settings
        if document.get("made_by") != settings.fingerprint or not isinstance(digest, str):
            return None
        if document["flown_as"] != list(flown_as):
            return None
        log, start = document["file"], document.get("start")
        has_page = bool(document["page"]) and start is not None and self._folder.exists(page_name(log, start))
        if settings.pages and (document["approaches"] or document["holds"]) and not has_page:
            return None
        has_sheet = document["sheet"] == sheet and start is not None and all(map(self._folder.exists, sheet_names(log, start)))
        if sheet is not None and document["procedure"] is not None and not has_sheet:
            return None
        page, key = document["page"] and settings.pages, document["sheet"] if sheet is not None else None
        if (page, key) != (document["page"], document["sheet"]):  # as if it had been made without them
            line = json.dumps({**document, "page": page, "sheet": key}, separators=(",", ":")).encode() + b"\n"
        return digest, line


def _merged(folder: Folder) -> Iterator[tuple[Json, bytes]]:
    """All lines of all runs in order of the names, with only overlapping files in memory."""
    files = [name for below in (_ROWS, _UNFINISHED) for name in folder.names(below)]
    begins = sorted((first, name) for name in files if (first := _first(folder, name)) is not None)
    heap: list[tuple[str, int, Json, bytes, Iterator[tuple[Json, bytes]]]] = []
    waiting = iter([*enumerate(begins), (len(begins), None)])
    number, upcoming = next(waiting)
    while heap or upcoming is not None:
        while upcoming is not None and (not heap or upcoming[0] <= heap[0][0]):
            lines = _lines(folder, upcoming[1])
            document, line = next(lines)
            heapq.heappush(heap, (document["file"], number, document, line, lines))
            number, upcoming = next(waiting)
        _, rank, document, line, lines = heapq.heappop(heap)
        yield document, line
        following = next(lines, None)
        if following is not None:
            heapq.heappush(heap, (following[0]["file"], rank, *following, lines))


def _first(folder: Folder, name: str) -> str | None:
    return next((str(document["file"]) for document, _ in _lines(folder, name)), None)


@dataclass
class Keeper:
    """Saves the results of a run: chunks as they come, and parts as soon as chunks are in order."""

    folder: Folder
    _waiting: dict[int, tuple[Sequence[bytes], str | None]] = field(default_factory=dict)
    _next: int = 0
    _open: list[bytes] = field(default_factory=list)
    _chunks: list[tuple[int, str]] = field(default_factory=list)  # for the open lines: how many remain, and their file
    _parts: list[str] = field(default_factory=list)

    def keep(self, number: int, lines: Sequence[bytes], *, new: bool, pages: Mapping[str, bytes]) -> None:
        """Save a chunk: its lines in order, whether any is new, and pages and sheets by name, which are written first."""
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
        """Move the parts into place, and remove the rows of earlier runs."""
        if self._open:
            self._close_part(len(self._open))
        names = [f"{_ROWS}/part-{number:05d}.jsonl" for number in range(len(self._parts))]
        for part, name in zip(self._parts, names, strict=True):
            self.folder.move(part, name)
        for name in (*self.folder.names(_UNFINISHED), *self.folder.names(_ROWS)):
            if name not in names:
                self.folder.delete(name)
