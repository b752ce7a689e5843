"""Ending at once when asked by the terminal (Ctrl-C) or the system: a line of what is kept, and no wait for what is in work.

The handler ends the process itself. An exception would be lost where one is caught on the way, and would wait for threads and
for what is in work. What is written is safe whenever the process ends, for files take their places whole.
"""

from __future__ import annotations

import os
import signal
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from threading import current_thread, main_thread
from types import FrameType

from analyzer.temporary import take_away

__all__ = ["ended_at_once"]

_SIGNALS = tuple(getattr(signal, name) for name in ("SIGINT", "SIGTERM", "SIGHUP") if hasattr(signal, name))
_AS_PYTHON_BEGINS = (signal.SIG_DFL, signal.default_int_handler)
_CLEAR_LINE = b"\r\x1b[2K\x1b[?25h"  # of a bar that is drawn there, which hides the cursor (ECMA-48, and DEC's mode 25)


@contextmanager
def ended_at_once(words: Callable[[], str], end_work: Callable[[], None]) -> Iterator[None]:
    """While this lasts, a signal to end ends the process: the work, what is there for a while, a line of `words`.

    The exit code is 128 and the signal's number, as shells have it: 130 after Ctrl-C. A signal that the caller of the program
    set to be ignored, as ``nohup`` does, still is; further ones change nothing.
    """

    def end(number: int, _frame: FrameType | None) -> None:
        for one in _SIGNALS:
            signal.signal(one, signal.SIG_IGN)
        end_work()
        take_away()
        _say(words())
        os._exit(128 + number)

    if current_thread() is not main_thread():  # no other may handle signals
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
    """Write a line to standard error past its buffer, which the code that was interrupted may be at."""
    with suppress(OSError, ValueError):
        descriptor = sys.stderr.fileno()
        os.write(descriptor, (_CLEAR_LINE if os.isatty(descriptor) else b"") + f"analyzer: {line}\n".encode())
