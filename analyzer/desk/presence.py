"""Keeping track of the open pages, so that the desk ends a while after the last one is closed.

An open page reports itself at intervals, and when it is left. A browser lets background pages report once a minute at
most, and may freeze them, so a silent page counts as open for a quarter of an hour.
"""

from __future__ import annotations

import re
import time
from collections.abc import Callable

__all__ = ["Presence"]

_SILENT_S = 900.0
_MOST = 1000
_PAGE = re.compile(r"[a-z0-9]{1,32}")


class Presence:
    """The open pages, by the name that each gives itself."""

    def __init__(self, while_s: float, now: Callable[[], float] = time.monotonic) -> None:
        self._while_s, self._now = while_s, now
        self._pages: dict[str, float] = {}
        self._left_s: float | None = None

    def seen(self, page: str) -> None:
        """A page is open."""
        if _PAGE.fullmatch(page) and (page in self._pages or len(self._pages) < _MOST):
            self._pages[page] = self._now()
            self._left_s = None

    def left(self, page: str) -> None:
        """A page was left."""
        if self._pages.pop(page, None) is not None and not self._pages:
            self._left_s = self._now()

    def over(self) -> bool:
        """Whether pages were open, but none has been for a while."""
        now = self._now()
        silent = [page for page, at in self._pages.items() if now - at > _SILENT_S]
        for page in silent:
            self.left(page)
        return self._left_s is not None and now - self._left_s >= self._while_s
