"""What is known of a folder that is watched: its files as they were when they were taken in or passed over, in a plain file.

The first line of ``watched.txt`` is the folder; each other one has size, time of the last change [ns], the log that it became,
or ``-``, and its name, with tabs between.
"""

from __future__ import annotations

from dataclasses import field

from analyzer.desk.store import Store
from analyzer.frozen import dataclass

__all__ = ["PASSED_OVER", "Known", "WatchList", "read_watch_list", "write_watch_list"]

PASSED_OVER = "-"


@dataclass(frozen=True)
class Known:
    """A file that is known: its size, when it was last changed [ns], and the log that it became."""

    size_bytes: int
    changed_ns: int
    log: str = PASSED_OVER

    @property
    def stamp(self) -> tuple[int, int]:
        """What tells whether it was written to since."""
        return self.size_bytes, self.changed_ns


@dataclass(frozen=True)
class WatchList:
    """The files of a folder that are known, by name."""

    folder: str = ""
    files: dict[str, Known] = field(default_factory=dict)


def read_watch_list(store: Store) -> WatchList:
    """What is kept; lines that cannot be understood are left out. Raises `DeskError`."""
    text = store.text(store.watch_list)
    if not text:
        return WatchList()
    first, *lines = text.splitlines()
    files = {}
    for line in lines:
        size, _, rest = line.partition("\t")
        changed, _, rest = rest.partition("\t")
        log, _, name = rest.partition("\t")
        if size.isascii() and size.isdigit() and changed.isascii() and changed.isdigit() and name:
            files[name] = Known(int(size), int(changed), log)
    return WatchList(first, files)


def write_watch_list(store: Store, kept: WatchList) -> None:
    """Keep it. Raises `DeskError`."""
    lines = [
        kept.folder,
        *(f"{one.size_bytes}\t{one.changed_ns}\t{one.log}\t{name}" for name, one in sorted(kept.files.items())),
    ]
    store.write(store.watch_list, ("\n".join(lines) + "\n").encode())
