"""What was changed in the folder of a desk, each change with the files as they were, so that it can be undone.

A change is a folder below ``earlier/``, named by its instant: ``change.toml`` says what was done, and next to it lie the files
as they were before, under the names that they had. It is there before the files are written, so that a program that is killed
in between leaves the one or the other. A change is undone only where nothing has been written over it since; undoing is a
change of its own, and can be undone. They are kept for a month, and five hundred at most.
"""

from __future__ import annotations

import datetime as dt
import hashlib
import re
import shutil
from collections.abc import Iterator, Mapping, Sequence
from contextlib import suppress
from dataclasses import field
from pathlib import Path
from secrets import token_hex
from typing import TypeAlias
from urllib.parse import quote

from pydantic import Field

from analyzer.desk.locked import locked
from analyzer.desk.store import CARD, CLASSES, EARLIER, ROOMS, SETTINGS, AnyRoom, Store, class_room
from analyzer.desk.toml_text import toml_text
from analyzer.errors import DeskError
from analyzer.frozen import dataclass
from analyzer.temporary import BEGINNING
from analyzer.toml_files import Line, Table, checked, read_toml

__all__ = ["Change", "Place", "change_of", "changes_of", "make_change", "undo"]

Place: TypeAlias = tuple[AnyRoom, str] | tuple[str, str]  # a room and a name in it; the settings are in no room
_RECORD = "change.toml"
_KEPT_DAYS, _MOST = 30, 500
_ID = re.compile(r"\d{8}-\d{6}-\d{6}-[0-9a-f]{8}")
_HEAD = "What was changed, and next to it the files as they were before. It may be deleted; it is kept for a month."


class _File(Table):
    """A file of a change: its room and name, whether it was there before, and its digest afterwards, empty where it is gone."""

    room: Line = ""
    name: Line
    was_there: bool
    after: Line = ""


class _Record(Table):
    """``change.toml``."""

    words: Line
    files: list[_File] = Field(default_factory=list, max_length=20)


@dataclass(frozen=True)
class Change:
    """A change: its name, when it was made (UTC), what was done, the page that shows it, and whether it can be undone."""

    name: str
    at: dt.datetime
    words: str
    page: str
    can_be_undone: bool
    files: tuple[_File, ...] = field(repr=False, default=())


def make_change(store: Store, words: str, contents: Mapping[Place, bytes]) -> str:
    """Write files, and keep them as they were. The caller holds the folder. Returns the change's name, empty for none.

    Raises
    ------
    DeskError
        A file cannot be written.
    """
    before = {place: _content(store, place) for place in contents}
    different = {place: content for place, content in contents.items() if before[place] != content}
    if not different:
        return ""
    files = [_File(room=room, name=name, was_there=before[room, name] is not None, after=_digest(content))
             for (room, name), content in different.items()]  # fmt: skip
    name = _keep(store, _Record(words=words, files=files), before)
    for place, content in different.items():
        store.write(_path(store, place), content)
    return name


def undo(folder: Path, name: str) -> tuple[str, str]:
    """Take a change back. Returns the page that shows it, and the name of the change that this is.

    Raises
    ------
    DeskError
        There is no such change, or something was written over it since.
    """
    store = Store(folder)
    with locked(folder):
        change = change_of(store, name)
        if not change.can_be_undone:
            raise DeskError(f"{change.words}: that was changed again since, which would be lost; undo the later change first")
        now = {(one.room, one.name): _content(store, (one.room, one.name)) for one in change.files}
        earlier = {place: store.content(store.earlier(name, *place)) for place in now}
        words = change.words.removeprefix("Undone: ") if change.words.startswith("Undone: ") else f"Undone: {change.words}"
        files = [_File(room=room, name=file, was_there=now[room, file] is not None, after=_digest(earlier[room, file]))
                 for room, file in now]  # fmt: skip
        made = _keep(store, _Record(words=words, files=files), now)
        for place, content in earlier.items():
            if content is None:
                _path(store, place).unlink(missing_ok=True)
            else:
                store.write(_path(store, place), content)
        return change.page, made


