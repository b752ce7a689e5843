"""The logs to grade: files below a folder with the suffix of a log, or those that match a pattern, in order of their names.

A place is a path, or an address that the package `fsspec` understands, like ``memory://class`` (extra ``cluster``). Names are
paths below the folder, with ``/``. Logs are listed one by one; only the entries of the folders on the path to the current one
are in memory.
"""

from __future__ import annotations

import glob
import os
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from analyzer.errors import GradeError
from analyzer.grade.addresses import file_system, is_address

__all__ = ["LOG_SUFFIXES", "LogFile", "find_logs", "skipped"]

LOG_SUFFIXES = (".csv", ".dat", ".geojson", ".gpx", ".igc", ".kml", ".log", ".nmea", ".tsv", ".txt")
_PACKED = ".gz"
_MAGIC = "*?["


@dataclass(frozen=True)
class LogFile:
    """A log to grade: its name in rows, its address, its size (None for a folder), and whether it links elsewhere."""

    name: str
    address: str
    size_bytes: int | None
    leads_out: bool = False


@dataclass(frozen=True, slots=True)
class _Entry:
    name: str
    address: str
    is_folder: bool
    size_bytes: int
    is_link: bool = False


def find_logs(place: str, leave_out: frozenset[str] = frozenset()) -> Iterator[LogFile]:
    """The logs of a folder and the folders in it, or of a glob pattern, sorted by name.

    `leave_out` has the real paths of files and folders that are not logs, such as the roster and the output. Hidden files are
    left out, and links to folders are not followed. A folder named like a log is listed without a size.

    Raises
    ------
    GradeError
        The folder does not exist or cannot be read.
    """
    if any(letter in place for letter in _MAGIC) and not Path(place).is_dir():
        yield from _fitting(place, leave_out)
        return
    if not is_address(place) and not Path(place).is_dir():
        fault = "a file, not a folder" if Path(place).exists() else "no such folder"
        raise GradeError(f"{place}: {fault}; give the folder with the logs, or a pattern in quotes like 'logs/*.csv'")
    for entry in _below(place, "", leave_out):
        if _is_log(entry.name):
            leads_out = entry.is_link and _leads_out(entry.address, place)
            yield LogFile(entry.name, entry.address, None if entry.is_folder else entry.size_bytes, leads_out)


def _leads_out(path: str, folder: str) -> bool:
    """Whether a link leads to a file outside a folder."""
    return not Path(path).resolve().is_relative_to(Path(folder).resolve())


def skipped(place: str, leave_out: frozenset[str] = frozenset()) -> tuple[int, str | None]:
    """The number of files in a folder whose names are not those of logs, and the first of them; none for a pattern."""
    if any(letter in place for letter in _MAGIC) and not Path(place).is_dir():
        return 0, None
    count, first = 0, None
    for entry in _below(place, "", leave_out):
        if not entry.is_folder and not _is_log(entry.name):
            count, first = count + 1, first or entry.name
    return count, first


def _is_log(name: str) -> bool:
    return name.lower().removesuffix(_PACKED).endswith(LOG_SUFFIXES)


def _fitting(pattern: str, leave_out: frozenset[str]) -> Iterator[LogFile]:
    """The matches of a pattern, with any suffix; names are below the longest folder that the pattern spells out."""
    if is_address(pattern):
        system, path = file_system(pattern)
        matches = sorted(system.glob(path))
        scheme = pattern.partition("://")[0]
        at = [(f"{scheme}://{name.lstrip('/') if scheme != 'file' else name}", system.info(name)) for name in matches]
        root = _fixed_part(path.lstrip("/"))
        for (address, info), name in zip(at, matches, strict=True):
            yield LogFile(name.lstrip("/").removeprefix(root), address, None if info["type"] == "directory" else info["size"])
        return
    root = _fixed_part(pattern)
    for path in sorted(glob.glob(pattern, recursive=True)):  # noqa: PTH207 (keeps the pattern's own spelling)
        if os.path.realpath(path) not in leave_out:
            size = None if os.path.isdir(path) else os.path.getsize(path) if os.path.exists(path) else 0  # noqa: PTH112, PTH110, PTH202
            yield LogFile(path.removeprefix(root).replace(os.sep, "/"), path, size)


def _fixed_part(pattern: str) -> str:
    """The pattern up to the last slash before its first wildcard."""
    fixed = pattern[: min(pattern.index(letter) for letter in _MAGIC if letter in pattern)]
    return fixed[: fixed.rfind("/") + 1]


def _below(folder: str, prefix: str, leave_out: frozenset[str]) -> Iterator[_Entry]:
    """Everything below a folder in order of the full names, without the contents of folders named like a log."""
    entries = _entries(folder, prefix)
    real = folder if is_address(folder) else os.path.realpath(folder)
    for entry in sorted(entries, key=lambda entry: f"{entry.name}/" if entry.is_folder else entry.name):
        bare = entry.name.rpartition("/")[2]
        if bare.startswith(".") or os.path.join(real, bare) in leave_out:  # noqa: PTH118 (text, a million times)
            continue
        if not entry.is_folder or _is_log(entry.name):
            yield entry
        else:
            yield from _below(entry.address, f"{entry.name}/", leave_out)


def _entries(folder: str, prefix: str) -> list[_Entry]:
    if is_address(folder):
        system, path = file_system(folder)
        scheme = folder.partition("://")[0]
        listed = system.ls(path, detail=True)
        return [
            _Entry(
                prefix + info["name"].rstrip("/").rpartition("/")[2],
                f"{scheme}://{info['name'] if scheme == 'file' else info['name'].lstrip('/')}",
                info["type"] == "directory",
                info["size"] or 0,
            )
            for info in listed
        ]
    try:
        with os.scandir(folder) as entries:
            return [
                _Entry(prefix + e.name, e.path, e.is_dir(), 0 if e.is_dir() else _size(e), e.is_symlink())
                for e in entries
                if not (e.is_symlink() and e.is_dir())  # links to folders may form a cycle
            ]
    except OSError as error:
        raise GradeError(f"{folder}: cannot be read: {error.strerror}; check the name and the permissions") from error


def _size(entry: os.DirEntry[str]) -> int:
    try:
        return entry.stat().st_size
    except OSError:  # a broken link, or deleted since: reading it will report that
        return 0
