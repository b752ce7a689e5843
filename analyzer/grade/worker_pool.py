"""The workers: a thread of this process, processes on this machine, or the workers of a Dask scheduler (extra ``cluster``).

All take the same work and return the same bytes.
"""

from __future__ import annotations

import os
from collections.abc import Sequence
from concurrent.futures import CancelledError, Executor, Future, ThreadPoolExecutor
from types import TracebackType
from typing import Any, Protocol, Self

from analyzer.errors import GradeError
from analyzer.grade.one_log import Graded, grade_some
from analyzer.grade.task import Task
from analyzer.grade.worker_processes import Processes, WorkerEndedError
from analyzer.gradebook.settings import Settings

__all__ = ["WorkerPool", "cluster_pool", "local_pool"]

_CONNECT_S = 20.0


class WorkerPool(Protocol):
    """Workers that grade chunks of logs."""

    size: int

    def submit(self, settings: Settings, tasks: Sequence[Task]) -> Future[tuple[Graded, ...]]:
        """Submit a few logs."""

    def lost(self, error: BaseException) -> bool:
        """Whether an error means that a worker ended, rather than that the work failed."""

    def give_up(self) -> None:
        """End the work in progress at once, as far as possible. A signal handler may call it."""

    def __enter__(self) -> Self: ...

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, traceback: TracebackType | None
    ) -> None: ...


class _ThreadPool:
    """One thread of this process. It cannot be interrupted: when given up, it ends after the log in progress."""

    size = 1

    def __init__(self) -> None:
        self._executor = ThreadPoolExecutor(1)
        self._given_up = False

    def submit(self, settings: Settings, tasks: Sequence[Task]) -> Future[tuple[Graded, ...]]:
        return self._executor.submit(self._grade, settings, tasks)

    def _grade(self, settings: Settings, tasks: Sequence[Task]) -> tuple[Graded, ...]:
        graded: list[Graded] = []
        for task in tasks:
            if self._given_up:
                raise CancelledError
            graded += grade_some(settings, (task,))
        return tuple(graded)

    def give_up(self) -> None:
        self._given_up = True

    def lost(self, error: BaseException) -> bool:  # noqa: ARG002 (one signature for all)
        return False

    def __enter__(self) -> Self:
        return self

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None, traceback: TracebackType | None) -> None:
        if kind is not None:
            self.give_up()
        self._executor.shutdown(wait=kind is None, cancel_futures=True)


class _ProcessPool:
    """Processes on this machine."""

    def __init__(self, size: int) -> None:
        self.size = size
        self._processes = Processes(size, grade_some)

    def submit(self, settings: Settings, tasks: Sequence[Task]) -> Future[tuple[Graded, ...]]:
        return self._processes.submit(settings, tasks)

    def lost(self, error: BaseException) -> bool:
        return isinstance(error, WorkerEndedError)

    def give_up(self) -> None:
        self._processes.give_up()

    def __enter__(self) -> Self:
        return self

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None, traceback: TracebackType | None) -> None:
        if kind is not None:
            self.give_up()
        self._processes.end()


class _ClusterPool:
    """The workers of a Dask scheduler, which hands the work of a lost worker to another."""

    def __init__(self, address: str) -> None:
        try:
            from distributed import Client
        except ImportError as error:
            raise GradeError("--cluster needs Dask: install approach-analyzer with the extra cluster") from error
        try:
            self._client: Any = Client(address, timeout=_CONNECT_S, set_as_default=False)
        except (OSError, ValueError) as error:
            raise GradeError(
                f"--cluster {address}: no scheduler answers there: {error}; start one, or check the address"
            ) from error
        self.size = max(1, len(self._client.scheduler_info(n_workers=-1)["workers"]))
        self._executor: Executor = self._client.get_executor()

    def submit(self, settings: Settings, tasks: Sequence[Task]) -> Future[tuple[Graded, ...]]:
        return self._executor.submit(grade_some, settings, tasks)

    def lost(self, error: BaseException) -> bool:
        from distributed import KilledWorker

        return isinstance(error, KilledWorker)

    def give_up(self) -> None:
        """The scheduler drops the work of a client that is gone; a worker finishes the few logs in progress."""

    def __enter__(self) -> Self:
        return self

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None, traceback: TracebackType | None) -> None:
        self._executor.shutdown(wait=kind is None)
        self._client.close()


def local_pool(workers: int | None = None) -> WorkerPool:
    """Workers on this machine: by default one process per core; a single worker is a thread of this process.

    Raises
    ------
    GradeError
        The number is less than one.
    """
    if workers is not None and workers < 1:
        raise GradeError(f"--workers {workers}: at least 1")
    size = workers if workers is not None else _cores()
    return _ThreadPool() if size == 1 else _ProcessPool(size)


def _cores() -> int:
    """The number of cores that this process may use."""
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1


def cluster_pool(address: str) -> WorkerPool:
    """The workers of the Dask scheduler at an address. They need this program, and the logs under the same paths.

    Raises
    ------
    GradeError
        Dask is not installed, or no scheduler answers.
    """
    return _ClusterPool(address)
