"""The folder of a desk: subfolders ("rooms") of plain files, to be read, copied, backed up or put under version control.

``logs/`` holds the logs as uploaded, each with a card named after it plus ``.toml``; ``procedures/`` holds the charts;
``briefs/`` and ``reports/`` hold output; ``classes/`` holds a folder for each class (see `analyzer.desk.class_files`). Removed
files are moved to ``taken-out/``, from which they can be restored; ``earlier/`` holds the previous versions of changed files
(see `analyzer.desk.changes`).

Nothing outside the folder is read or written: every name is a single safe part of a path, and links are not followed. A file is
written under a temporary name and renamed into place, so the folder is consistent at any instant and two desks can use it at
once. If both write the same file, the last one wins; a new file never replaces an existing one.
"""

from __future__ import annotations

import filecmp
import os
import shutil
import time
from collections.abc import Callable, Iterator
from contextlib import suppress
from pathlib import Path
from typing import IO, Literal, NewType, TypeAlias

from analyzer.desk.locked import locked
from analyzer.desk.names import checked_name, is_safe, numbered, safe_name
from analyzer.errors import DeskError
from analyzer.files import read_bounded
from analyzer.frozen import dataclass
from analyzer.temporary import BEGINNING, whole_file

__all__ = [
    "CARD", "CHART", "CLASSES", "EARLIER", "ROOMS", "SETTINGS", "AnyRoom", "ClassRoom", "Entry", "Room", "Store", "class_room",
    "open_store",
]  # fmt: skip

Room: TypeAlias = Literal["logs", "procedures", "briefs", "reports"]
ClassRoom = NewType("ClassRoom", str)  # the folder of a class, ``classes/NAME``, as `class_room` makes it
AnyRoom: TypeAlias = Room | ClassRoom
ROOMS: tuple[Room, ...] = ("logs", "procedures", "briefs", "reports")
CHART = ".toml"  # suffix of a chart; other files in ``procedures/`` hold coded ones
CARD = ".toml"  # suffix of a log's card, after the log's own
SETTINGS = "settings.toml"
CLASSES = "classes"  # each class has a folder there
EARLIER = "earlier"  # previous versions of changed files
_TAKEN_OUT, _WATCH_LIST = "taken-out", "watched.txt"
_STALE_S = 3600.0  # a temporary file older than this was left by a program that was killed
_LARGEST_TEXT = 1_000_000
_MOST_OF_A_NAME = 10_000


@dataclass(frozen=True)
class Entry:
    """A file in a room: its name, its size, and when it was last written. [ns since 1970]"""

    name: str
    size_bytes: int
    changed_ns: int


