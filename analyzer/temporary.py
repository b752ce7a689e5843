"""Files and folders that are there for a while only, and are taken away whichever way the program ends in order.

A file is written under a temporary name next to its place and then renamed, so that none is ever half written. It is made as
any other file is, so that its rights are those that the umask leaves.
"""

from __future__ import annotations

import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from secrets import token_hex
from typing import IO

__all__ = ["BEGINNING", "take_away", "temporary_folder", "whole_file"]

BEGINNING = ".writing-"  # of the temporary name of a file
_THERE: set[Path] = set()  # what would be left if the process ended now


@contextmanager
def whole_file(target: Path) -> Iterator[IO[bytes]]:
    """A file to write, which takes its place when all is written, and not at all where that fails. Raises `OSError`."""
    target.parent.mkdir(parents=True, exist_ok=True)
    temporary = target.parent / f"{BEGINNING}{token_hex(6)}"
    _THERE.add(temporary)
    try:
        with temporary.open("xb") as file:
            yield file
        temporary.replace(target)
    finally:
        temporary.unlink(missing_ok=True)
        _THERE.discard(temporary)


@contextmanager
def temporary_folder() -> Iterator[Path]:
    """A folder of this process alone. Raises `OSError`."""
    with tempfile.TemporaryDirectory(prefix="analyzer-", ignore_cleanup_errors=True) as name:
        folder = Path(name)
        _THERE.add(folder)
        try:
            yield folder
        finally:
            _THERE.discard(folder)


def take_away() -> None:
    """Take away what is there for a while, for a process that ends at once."""
    for path in tuple(_THERE):
        if path.is_dir():
            shutil.rmtree(path, ignore_errors=True)
        else:
            path.unlink(missing_ok=True)
