"""The process that grades a class for the desk, at low priority: ``python -m analyzer.desk.class_run FOLDER CLASS [sheets]``.

It says on its standard output how far it is, a line of JSON each time, and ends at once when its standard input does: so it
ends with the desk, however that ends. What is graded is kept, and the next run goes on from there.
"""

from __future__ import annotations

import json
import os
import sys
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from threading import Lock, Thread
from typing import IO, Any

from analyzer.desk.class_files import ClassFiles
from analyzer.desk.class_graded import class_settings
from analyzer.desk.class_words import in_class
from analyzer.desk.store import Store
from analyzer.errors import AnalyzerError
from analyzer.grade.grading import grade
from analyzer.grade.worker_pool import WorkerPool, local_pool
from analyzer.gradebook.review import review_by_log
from analyzer.temporary import take_away

__all__ = ["grade_class", "main", "run_workers"]

_NICER = 15  # of 19 steps down: whoever waits for a page comes first
_LEFT_FREE = 1  # core


def run_workers(cores: int) -> int:
    """The number of workers on a machine: one core is left to the desk.

    >>> [run_workers(cores) for cores in (1, 2, 8)]
    [1, 1, 7]
    """
    return max(1, cores - _LEFT_FREE)


def grade_class(files: ClassFiles, pool: WorkerPool, tell: Callable[[int, int], None], *, sheets: bool) -> None:
    """Grade a class as it is set now; `tell` is called with the logs that are done and how many there are.

    Raises
    ------
    AnalyzerError
        It cannot be graded, or another run is grading it.
    """
    card, review = files.card(), files.review()
    settings, _ = class_settings(files.store, files, card)
    total, done = sum(1 for _ in files.logs()), 0
    tell(done, total)

    def count(more: int) -> None:
        nonlocal done
        done += more
        tell(done, total)

    grade(
        str(files.folder),
        replace(settings, sheets=card.paper if sheets else None),
        pool,
        files.graded_place,
        files.roster(),
        (),
        count,
        files.leave_out(),
        excuses=[table.excuse() for table in review.excused],
        reviews=review_by_log(review),
    )


def main() -> None:
    """Grade the class that the arguments name."""
    folder, name, *more = sys.argv[1:]
    if hasattr(os, "nice"):
        os.nice(_NICER)
    cores = len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1
    out, book = sys.stdout.buffer, Lock()
    with local_pool(run_workers(cores)) as pool:
        Thread(target=_end_with_input, args=(pool,), daemon=True).start()
        try:
            files = ClassFiles(Store(Path(folder)), name)
            grade_class(files, pool, lambda done, total: _say(out, book, {"done": done, "total": total}), sheets=bool(more))
        except AnalyzerError as error:
            _say(out, book, {"fault": in_class(str(error))})


def _say(out: IO[bytes], book: Lock, values: dict[str, Any]) -> None:
    with book:
        out.write(json.dumps(values).encode() + b"\n")
        out.flush()


def _end_with_input(pool: WorkerPool) -> None:
    """Wait for the end of the standard input, and end at once, workers first."""
    while os.read(sys.stdin.fileno(), 1024):  # unbuffered: a lock of a buffer would be held while the program ends
        pass
    pool.give_up()
    take_away()
    os._exit(0)


if __name__ == "__main__":
    main()
