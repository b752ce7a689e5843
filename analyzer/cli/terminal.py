"""The summary on a terminal, in colour if the user wants it, and a status message during long work."""

from __future__ import annotations

import shutil
import sys
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from threading import Lock, Timer
from typing import TYPE_CHECKING

from analyzer.checks.finding import CLOSE, INSIDE, OUTSIDE
from analyzer.report.words.layout import WIDTH
from analyzer.report.words.summary import summary_lines, summary_text

if TYPE_CHECKING:
    from rich.status import Status

    from analyzer.debriefs.data import DebriefData

__all__ = ["patience", "print_summary", "text_width", "whole_width"]

# Verdicts are also given in words; colours are those of the terminal's theme, chosen by its owner to be readable.
_TONES: Mapping[str, str] = {
    "title": "bold",
    "heading": "bold",
    "lesson": "italic",
    "quiet": "dim",
    "excused": "strike",
    OUTSIDE: "bold red",
    CLOSE: "bold yellow",
    INSIDE: "bold green",
}
_SOON_S = 1.0
_LEAST_COLUMNS = 32  # narrower, figures and their names have no room


def print_summary(debrief: DebriefData) -> None:
    """Print the summary, in colour on a terminal and as plain text elsewhere. `NO_COLOR` is respected."""
    if not sys.stdout.isatty():
        sys.stdout.write(summary_text(debrief, text_width()))
        return
    from rich.console import Console
    from rich.text import Text

    console = Console(highlight=False, markup=False, soft_wrap=True)
    for line in summary_lines(debrief, text_width()):
        console.print(Text(line.text, style=_TONES.get(line.tone, "")))


def whole_width() -> int:
    """How wide lines may be: as the terminal; for a file or another program 80, or less where `COLUMNS` says so. [columns]"""
    columns = shutil.get_terminal_size((WIDTH, 24)).columns
    return max(_LEAST_COLUMNS, columns if sys.stdout.isatty() else min(columns, WIDTH))


def text_width() -> int:
    """The same, but no more than the 80 columns that text is laid out for."""
    return min(WIDTH, whole_width())


@contextmanager
def patience(doing: str) -> Iterator[Callable[[str], None]]:
    """Show a status message if the work inside lasts longer than a second and standard error is a terminal.

    Yields a function that changes the message.
    """
    if not sys.stderr.isatty():
        yield lambda _: None
        return
    waiting = _Waiting(doing)
    waiting.timer.start()
    try:
        yield waiting.show
    finally:
        waiting.end()


class _Waiting:
    """The status message: not shown yet, shown, or removed."""

    def __init__(self, doing: str) -> None:
        self.timer = Timer(_SOON_S, self._begin)
        self.timer.daemon = True
        self._doing, self._over = doing, False
        self._status: Status | None = None
        self._lock = Lock()

    def _begin(self) -> None:
        from rich.console import Console

        with self._lock:
            if not self._over:
                self._status = Console(stderr=True).status(self._doing)
                self._status.start()

    def show(self, doing: str) -> None:
        with self._lock:
            self._doing = doing
            if self._status is not None:
                self._status.update(doing)

    def end(self) -> None:
        self.timer.cancel()
        with self._lock:
            self._over = True
            if self._status is not None:
                self._status.stop()
