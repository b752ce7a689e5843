"""A folder that a simulator or tablet writes into: its new logs are copied into the desk's, and nothing in it is changed.

Files are read where they lie, in that folder itself and in none below it; links are not followed. A file that is still written
is waited for: it is taken in once it has been left alone for a while. Where it goes on afterwards, the log that it became
goes on too, as long as that is how it begins.
"""

from __future__ import annotations

import os
import stat
import time
from collections.abc import Iterator, Mapping
from contextlib import suppress
from dataclasses import replace
from pathlib import Path
from typing import IO

from analyzer.desk.asked import Seen, Watched
from analyzer.desk.bodies import UPLOAD_BYTES
from analyzer.desk.cards import LIMITS, read_settings, settings_file
from analyzer.desk.changes import make_change
from analyzer.desk.locked import locked
from analyzer.desk.names import safe_name
from analyzer.desk.store import CARD, Store
from analyzer.desk.watch_list import Known, WatchList, read_watch_list, write_watch_list
from analyzer.errors import DeskError, LogError
from analyzer.frozen import dataclass
from analyzer.grade.logs import LOG_SUFFIXES
from analyzer.safe_text import plain_line
from analyzer.track.formats import read_table
from analyzer.track.options import ReadOptions
from analyzer.track.source import read_source

__all__ = ["look_for_logs", "watch"]

_QUIET_S = 20.0  # a file that was left alone for so long is not being written
_MOST_FILES = 5000  # of a folder that is watched
_AT_ONCE = 20  # taken in at one look
_PACKED = (".gz", ".zip")
_PIECE = 2**20
_NO_LINK = getattr(os, "O_NOFOLLOW", 0) | getattr(os, "O_BINARY", 0) | getattr(os, "O_NONBLOCK", 0)


def watch(folder: str, place: str, already: bool) -> str:
    """Watch a folder from now on, none where `place` is empty. Returns the name of the change.

    The files that are there already are passed over, or with `already` taken in too.

    Raises
    ------
    DeskError
        It is no folder, or one that has to do with the desk's own.
    """
    store = Store(Path(folder))
    path = Path(place.strip()).expanduser() if place.strip() else None
    if path is not None:
        path = _checked(path, store.folder)
    with locked(store.folder):
        files = settings_file(read_settings(store).model_copy(update={"watched": str(path or "")}))
        known = {name: Known(*stamp) for name, stamp in _files(path)} if path is not None and not already else {}
        write_watch_list(store, WatchList(str(path or ""), known))
        return make_change(store, f"Folder that is watched: {path or 'none'}", files)


def look_for_logs(folder: str, before: Mapping[str, Seen]) -> Watched:
    """Look at the folder that is watched, if any; `before` is how its files were at the look before."""
    store = Store(Path(folder))
    place = read_settings(store).watched
    if not place:
        return Watched()
    try:
        path = _checked(Path(place), store.folder)
        found = dict(_files(path))
    except (DeskError, OSError) as error:
        said = str(error) if isinstance(error, DeskError) else f"{place}: cannot be read: {error.strerror}"
        return Watched(place, f"The folder that is watched is not there: {said}.", gone=True)
    kept = read_watch_list(store)
    if kept.folder != str(path):  # set by hand in the settings: what is there now is not new
        with locked(store.folder):
            write_watch_list(store, WatchList(str(path), {name: Known(*stamp) for name, stamp in found.items()}))
        return Watched(place, f"Watching {place}.")
    fresh = {name: stamp for name, stamp in found.items() if name not in kept.files or kept.files[name].stamp != stamp}
    now = {name: _seen(before.get(name), stamp) for name, stamp in fresh.items()}
    ready = [name for name in sorted(fresh) if _left_alone(before.get(name), now[name])][:_AT_ONCE]
    looked = [_taken_in(store, path, name, fresh[name]) for name in ready]
    waiting = len(fresh) - len(ready)
    return Watched(
        place,
        " ".join([f"Watching {place}.", *([f"{waiting} still being written."] if waiting else []),
                  *(one.said for one in looked if one.said)]),
        tuple(one.log for one in looked if one.log),
        now,
    )  # fmt: skip


@dataclass(frozen=True)
class _Looked:
    """A file that was looked at: the log that it became, and what is said of one that became none."""

    log: str = ""
    said: str = ""


def _checked(path: Path, own: Path) -> Path:
    """A folder that can be watched, by its real path. Raises `DeskError`."""
    try:
        real = path.resolve(strict=True)
    except (OSError, RuntimeError) as error:
        raise DeskError(f"{path}: no such folder; it may have been renamed or taken off") from error
    if not path.is_absolute():
        raise DeskError(f"{path}: give the whole path of the folder, from the root on")
    if not real.is_dir():
        raise DeskError(f"{path}: a file, not a folder")
    if real == own or own in real.parents or real in own.parents:
        raise DeskError(f"{path}: has to do with the desk's own folder; give one apart from it")
    return real


