"""The folder that grades are written to, a path or an address. Files appear whole or not at all."""

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
    """A place for files, named by paths with ``/``."""

    place: str

    def held(self) -> AbstractContextManager[None]:
        """Lock the folder for one run, where that is possible: two runs would remove each other's unfinished files.

        Raises
        ------
        GradeError
            Another run has locked it, or it cannot be created.
        """

    def names(self, below: str) -> tuple[str, ...]:
        """The names of the files directly in a subfolder, in order; empty if it does not exist."""

    def exists(self, name: str) -> bool:
        """Whether a file exists."""

    def read(self, name: str) -> bytes:
        """The content of a file."""

    def write(self, name: str, content: bytes) -> None:
        """Write a file."""

    def writing(self, name: str) -> AbstractContextManager[IO[bytes]]:
        """A file to write in pieces. It appears when all is written, and not at all if that fails."""

    def move(self, name: str, to: str) -> None:
        """Rename a file, replacing any file of the new name."""

    def delete(self, name: str) -> None:
        """Delete a file."""


class _LocalFolder:
    """A folder at a path."""

    def __init__(self, path: Path) -> None:
        self.place = str(path)
        self._path = path

    @contextmanager
    def held(self) -> Iterator[None]:
        """See `Folder`. The system releases the lock however the run ends. Windows cannot lock a folder."""
        new = not self._path.is_dir()
        try:
            self._path.mkdir(parents=True, exist_ok=True)
        except OSError as error:
            raise _not_written(self._path, error) from error
        try:
            with _locked(self._path):
                yield
        finally:
            if new:
                with suppress(OSError):  # not empty
                    self._path.rmdir()

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
            raise GradeError(f"{self._path / name}: cannot be read: {error.strerror}; check the permissions") from error

    def write(self, name: str, content: bytes) -> None:
        write_file(self._path / name, content)

    @contextmanager
    def writing(self, name: str) -> Iterator[IO[bytes]]:
        target = self._path / name
        try:
            with whole_file(target) as file:
                yield file
        except OSError as error:
            raise _not_written(target, error) from error

    def move(self, name: str, to: str) -> None:
        target = self._path / to
        try:
            target.parent.mkdir(parents=True, exist_ok=True)
            (self._path / name).replace(target)
            self._tidy(self._path / name)
        except OSError as error:
            raise _not_written(target, error) from error

    def delete(self, name: str) -> None:
        (self._path / name).unlink(missing_ok=True)
        self._tidy(self._path / name)

    def _tidy(self, gone: Path) -> None:
        """Remove the folder of a file if it was the last one, including what a killed run left half written."""
        folder = gone.parent
        if folder != self._path and folder.is_dir() and all(entry.name.startswith(BEGINNING) for entry in folder.iterdir()):
            for half in tuple(folder.iterdir()):
                half.unlink()
            folder.rmdir()


if sys.platform == "win32":

    @contextmanager
    def _locked(_path: Path) -> Iterator[None]:
        """Nothing: Windows cannot lock a folder."""
        yield

else:

    @contextmanager
    def _locked(path: Path) -> Iterator[None]:
        """Lock a folder; on a file system without locks, go on without one. Raises `GradeError`."""
        try:
            descriptor = os.open(path, os.O_RDONLY)
        except OSError as error:
            raise _not_written(path, error) from error
        try:
            fcntl.flock(descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except OSError as error:
            if error.errno in (errno.EWOULDBLOCK, errno.EACCES):
                os.close(descriptor)
                raise GradeError(
                    f"{path}: another run is grading into it; wait for it to end, or choose another place with -o"
                ) from error
        try:
            yield
        finally:
            os.close(descriptor)


def _not_written(target: Path, error: OSError) -> GradeError:
    return GradeError(f"{target}: cannot be written: {error.strerror}; choose another place with -o")


class _RemoteFolder:
    """A folder at an address. Object stores write a file whole or not at all."""

    def __init__(self, address: str) -> None:
        self.place = address
        self._system, path = file_system(address)
        self._root = path.rstrip("/")

    def _at(self, name: str) -> str:
        return f"{self._root}/{name}"

    def held(self) -> AbstractContextManager[None]:
        """See `Folder`. An address cannot be locked."""
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
    """The folder at a path or an address. Raises `GradeError` if the address is not understood."""
    if is_address(place) and not place.startswith(_FILE):
        return _RemoteFolder(place)
    return _LocalFolder(Path(place.removeprefix(_FILE)))