@dataclass(frozen=True)
class Store:
    """The folder; all access to its files goes through this class."""

    folder: Path

    def path(self, room: AnyRoom, name: str) -> Path:
        """The path of a file in a room, existing or not. Raises `DeskError` for an unsafe name or a link."""
        return self._at(room, checked_name(name))

    def there(self, room: AnyRoom, name: str) -> Path:
        """The path of an existing file. Raises `DeskError` if it is missing."""
        path = self.path(room, name)
        if not path.is_file():
            raise DeskError(f"{room}/{name}: no such file in {self.folder}; it may have been renamed or removed")
        return path

    @property
    def settings(self) -> Path:
        """The settings file."""
        return self._at("", SETTINGS)

    @property
    def watch_list(self) -> Path:
        """The file that records what is known of the watched folder."""
        return self._at("", _WATCH_LIST)

    def entries(self, room: AnyRoom) -> Iterator[Entry]:
        """The regular files of a room with safe names, in no particular order."""
        with os.scandir(self.folder / room) as found:
            for one in found:
                if one.name.startswith(".") or not is_safe(one.name) or not one.is_file(follow_symlinks=False):
                    continue
                with suppress(FileNotFoundError):  # removed by another desk since the listing
                    about = one.stat(follow_symlinks=False)
                    yield Entry(one.name, about.st_size, about.st_mtime_ns)

    def text(self, path: Path) -> str | None:
        """The text of a small file, or None if it does not exist. Raises `DeskError`."""
        content = self.content(path)
        return None if content is None else content.decode("utf-8", errors="replace")

    def content(self, path: Path) -> bytes | None:
        """The content of a small file, or None if it does not exist. Raises `DeskError`."""
        try:
            content = read_bounded(path, _LARGEST_TEXT)
        except FileNotFoundError:
            return None
        except OSError as error:
            raise DeskError(f"{path}: cannot be read: {error.strerror}; check the permissions of the folder") from error
        if len(content) > _LARGEST_TEXT:
            raise DeskError(f"{path}: over {_LARGEST_TEXT:,} bytes, too long for a file of this kind")
        return content

    def write(self, path: Path, content: bytes) -> None:
        """Write a file atomically, replacing any existing one. Raises `DeskError`."""
        try:
            with whole_file(path) as file:
                file.write(content)
        except OSError as error:
            raise DeskError(
                f"{path}: cannot be written: {error.strerror}; check the permissions and the free space of the disk"
            ) from error

    def add(self, room: AnyRoom, name: str, content: bytes) -> str:
        """Write a new file, with a number in its name if the name is taken. Returns the name. Raises `DeskError`."""
        return self.keep(room, name, lambda file: file.write(content))

    def keep(self, room: AnyRoom, name: str, fill: Callable[[IO[bytes]], object]) -> str:
        """Add a new file whose content `fill` writes; see `add`."""
        temporary = self._at(room, "", hidden=True)
        try:
            with temporary.open("xb") as file:
                fill(file)
            return self.settle(room, name, temporary)
        except OSError as error:
            raise DeskError(f"{room}/{name}: cannot be written: {error.strerror}; check the free space of the disk") from error
        finally:
            temporary.unlink(missing_ok=True)

    def unsettled(self, room: AnyRoom) -> Path:
        """A temporary path for a file that `settle` will name; leftovers are removed at a later start."""
        return self._at(room, "", hidden=True)

    def holds(self, room: AnyRoom, name: str, temporary: Path) -> bool:
        """Whether a file of that name exists and has the same content as a temporary one."""
        path = self.path(room, safe_name(name))
        return path.is_file() and filecmp.cmp(path, temporary, shallow=False)

    def settle(self, room: AnyRoom, name: str, temporary: Path) -> str:
        """Rename a temporary file to its name, numbered if that is taken. Returns the name. Raises `OSError`."""
        name = safe_name(name)
        for tried in _names_like(name):
            if room == "logs" and self.path(room, tried + CARD).exists() and not self.path(room, tried).exists():
                continue  # a card whose log was moved by hand, or only half moved: it belongs to another log
            if _moved_anew(temporary, self.path(room, tried)):
                return tried
        raise DeskError(f"{room}/{name}: there are {_MOST_OF_A_NAME:,} files of that name; give it another")

    def take_out(self, room: AnyRoom, name: str) -> str:
        """Remove a file, and the card of a log, from the room. Returns the name under which it can be restored.

        The log is moved first, atomically. If the program is killed then, the card stays behind and fits the log once restored.
        """
        out = self.folder / _TAKEN_OUT / room
        self._check_ours(out)
        with locked(self.folder):
            path = self.there(room, name)
            out.mkdir(parents=True, exist_ok=True)
            tried = _free_name(out, name)
            path.rename(out / tried)
            self._move_card(room, path, out / tried)
        return tried

    def bring_back(self, room: AnyRoom, name: str) -> str:
        """Restore a removed file. Returns its name, numbered if another file took the name meanwhile."""
        path = self.folder / _TAKEN_OUT / room / checked_name(name)
        self._check_ours(path)
        with locked(self.folder):
            if not path.is_file():
                raise DeskError(f"{room}/{name}: no removed file has that name")
            for tried in _names_like(name):
                if _moved_anew(path, self.path(room, tried)):
                    self._move_card(room, path, self.path(room, tried))
                    return tried
        raise DeskError(f"{name}: there are {_MOST_OF_A_NAME:,} files of that name")

    def taken_out(self, room: AnyRoom) -> list[str]:
        """The names of the files removed from a room, sorted."""
        place = self.folder / _TAKEN_OUT / room
        self._check_ours(place)
        if not place.is_dir():
            return []
        names = {entry.name for entry in place.iterdir() if is_safe(entry.name)}
        return sorted(name for name in names if not (room == "logs" and name.endswith(CARD)))

    def finish_moves(self) -> None:
        """Finish a restore that was interrupted: remove the second link of a file that has both its old and its new name."""
        with locked(self.folder):
            for room in ("logs", "procedures", "briefs"):
                place = self.folder / _TAKEN_OUT / room
                if place.is_symlink() or not place.is_dir():
                    continue
                twice = {one.stat().st_ino: one for one in place.iterdir() if one.is_file() and one.stat().st_nlink > 1}
                for path in (self.folder / room).iterdir() if twice else ():
                    other = twice.get(path.lstat().st_ino)
                    if other is not None and other.samefile(path):
                        other.unlink()
                        self._move_card(room, other, path)

    def earlier(self, change: str, room: str, name: str) -> Path:
        """The path of a file as it was before a change. Raises `DeskError` for an unsafe name or a link."""
        path = self.folder / EARLIER / change / room / checked_name(name)
        self._check_ours(path)
        return path

    def _move_card(self, room: str, path: Path, to: Path) -> None:
        card = path.with_name(path.name + CARD)
        if room == "logs" and card.is_file():
            card.replace(to.with_name(to.name + CARD))

    def _at(self, room: AnyRoom | Literal[""], name: str, *, hidden: bool = False) -> Path:
        path = self.folder / room / (f"{BEGINNING}{os.urandom(8).hex()}" if hidden else name)
        self._check_ours(path)
        return path

    def _check_ours(self, path: Path) -> None:
        """Raise `DeskError` if a path, or any folder between it and this one, is a link."""
        for place in (path, *path.parents):
            if place == self.folder:
                return
            if place.is_symlink():
                raise DeskError(f"{place}: a link, which may lead out of the folder; put the file itself there")
        raise DeskError(f"{path}: not in {self.folder}")


