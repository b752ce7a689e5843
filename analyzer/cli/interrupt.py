"""Ending at once on Ctrl-C or a signal from the system: a line on what is kept, without waiting for work in progress.

The handler ends the process itself: an exception might be caught on the way, and would wait for threads and work in progress.
Written files are safe whenever the process ends, since each is moved into place as a whole.
"""

from __future__ import annotations

import os
import signal
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from threading import current_thread, main_thread
from types import FrameType

from analyzer.temporary import take_away

__all__ = ["ended_at_once"]

_SIGNALS = tuple(getattr(signal, name) for name in ("SIGINT", "SIGTERM", "SIGHUP") if hasattr(signal, name))
_AS_PYTHON_BEGINS = (signal.SIG_DFL, signal.default_int_handler)
_CLEAR_LINE = b"\r\x1b[2K\x1b[?25h"  # clears a progress bar and shows the cursor (ECMA-48, and DEC's mode 25)


@contextmanager
def ended_at_once(words: Callable[[], str], end_work: Callable[[], None]) -> Iterator[None]:
    """End the process on a signal within this context: end the work, remove temporary files, print `words`.

    The exit code is 128 plus the signal's number, as in shells: 130 after Ctrl-C. Signals that the caller of the program
    ignores, as ``nohup`` does, stay ignored; further signals change nothing.
    """

    def end(number: int, _frame: FrameType | None) -> None:
        for one in _SIGNALS:
            signal.signal(one, signal.SIG_IGN)
        end_work()
        take_away()
        _say(words())
        os._exit(128 + number)

    if current_thread() is not main_thread():  # only the main thread may handle signals
        yield
        return
    before = {number: signal.getsignal(number) for number in _SIGNALS}
    handled = [number for number, handler in before.items() if handler in _AS_PYTHON_BEGINS]
    for number in handled:
        signal.signal(number, end)
    try:
        yield
    finally:
        for number in handled:
            signal.signal(number, before[number])


def _say(line: str) -> None:
    """Write a last line to standard error without its buffer, which the interrupted code may be using.

    Other threads write nowhere from then on: one that draws a progress bar would draw it below the line once more.
    """
    with suppress(OSError, ValueError):
        descriptor = sys.stderr.fileno()
        ours = os.dup(descriptor)
        with Path(os.devnull).open("wb") as nowhere:
            os.dup2(nowhere.fileno(), descriptor)
        os.write(ours, (_CLEAR_LINE if os.isatty(ours) else b"") + f"analyzer: {line}\n".encode())
