"""Handing out the work: logs in chunks, a bounded number under way, and a chunk that fails done log by log.

Chunks come back as they are done, each with its number; no chunk is begun while one too far behind is still out, so that what
waits to be put in order is bounded too.
"""

from __future__ import annotations

from collections.abc import Generator, Iterable, Iterator
from concurrent.futures import FIRST_COMPLETED, CancelledError, Future, wait

from analyzer.errors import GradeError
from analyzer.grade.one_log import Graded, Task, failed
from analyzer.grade.worker_pool import WorkerPool
from analyzer.grade.worker_processes import WorkFailedError
from analyzer.gradebook.settings import Settings

__all__ = ["in_chunks", "work_off"]

_CHUNK, _PAGES_CHUNK = 25, 4  # logs; about a second's work, or some
_UNDER_WAY = 3  # chunks a worker: one in work, one on its way, one done
_AHEAD = 8  # chunks a worker that may be begun before the oldest is back

Chunk = tuple[Task, ...]


def in_chunks(tasks: Iterable[Task], *, pages: bool) -> Iterator[Chunk]:
    """Logs by the chunk: one at first, so that every worker has something soon, then more and more."""
    most = _PAGES_CHUNK if pages else _CHUNK
    chunk: list[Task] = []
    size, made = 1, 0
    for task in tasks:
        chunk.append(task)
        if len(chunk) >= size:
            yield tuple(chunk)
            chunk, made = [], made + 1
            size = min(most, 1 + made // 4)
    if chunk:
        yield tuple(chunk)


def work_off(pool: WorkerPool, settings: Settings, chunks: Iterable[Chunk]) -> Generator[tuple[int, Chunk, tuple[Graded, ...]]]:
    """Work off chunks; each comes with its number and logs as it is done, in no order.

    Raises
    ------
    GradeError
        The cluster is gone.
    """
    source = iter(enumerate(chunks))
    out: dict[Future[tuple[Graded, ...]], tuple[int, Chunk]] = {}
    begun, more = 0, True
    while more or out:
        oldest = min((number for number, _ in out.values()), default=begun)
        while more and len(out) < _UNDER_WAY * pool.size and begun < oldest + _AHEAD * pool.size:
            taken = next(source, None)
            if taken is None:
                more = False
                break
            begun = taken[0] + 1
            out[pool.submit(settings, taken[1])] = taken
            oldest = min(oldest, taken[0])
        if not out:
            continue
        done, _ = wait(out, return_when=FIRST_COMPLETED)
        spoilt = []
        for future in sorted(done, key=lambda future: out[future][0]):
            number, chunk = out.pop(future)
            if _error(future) is None:
                yield number, chunk, future.result()
            else:
                spoilt.append((number, chunk))
        for number, chunk in spoilt:
            yield number, chunk, tuple(_alone(pool, settings, task) for task in chunk)


def _error(future: Future[tuple[Graded, ...]]) -> BaseException | None:
    try:
        return future.exception()
    except CancelledError as error:
        raise GradeError("the cluster is gone; what is graded is kept: run the same again when it is back") from error


def _alone(pool: WorkerPool, settings: Settings, task: Task) -> Graded:
    """A log of a chunk that failed, graded by itself; a row that says so where it fails again."""
    for _ in range(2):
        future = pool.submit(settings, (task,))
        error = _error(future)
        if error is None:
            return future.result()[0]
        if not pool.lost(error):
            cause = str(error) if isinstance(error, WorkFailedError) else f"{type(error).__name__}: {error}"
            reason = f"this program fails on it, which is a defect of the program: {cause}"
            return failed(settings, task, " ".join(reason.split()))
    return failed(settings, task, "no worker came through it, tried twice: it may need more memory than there is")
