"""What was flown in each of several logs, as the user names it: ``LOG=[TIME=]SHAPE``, or the roster's column for it."""

from __future__ import annotations

from collections.abc import Sequence

from analyzer.errors import FlownError
from analyzer.gradebook.roster import Entry, log_names

__all__ = ["flown_by_log"]


def flown_by_log(words: Sequence[str], logs: Sequence[str], entries: Sequence[Entry | None]) -> tuple[tuple[str, ...], ...]:
    """The words that name what was flown in each log, in the order of the logs, without the log.

    A log is called as in a roster: by its path, the end of it, or its name with or without suffixes. `entries` are the lines of
    the roster for the logs.

    Raises
    ------
    FlownError
        A word begins with no log or with several, or names what was flown in a log for which the roster does that too.

    Examples
    --------
    >>> flown_by_log(["b.csv=15:41:30=teardrop"], ["logs/a.csv", "logs/b.csv"], [None, None])
    ((), ('15:41:30=teardrop',))
    """
    given: list[list[str]] = [[] for _ in logs]
    for word in words:
        place, flown = _log_and_flown(word.strip(), logs)
        entry = entries[place]
        if entry is not None and entry.flown_as:
            raise FlownError(f"flown {word}: line {entry.line} of the roster names what was flown in {logs[place]}; keep one")
        given[place].append(flown)
    return tuple(
        tuple(mine) or (entry.flown_as if entry is not None else ()) for mine, entry in zip(given, entries, strict=True)
    )


def _log_and_flown(word: str, logs: Sequence[str]) -> tuple[int, str]:
    """The place of the log that a word begins with, and the rest. A log's own name may contain ``=``."""
    pieces = word.split("=")
    for k in range(len(pieces) - 1, 0, -1):
        called = "=".join(pieces[:k]).replace("\\", "/").lower()
        ranks = [(log_names(log).index(called), place) for place, log in enumerate(logs) if called in log_names(log)]
        fullest = [place for rank, place in ranks if rank == min(ranks)[0]]
        if len(fullest) > 1:
            raise FlownError(f"flown {word}: several of the logs are called {called}; write it with its folder")
        if fullest:
            return fullest[0], "=".join(pieces[k:])
    raise FlownError(f"flown {word}: begins with none of the logs; write it like {_example(logs)}=15:41:30=base-turn")


def _example(logs: Sequence[str]) -> str:
    return logs[0].replace("\\", "/").rpartition("/")[2] if logs else "log.csv"