def change_of(store: Store, name: str) -> Change:
    """A change by its name. Raises `DeskError`."""
    place = store.folder / EARLIER / name
    if not _ID.fullmatch(name) or place.is_symlink() or not (place / _RECORD).is_file():
        raise DeskError(f"{name[:40]}: no such change; it may be older than a month")
    path = place / _RECORD
    record = checked(_Record, read_toml(path, "record of a change", DeskError), str(path), DeskError)
    for one in record.files:
        if (one.room, one.name) != ("", SETTINGS) and one.room not in ROOMS and not _class_of(one.room):
            raise DeskError(f"{path}: {one.room}/{one.name}: no file of a desk")
    can = all(_digest(_content(store, (one.room, one.name))) == one.after for one in record.files)
    at = dt.datetime.strptime(name[:22], "%Y%m%d-%H%M%S-%f").replace(tzinfo=dt.UTC)
    return Change(name, at, record.words, _page(record.files), can, tuple(record.files))


def changes_of(store: Store, most: int) -> Iterator[Change]:
    """The latest changes, the latest first; what cannot be read is left out."""
    for name in sorted(_names(store), reverse=True)[:most]:
        with suppress(DeskError):
            yield change_of(store, name)


def _page(files: Sequence[_File]) -> str:
    """The page that shows some files."""
    first = files[0] if files else _File(name=SETTINGS, was_there=True)
    if first.room == "logs":
        return f"/flights/{quote(first.name.removesuffix(CARD), safe='')}"
    if first.room == "briefs":
        return f"/briefs/kept/{quote(first.name, safe='')}"
    if _class_of(first.room):
        return f"/classes/{quote(_class_of(first.room), safe='')}"
    return f"/charts/saved/{quote(first.name, safe='')}" if first.room == "procedures" else "/settings"


def _class_of(room: str) -> str:
    """The class that a room is the folder of; empty for other rooms."""
    first, _, name = room.partition("/")
    return name if first == CLASSES else ""


def _names(store: Store) -> list[str]:
    place = store.folder / EARLIER
    if place.is_symlink() or not place.is_dir():
        return []
    return [one.name for one in place.iterdir() if _ID.fullmatch(one.name)]


def _keep(store: Store, record: _Record, before: Mapping[Place, bytes | None]) -> str:
    """Write the record of a change, whole, under its name."""
    place = store.folder / EARLIER
    if place.is_symlink():
        raise DeskError(f"{place}: a link, which may lead out of the folder; make a folder of it")
    name = f"{dt.datetime.now(tz=dt.UTC):%Y%m%d-%H%M%S-%f}-{token_hex(4)}"
    half = place / f"{BEGINNING}{token_hex(6)}"
    try:
        half.mkdir(parents=True)
        for one in record.files:
            content = before[one.room, one.name]
            if content is not None:
                (half / one.room).mkdir(parents=True, exist_ok=True)
                (half / one.room / one.name).write_bytes(content)
        (half / _RECORD).write_text(toml_text(record.model_dump(), _HEAD), encoding="utf-8")
        half.rename(place / name)
    except OSError as error:
        raise DeskError(f"{place}: cannot be written: {error.strerror}; check the rights and the room of the disk") from error
    finally:
        shutil.rmtree(half, ignore_errors=True)
    _thin_out(place, sorted(_names(store)))
    return name


def _thin_out(place: Path, names: list[str]) -> None:
    """Take away what is older than it is kept, and the oldest of too many."""
    first = f"{dt.datetime.now(tz=dt.UTC) - dt.timedelta(days=_KEPT_DAYS):%Y%m%d}"
    for number, name in enumerate(names):
        if name >= first and len(names) - number <= _MOST:
            break
        shutil.rmtree(place / name, ignore_errors=True)


def _path(store: Store, place: Place) -> Path:
    room, name = place
    for one in ROOMS:
        if room == one:
            return store.path(one, name)
    return store.path(class_room(_class_of(room)), name) if _class_of(room) else store.settings


def _content(store: Store, place: Place) -> bytes | None:
    return store.content(_path(store, place))


def _digest(content: bytes | None) -> str:
    return "" if content is None else hashlib.sha256(content).hexdigest()
