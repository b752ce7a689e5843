"""The folder that grades are written into, a path or an address: files that are there whole or not at all."""

from __future__ import annotations

import errno
import os
import shutil
import sys
import tempfile
from collections.abc import Iterator
from contextlib import AbstractContextManager, contextmanager, nullcontext, suppress
from pathlib import Path
from typing import IO, Any, Protocol

from analyzer.errors import GradeError
from analyzer.grade.addresses import file_system, is_address
from analyzer.report.exports.write import write_file
from analyzer.temporary import BEGINNING, whole_file

if sys.platform != "win32":
    import fcntl

__all__ = ["Folder", "open_folder"]

_FILE = "file://"


class Folder(Protocol):
    """A place for files by names with ``/``."""

    place: str

    def held(self) -> AbstractContextManager[None]:
        """Hold the folder for one run, where it can be held: two would take each other's unfinished files away.

        Raises
        ------
        GradeError
            Another run holds it, or it cannot be made.
        """

    def names(self, below: str) -> tuple[str, ...]:
        """The files right in one of its folders, in order; none where there is no such folder."""

    def exists(self, name: str) -> bool:
        """Whether a file is there."""

    def read(self, name: str) -> bytes:
        """A file's content."""

    def write(self, name: str, content: bytes) -> None:
        """Write a file whole."""

    def writing(self, name: str) -> AbstractContextManager[IO[bytes]]:
        """A file to write in pieces; it is there when all is written, and not at all where that fails."""

    def move(self, name: str, to: str) -> None:
        """Give a file another name, in place of what has it."""

    def delete(self, name: str) -> None:
        """Delete a file."""


class _LocalFolder:
    """A folder by its path."""

    def __init__(self, path: Path) -> None:
        self.place = str(path)
        self._path = path

    @contextmanager
    def held(self) -> Iterator[None]:
        """See `Folder`. The system lets go of it however the run ends; Windows does not know how to hold a folder."""
        if sys.platform == "win32":
            yield
            return
        new = not self._path.is_dir()
        try:
            self._path.mkdir(parents=True, exist_ok=True)
            descriptor = os.open(self._path, os.O_RDONLY)
        except OSError as error:
            raise self._not_written(self._path, error) from error
        try:
            _hold(descriptor, self._path)
            yield
        finally:
            if new:
                with suppress(OSError):  # not empty
                    self._path.rmdir()
            os.close(descriptor)

    def names(self, below: str) -> tuple[str, ...]:
        folder = self._path / below
        if not folder.is_dir():
            return ()
        return tuple(sorted(f"{below}/{e.name}" for e in folder.iterdir() if e.is_file() and not e.name.startswith(".")))

    def exists(self, name: str) -> bool:
        return (self._path / name).is_file()

    def read(self, name: str) -> bytes:
        try:
            return (self._path / name).read_bytes()
        except OSError as error:
            raise GradeError(f"{self._path / name}: cannot be read: {error.strerror}; check the rights") from error

    def write(self, name: str, content: bytes) -> None:
        write_file(self._path / name, content)

    @contextmanager
    def writing(self, name: str) -> Iterator[IO[bytes]]:
        target = self._path / name
        try:
            with whole_file(target) as file:
                yield file
        except OSError as error:
            raise self._not_written(target, error) from error

    def move(self, name: str, to: str) -> None:
        target = self._path / to
        try:
            target.parent.mkdir(parents=True, exist_ok=True)
            (self._path / name).replace(target)
            self._tidy(self._path / name)
        except OSError as error:
            raise self._not_written(target, error) from error

    def delete(self, name: str) -> None:
        (self._path / name).unlink(missing_ok=True)
        self._tidy(self._path / name)

    def _not_written(self, target: Path, error: OSError) -> GradeError:
        return GradeError(f"{target}: cannot be written: {error.strerror}; choose another place with -o")

    def _tidy(self, gone: Path) -> None:
        """Take away the folder that a file was in, where it was the last; what a run that was killed left half written goes."""
        folder = gone.parent
        if folder != self._path and folder.is_dir() and all(entry.name.startswith(BEGINNING) for entry in folder.iterdir()):
            for half in tuple(folder.iterdir()):
                half.unlink()
            folder.rmdir()


def _hold(descriptor: int, path: Path) -> None:
    """Take the lock of a folder. A file system without locks is used without one."""
    if sys.platform == "win32":
        return
    try:
        fcntl.flock(descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError as error:
        if error.errno in (errno.EWOULDBLOCK, errno.EACCES):
            raise GradeError(
                f"{path}: another run is grading into it; wait for it to end, or choose another place with -o"
            ) from error


class _RemoteFolder:
    """A folder by its address. Object stores put a file there whole or not at all."""

    def __init__(self, address: str) -> None:
        self.place = address
        self._system, path = file_system(address)
        self._root = path.rstrip("/")

    def _at(self, name: str) -> str:
        return f"{self._root}/{name}"

    def held(self) -> AbstractContextManager[None]:
        """See `Folder`: an address cannot be held."""
        return nullcontext()

    def names(self, below: str) -> tuple[str, ...]:
        folder = self._at(below)
        if not self._system.exists(folder):
            return ()
        self._system.invalidate_cache()
        listed: list[dict[str, Any]] = self._system.ls(folder, detail=True)
        return tuple(sorted(f"{below}/{e['name'].rpartition('/')[2]}" for e in listed if e["type"] == "file"))

    def exists(self, name: str) -> bool:
        return bool(self._system.isfile(self._at(name)))

    def read(self, name: str) -> bytes:
        return bytes(self._system.cat_file(self._at(name)))

    def write(self, name: str, content: bytes) -> None:
        self._system.makedirs(self._at(name).rpartition("/")[0], exist_ok=True)
        self._system.pipe_file(self._at(name), content)

    @contextmanager
    def writing(self, name: str) -> Iterator[IO[bytes]]:
        with tempfile.TemporaryFile() as file:
            yield file
            file.seek(0)
            self._system.makedirs(self._at(name).rpartition("/")[0], exist_ok=True)
            with self._system.open(self._at(name), "wb") as there:
                shutil.copyfileobj(file, there)

    def move(self, name: str, to: str) -> None:
        self._system.makedirs(self._at(to).rpartition("/")[0], exist_ok=True)
        self._system.mv(self._at(name), self._at(to))

    def delete(self, name: str) -> None:
        self._system.rm_file(self._at(name))


def open_folder(place: str) -> Folder:
    """The folder at a path or an address. Raises `GradeError` where an address cannot be understood."""
    if is_address(place) and not place.startswith(_FILE):
        return _RemoteFolder(place)
    return _LocalFolder(Path(place.removeprefix(_FILE)))
