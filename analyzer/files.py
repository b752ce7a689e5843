"""Small files from outside, read whole: ordinary files only, and never more than a given number of bytes.

A named pipe would be waited for without end, and a device such as ``/dev/zero`` read without end.
"""

from __future__ import annotations

import errno
import os
import stat
from pathlib import Path

__all__ = ["check_ordinary", "read_bounded"]

# where a shell puts what it pipes to a program in the place of a file: somebody writes there
_OPEN_ALREADY = ("/dev/fd/", "/dev/stdin", "/proc/self/fd/")


def check_ordinary(path: str | os.PathLike[str]) -> None:
    """Raise `OSError` where the path is a device, a socket or a named pipe, and as opening does where there is nothing."""
    mode = Path(path).stat().st_mode
    piped = stat.S_ISFIFO(mode)
    if piped and os.fspath(path).startswith(_OPEN_ALREADY):
        return
    if not stat.S_ISREG(mode) and not stat.S_ISDIR(mode):  # opening a folder says so itself
        kind = "a pipe" if piped else "a device"
        raise OSError(errno.EINVAL, f"it is {kind}, not an ordinary file", os.fspath(path))


def read_bounded(path: str | os.PathLike[str], most_bytes: int) -> bytes:
    """The bytes of a file; of one that is longer, one more than `most_bytes`. Raises `OSError`, and `ValueError` for a name."""
    check_ordinary(path)
    with Path(path).open("rb") as file:
        return file.read(most_bytes + 1)
