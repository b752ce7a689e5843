"""Grading a class in one call, from a place with logs, settings and workers to rows, tables and a page."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import closing

from analyzer.checks.excuse import Excuse
from analyzer.errors import GradeError
from analyzer.frozen import dataclass
from analyzer.grade.addresses import is_address
from analyzer.grade.engine import in_chunks, work_off
from analyzer.grade.excused_logs import excuses_key, given_to_logs
from analyzer.grade.kept_rows import Earlier, Keeper, sheet_key
from analyzer.grade.logs import LOG_SUFFIXES, find_logs
from analyzer.grade.output_folder import Folder, open_folder
from analyzer.grade.publish import NO_REVIEWS, Published, check_formats, publish
from analyzer.grade.task import Task, copies
from analyzer.grade.worker_pool import WorkerPool
from analyzer.gradebook.review import FlightReview
from analyzer.gradebook.roster import Entry, Roster, match_roster
from analyzer.gradebook.settings import Settings

__all__ = ["Class", "entries_of", "grade"]


@dataclass(frozen=True, eq=False)
class Class:
    """A graded class: what was published, the number of logs, and how many of them were graded in this run."""

    published: Published
    logs: int
    graded_anew: int


@dataclass(frozen=True, eq=False)
class _Said:
    """What an instructor said, by the name of the log: excuses for findings; and remarks and changed marks."""

    excuses: Mapping[str, tuple[Excuse, ...]]
    reviews: Mapping[str, FlightReview]


def grade(
    place: str,
    settings: Settings,
    pool: WorkerPool,
    output: str,
    roster: Roster | None = None,
    formats: tuple[str, ...] = ("csv", "html"),
    tell: Callable[[int], None] = lambda _: None,
    leave_out: frozenset[str] = frozenset(),
    excuses: Sequence[Excuse] = (),
    reviews: Mapping[str, FlightReview] = NO_REVIEWS,
) -> Class:
    """Grade all logs of a folder or pattern into a folder.

    Logs that an earlier run, finished or not, graded there by the same settings are not graded again. `tell` is called with the
    number of further logs done; `leave_out` are paths that are not logs; `excuses` name findings of the logs that count neither
    way; `reviews` is what an instructor said of flights, by log.

    Raises
    ------
    AnalyzerError
        The logs cannot be listed, the output cannot be written or is in use by another run, or the cluster is gone. What is
        graded is kept.
    """
    formats = check_formats(formats)
    folder = open_folder(output)
    if not is_address(output):
        leave_out |= {os.path.realpath(output)}
    with folder.held():
        given = given_to_logs(excuses, (log.name for log in find_logs(place, leave_out)) if excuses else ())
        said = _Said(given.by_log, reviews)
        logs, anew = _graded(place, settings, pool, folder, roster, tell, leave_out, said)
        return Class(publish(folder, settings, roster, formats, given.without_log, reviews), logs, anew)


def _graded(
    place: str,
    settings: Settings,
    pool: WorkerPool,
    folder: Folder,
    roster: Roster | None,
    tell: Callable[[int], None],
    leave_out: frozenset[str],
    said: _Said,
) -> tuple[int, int]:
    """Make the rows of all logs, and return the number of logs and how many of them were graded in this run."""
    earlier, keeper = Earlier(folder, settings), Keeper(folder)
    known: dict[str, bytes] = {}  # lines of logs in progress

    entries = _entries(place, settings, roster, leave_out)

    def tasks() -> Iterator[Task]:
        for number, log in enumerate(find_logs(place, leave_out)):
            entry, review, excused = entries.get(number), said.reviews.get(log.name), said.excuses.get(log.name, ())
            flown_as = entry.flown_as if entry is not None else ()
            kept = earlier.line(log.name, sheet_key(settings, entry, review), flown_as, excuses_key(excused))
            if kept is not None:
                known[log.name] = kept[1]
            known_as = kept[0] if kept is not None else None
            yield Task(log.name, log.address, log.size_bytes, known_as, log.leads_out, entry, excused, review)

    logs = anew = 0
    with closing(work_off(pool, settings, in_chunks(tasks(), pages=settings.pages or settings.sheets is not None))) as chunks:
        for number, chunk, graded in chunks:
            before = {task.name: known.pop(task.name, b"") for task in chunk}
            lines = [before[log.name] if log.line is None else log.line for log in graded]
            new = [log for log in graded if log.line is not None]
            keeper.keep(number, lines, new=bool(new), pages=dict(file for log in new for file in log.files))
            logs, anew = logs + len(chunk), anew + len(new)
            tell(len(chunk))
    if not logs:
        raise GradeError(
            f"{place}: no logs there; put in files whose names end in {', '.join(LOG_SUFFIXES)}, gzipped (.gz) too"
        )
    keeper.finish()
    return logs, anew


def _entries(place: str, settings: Settings, roster: Roster | None, leave_out: frozenset[str]) -> Mapping[int, Entry]:
    """The roster's entries by the position of the log; none where neither sheets nor what was flown depend on them."""
    if roster is None or (settings.sheets is None and not any(entry.flown_as for entry in roster.entries.values())):
        return {}
    return entries_of(place, settings, roster, leave_out)


def entries_of(place: str, settings: Settings, roster: Roster, leave_out: frozenset[str]) -> Mapping[int, Entry]:
    """The roster's entries by the position of the log among all logs. Raises `GradeError`."""

    def alike(places: Sequence[int]) -> bool:
        """Whether logs are copies of one another, so that the entry is for the first, as in the tables."""
        wanted = set(places)
        found = (log for number, log in enumerate(find_logs(place, leave_out)) if number in wanted)
        return copies([Task(log.name, log.address, log.size_bytes, leads_out=log.leads_out) for log in found], settings)

    return match_roster(roster, (log.name for log in find_logs(place, leave_out)), alike).by_place
