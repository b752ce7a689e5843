"""One writer at a time in the folder of a desk: what is read, changed and written back is not changed by another in between.

The lock is the system's own, on a file in the folder, and ends with the process that holds it, however that ends.
"""

from __future__ import annotations

import os
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from analyzer.errors import DeskError

if sys.platform == "win32":
    import msvcrt
else:
    import fcntl

__all__ = ["LOCK", "locked"]

LOCK = ".lock"
_WAIT_S, _STEP_S = 10.0, 0.01  # a change takes milliseconds
_NO_LINK = getattr(os, "O_NOFOLLOW", 0)


@contextmanager
def locked(folder: Path) -> Iterator[None]:
    """Hold the folder. Where its file system has no locks, go on without one.

    Raises
    ------
    DeskError
        Another desk holds it for longer than any change takes, or it cannot be written in.
    """
    try:
        descriptor = os.open(folder / LOCK, os.O_RDWR | os.O_CREAT | _NO_LINK, 0o666)
    except OSError as error:
        raise DeskError(f"{folder / LOCK}: cannot be opened: {error.strerror}; check the rights of the folder") from error
    try:
        _take(descriptor, folder)
        yield
    finally:
        if sys.platform == "win32":
            with suppress(OSError):  # it was not held
                os.lseek(descriptor, 0, os.SEEK_SET)
                msvcrt.locking(descriptor, msvcrt.LK_UNLCK, 1)
        os.close(descriptor)


def _take(descriptor: int, folder: Path) -> None:
    end_s = time.monotonic() + _WAIT_S
    while True:
        try:
            if sys.platform == "win32":
                os.lseek(descriptor, 0, os.SEEK_SET)
                msvcrt.locking(descriptor, msvcrt.LK_NBLCK, 1)
            else:
                fcntl.flock(descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except PermissionError:  # held, as Windows says it
            pass
        except BlockingIOError:
            pass
        except OSError:  # no locks here
            return
        else:
            return
        if time.monotonic() > end_s:
            raise DeskError(f"{folder}: another desk is writing in it and does not end; close it and try again")
        time.sleep(_STEP_S)
