"""A log to grade: where it is, whether it is opened at all, its content as a local file and the digest of that."""

from __future__ import annotations

import os
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from hashlib import sha256
from pathlib import Path

from analyzer.checks.excuse import Excuse
from analyzer.errors import AnalyzerError
from analyzer.files import check_ordinary
from analyzer.frozen import dataclass
from analyzer.grade.addresses import file_system, is_address
from analyzer.gradebook.review import FlightReview
from analyzer.gradebook.roster import Entry
from analyzer.gradebook.settings import Settings
from analyzer.temporary import temporary_folder

__all__ = ["NotGraded", "Task", "at_hand", "copies", "digest_of", "why_unfit"]

_PIECE = 1 << 20


@dataclass(frozen=True)
class Task:
    """A log to grade; its size is None for a folder. `known` is the digest of the content that is already graded.

    `leads_out` marks a link to a file outside the folder of logs. `entry` is its line of the roster, for the student's sheet
    and for what it names as flown; `excuses` are those for its findings; `review` is what the instructor said of the flight.
    """

    name: str
    address: str
    size_bytes: int | None
    known: str | None = None
    leads_out: bool = False
    entry: Entry | None = None
    excuses: tuple[Excuse, ...] = ()
    review: FlightReview | None = None

    @property
    def flown_as(self) -> tuple[str, ...]:
        """The words of the roster for what was flown."""
        return self.entry.flown_as if self.entry is not None else ()


class NotGraded(Exception):  # noqa: N818 (a state, which becomes a row)
    """Why a log has no grade: the status of its row, and the reason."""

    def __init__(self, status: str, reason: str) -> None:
        super().__init__(reason)
        self.status, self.reason = status, reason


def why_unfit(settings: Settings, task: Task) -> str | None:
    """Why a log is not even opened, or None."""
    if task.size_bytes is None:
        return "a folder, not a log; rename the folder, or put the log itself there"
    if task.leads_out:
        return "a link to a file outside the folder: put the log itself there"
    if task.size_bytes > settings.largest_bytes:
        most = f"{settings.largest_bytes / 1e6:g} MB"
        return f"{task.size_bytes / 1e6:,.1f} MB, more than the {most} that --largest allows"
    return None


def copies(tasks: Sequence[Task], settings: Settings) -> bool:
    """Whether all of some logs can be read and have the same content."""
    if len({task.size_bytes for task in tasks}) > 1 or any(why_unfit(settings, task) is not None for task in tasks):
        return False
    digests = set()
    for task in tasks:
        try:
            with at_hand(task) as path:
                digests.add(digest_of(path))
        except (OSError, AnalyzerError):  # its row says why
            return False
    return len(digests) == 1


@contextmanager
def at_hand(task: Task) -> Iterator[Path]:
    """The log as a local file."""
    if not is_address(task.address):
        yield Path(task.address)
        return
    system, path = file_system(task.address)
    with temporary_folder() as folder:
        copy = folder / os.path.basename(path)  # noqa: PTH119 (a path of that file system, not of this one)
        system.get_file(path, str(copy))
        yield copy


def digest_of(path: Path) -> str:
    """The SHA-256 of a file, in hexadecimal digits."""
    check_ordinary(path)  # reading a pipe would wait, and a device has no end
    digest = sha256()
    with path.open("rb") as file:
        while piece := file.read(_PIECE):
            digest.update(piece)
    return digest.hexdigest()