def _files(folder: Path) -> Iterator[tuple[str, tuple[int, int]]]:
    """The logs of a folder by their names, each with size and time of its last change [ns]. Raises `DeskError`, `OSError`."""
    count = 0
    with os.scandir(folder) as found:
        for one in found:
            if not _named_like_a_log(one.name) or not one.is_file(follow_symlinks=False):
                continue
            count += 1
            if count > _MOST_FILES:
                raise DeskError(f"{folder}: more than {_MOST_FILES:,} logs; put the older ones into another folder")
            with suppress(FileNotFoundError):
                about = one.stat(follow_symlinks=False)
                if about.st_size:
                    yield one.name, (about.st_size, about.st_mtime_ns)


def _named_like_a_log(name: str) -> bool:
    packed = name.lower()
    for ending in _PACKED:
        packed = packed.removesuffix(ending)
    plain = not name.startswith((".", "~")) and plain_line(name) == name
    return plain and (packed.endswith(LOG_SUFFIXES) or packed != name.lower())


def _seen(before: Seen | None, stamp: tuple[int, int]) -> Seen:
    return before if before is not None and before.stamp == stamp else Seen(stamp, time.monotonic())


def _left_alone(before: Seen | None, now: Seen) -> bool:
    """Whether a file is as it was at the look before, and has been so for a while, by its own time or by ours."""
    if before is None or before.stamp != now.stamp:
        return False
    return time.time() - now.stamp[1] / 1e9 >= _QUIET_S or time.monotonic() - now.since_s >= _QUIET_S


def _taken_in(store: Store, folder: Path, name: str, stamp: tuple[int, int]) -> _Looked:
    """Take a file in, and remember that."""
    temporary = store.unsettled("logs")
    try:
        said = _copied(folder / name, temporary, stamp)
        with locked(store.folder):
            kept = read_watch_list(store)
            known = kept.files.get(name)
            if known is not None and known.stamp == stamp:  # another desk was faster
                return _Looked()
            log = "" if said else _settled(store, name, temporary, known)
            write_watch_list(
                store, replace(kept, files={**kept.files, name: Known(*stamp, log or (known.log if known else "-"))})
            )
        return _Looked(log, said)
    except _ChangedError:
        return _Looked()  # it is written again: the next look waits for it
    except OSError as error:
        return _Looked(said=f"{name} cannot be read: {error.strerror}.")
    finally:
        temporary.unlink(missing_ok=True)


class _ChangedError(Exception):
    """A file that was written to while it was copied."""


def _copied(source: Path, target: Path, stamp: tuple[int, int]) -> str:
    """Copy a file as it is known. Returns why it is no log to take in, empty where it is one. Raises `OSError`."""
    if stamp[0] > UPLOAD_BYTES:
        return f"{source.name} is larger than {UPLOAD_BYTES // 2**20} MiB and is left there."
    descriptor = os.open(source, os.O_RDONLY | _NO_LINK)
    with os.fdopen(descriptor, "rb") as file, target.open("xb") as copy:
        about = os.fstat(file.fileno())
        if not stat.S_ISREG(about.st_mode):
            raise _ChangedError
        _pieces(file, copy)
        about = os.fstat(file.fileno())
        if (about.st_size, about.st_mtime_ns) != stamp:
            raise _ChangedError
    try:
        read_table(read_source(target, source.name, LIMITS), source.name, ReadOptions(limits=LIMITS))
    except LogError as error:
        return f"{source.name} is no log that can be read and is left there: {error}"
    return ""


def _pieces(file: IO[bytes], copy: IO[bytes]) -> None:
    size = 0
    while piece := file.read(_PIECE):
        size += len(piece)
        if size > UPLOAD_BYTES:
            raise _ChangedError
        copy.write(piece)


def _settled(store: Store, name: str, temporary: Path, known: Known | None) -> str:
    """The log that a copy becomes: the one that goes on with it, the one that it is the same as, or a new one."""
    name = f"{name}.csv" if name.lower().endswith(CARD) else name
    if known is not None and known.log != "-":
        path = store.path("logs", known.log)
        if path.is_file() and _goes_on(path, temporary):
            temporary.replace(path)
            return known.log
    if store.holds("logs", name, temporary):
        return safe_name(name)
    return store.settle("logs", name, temporary)


def _goes_on(log: Path, copy: Path) -> bool:
    """Whether a file begins with all of another."""
    with log.open("rb") as one, copy.open("rb") as other:
        while piece := one.read(_PIECE):
            if other.read(len(piece)) != piece:
                return False
    return True