def class_room(name: str) -> ClassRoom:
    """The room of a class. Raises `DeskError` for an unsafe name."""
    return ClassRoom(f"{CLASSES}/{checked_name(name)}")


def open_store(folder: Path) -> Store:
    """The store in a folder, which is created if missing. Raises `DeskError`."""
    try:
        folder.mkdir(parents=True, exist_ok=True)
        store = Store(folder.resolve(strict=True))
        for room in ROOMS:
            place = store.folder / room
            if place.is_symlink():
                raise DeskError(f"{place}: a link, which may lead out of the folder; make a folder of it")
            place.mkdir(exist_ok=True)
            _clear(place)
        _clear(store.folder / EARLIER)
        for place in (store.folder / CLASSES).glob("*"):
            if not place.is_symlink():
                _clear(place)
        store.finish_moves()
    except FileExistsError as error:
        raise DeskError(f"{error.filename}: a file, not a folder; give another place for the desk") from error
    except OSError as error:
        raise DeskError(f"{error.filename or folder}: cannot be made: {error.strerror}; give another folder") from error
    return store


def _clear(place: Path) -> None:
    """Remove temporary files left by a killed program; those of a running one are younger."""
    for path in place.glob(f"{BEGINNING}*"):
        with suppress(OSError):
            if not path.is_symlink() and time.time() - path.stat().st_mtime > _STALE_S:
                shutil.rmtree(path) if path.is_dir() else path.unlink()


def _names_like(name: str) -> Iterator[str]:
    """The name itself, and then with a number, from 2 on."""
    yield name
    yield from (numbered(name, number) for number in range(2, _MOST_OF_A_NAME))


def _free_name(folder: Path, name: str) -> str:
    for tried in _names_like(name):
        if not (folder / tried).exists():
            return tried
    raise DeskError(f"{name}: there are {_MOST_OF_A_NAME:,} files of that name in {folder}")


def _moved_anew(path: Path, target: Path) -> bool:
    """Move a file unless the target exists, and return whether it was moved. Raises `OSError`.

    It uses a hard link, which fails if another desk was faster. On a file system without links it only checks first.
    """
    try:
        os.link(path, target)
    except FileExistsError:
        return False
    except OSError:
        if target.exists():
            return False
        path.replace(target)
        return True
    path.unlink()
    return True
