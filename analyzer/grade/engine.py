"""Distributing the work: logs in chunks, a bounded number in progress, and a chunk that fails repeated log by log.

Chunks are returned as they are done, each with its number. No chunk is started while an older one lags too far behind, so that
the number of results waiting to be put in order is bounded too.
"""

from __future__ import annotations

from collections.abc import Generator, Iterable, Iterator
from concurrent.futures import FIRST_COMPLETED, CancelledError, Future, wait

from analyzer.errors import GradeError
from analyzer.grade.one_log import Graded, failed
from analyzer.grade.task import Task
from analyzer.grade.worker_pool import WorkerPool
from analyzer.grade.worker_processes import WorkFailedError
from analyzer.gradebook.settings import Settings

__all__ = ["in_chunks", "work_off"]

_CHUNK, _PAGES_CHUNK = 25, 4  # logs; a second's work or so
_UNDER_WAY = 3  # chunks per worker: one in work, one in transit, one done
_AHEAD = 8  # chunks per worker that may be started before the oldest is back

Chunk = tuple[Task, ...]


def in_chunks(tasks: Iterable[Task], *, pages: bool) -> Iterator[Chunk]:
    """Logs in chunks that grow from one log, so that every worker is busy soon."""
    most = _PAGES_CHUNK if pages else _CHUNK
    chunk: list[Task] = []
    size, chunks = 1, 0
    for task in tasks:
        chunk.append(task)
        if len(chunk) >= size:
            yield tuple(chunk)
            chunk, chunks = [], chunks + 1
            size = min(most, 1 + chunks // 4)
    if chunk:
        yield tuple(chunk)


def work_off(pool: WorkerPool, settings: Settings, chunks: Iterable[Chunk]) -> Generator[tuple[int, Chunk, tuple[Graded, ...]]]:
    """Work through chunks, yielding each with its number and results as it is done, in any order.

    Raises
    ------
    GradeError
        The cluster is gone.
    """
    source = iter(enumerate(chunks))
    pending: dict[Future[tuple[Graded, ...]], tuple[int, Chunk]] = {}
    started, remaining = 0, True
    while remaining or pending:
        oldest = min((number for number, _ in pending.values()), default=started)
        while remaining and len(pending) < _UNDER_WAY * pool.size and started < oldest + _AHEAD * pool.size:
            numbered = next(source, None)
            if numbered is None:
                remaining = False
                break
            started = numbered[0] + 1
            pending[pool.submit(settings, numbered[1])] = numbered
            oldest = min(oldest, numbered[0])
        if not pending:
            continue
        done, _ = wait(pending, return_when=FIRST_COMPLETED)
        failed = []
        for future in sorted(done, key=lambda future: pending[future][0]):
            number, chunk = pending.pop(future)
            if _error(future) is None:
                yield number, chunk, future.result()
            else:
                failed.append((number, chunk))
        for number, chunk in failed:
            yield number, chunk, tuple(_alone(pool, settings, task) for task in chunk)


def _error(future: Future[tuple[Graded, ...]]) -> BaseException | None:
    try:
        return future.exception()
    except CancelledError as error:
        raise GradeError("the cluster is gone; what is graded is kept: run the command again when it is back") from error


def _alone(pool: WorkerPool, settings: Settings, task: Task) -> Graded:
    """A log of a chunk that failed, graded by itself; if it fails again, a row that says so."""
    for _ in range(2):
        future = pool.submit(settings, (task,))
        error = _error(future)
        if error is None:
            return future.result()[0]
        if not pool.lost(error):
            cause = str(error) if isinstance(error, WorkFailedError) else f"{type(error).__name__}: {error}"
            reason = f"this program fails on it, which is a bug in the program: {cause}"
            return failed(settings, task, " ".join(reason.split()))
    return failed(settings, task, "two workers ended while grading it: it may need more memory than there is")
