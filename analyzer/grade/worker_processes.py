"""Worker processes on this machine, each with its own pipe.

A thread of this process waits on each pipe. Workers share no lock and no queue, so one that dies in the middle of its work, for
whatever reason, loses only its own few logs, and a new one replaces it. The pool of the standard library shares its queues: if
it loses a worker, the whole pool is shut down, and work submitted at that moment may wait forever.

Workers are forked from a server that has loaded the program and nothing else. They ignore the interrupt, which the parent
handles. An idle worker ends when its pipe closes; a busy one ends as soon as its parent is gone, however that ended.
"""

from __future__ import annotations

import gc
import multiprocessing
import os
import signal
import sys
import threading
import time
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import Future, ThreadPoolExecutor
from contextlib import contextmanager, suppress
from multiprocessing import forkserver, resource_tracker
from multiprocessing.connection import wait
from multiprocessing.process import BaseProcess
from queue import Empty, SimpleQueue
from types import FrameType
from typing import Any, Generic, ParamSpec, Protocol, TypeVar

from analyzer.frozen import dataclass
from analyzer.temporary import take_away

__all__ = ["Processes", "WorkFailedError", "WorkerEndedError"]

Given = ParamSpec("Given")
Made = TypeVar("Made")
_END_S = 30.0  # s; the time that an idle worker has to end
_END_AT_ONCE_S = 0.3  # s; the time that all workers together have, when nobody waits for their work


class WorkerEndedError(Exception):
    """A worker process ended during its work, or could not be started."""


class WorkFailedError(Exception):
    """The work raised an error; the message has its type and text."""


class _Pipe(Protocol):
    """One end of a pipe, which is of another class on Windows."""

    def send(self, obj: Any, /) -> None: ...

    def recv(self) -> Any: ...

    def poll(self) -> bool: ...

    def close(self) -> None: ...


@dataclass(frozen=True, eq=False)
class _Worker:
    process: BaseProcess
    pipe: _Pipe

    def is_gone(self) -> bool:
        """Whether an idle worker has ended: it sends nothing, so anything to read is the end of its pipe."""
        try:
            return self.pipe.poll()
        except OSError:
            return True

    def end(self) -> None:
        """End the worker by closing its pipe, or by a signal if that fails."""
        self.pipe.close()
        self.process.join(_END_S)
        if self.process.is_alive():
            self.process.kill()
            self.process.join()
        self.process.close()


class Processes(Generic[Given, Made]):
    """Up to `size` worker processes, started when needed, all of which run the same function.

    `preloaded` names the modules that the server loads before it forks, by default the module of the function.
    """

    def __init__(self, size: int, work: Callable[Given, Made], preloaded: Sequence[str] = ()) -> None:
        self._work = work
        self._threads = ThreadPoolExecutor(size)
        self._idle: SimpleQueue[_Worker] = SimpleQueue()
        self._workers: set[_Worker] = set()
        self._given_up = False
        self._book = threading.Lock()  # for multiprocessing's record of children, which is not thread-safe
        methods = multiprocessing.get_all_start_methods()
        self._context = multiprocessing.get_context("forkserver" if "forkserver" in methods else "spawn")
        if "forkserver" in methods:
            self._context.set_forkserver_preload(list(preloaded or [work.__module__]))

    def submit(self, *args: Given.args, **kwargs: Given.kwargs) -> Future[Made]:
        """Submit work. The future has its result, or raises `WorkFailedError` or `WorkerEndedError`."""
        return self._threads.submit(self._handed_over, *args, **kwargs)

    def end(self) -> None:
        """Wait for the work in progress, drop the rest, and end the workers."""
        self._threads.shutdown(wait=True, cancel_futures=True)
        while (worker := self._taken()) is not None:
            self._end(worker)

    def give_up(self) -> None:
        """End the workers at once, whatever they are doing. It takes no lock, so a signal handler may call it."""
        self._given_up = True  # a worker that is just starting gets no work
        workers = [worker.process for worker in tuple(self._workers)]
        running = []
        for process in workers:
            with suppress(ValueError):  # meanwhile ended and closed by the thread that waited for it
                running.append(process.sentinel)
                process.terminate()
        until = time.monotonic() + _END_AT_ONCE_S
        with suppress(OSError, ValueError):
            while running and (ended := wait(running, max(0.0, until - time.monotonic()))):
                running = [sentinel for sentinel in running if sentinel not in ended]
        for process in workers:
            with suppress(ValueError):
                process.kill()
        _end_server()

    def _handed_over(self, *args: Given.args, **kwargs: Given.kwargs) -> Made:
        try:
            worker = self._taken() or self._begun()
        except (EOFError, OSError) as error:  # the first if the server could not fork
            raise WorkerEndedError(f"no worker can be started: {error}") from error
        try:
            if self._given_up:
                worker.pipe.close()
            worker.pipe.send((args, kwargs))
            made, defect = worker.pipe.recv()
        except (EOFError, OSError) as ended:
            self._end(worker)
            raise WorkerEndedError("a worker ended during its work") from ended
        self._idle.put(worker)
        if defect is not None:
            raise WorkFailedError(defect)
        return made  # type: ignore[no-any-return]  # what `_serve` sends

    def _taken(self) -> _Worker | None:
        """An idle worker that is still alive, or None."""
        while True:
            try:
                worker = self._idle.get_nowait()
            except Empty:
                return None
            if not worker.is_gone():
                return worker
            self._end(worker)

    def _begun(self) -> _Worker:
        with self._book:
            ours, its = self._context.Pipe()
            process = self._context.Process(target=_serve, args=(its, self._work), daemon=True)  # type: ignore[attr-defined]
            with _interrupt_blocked():
                process.start()
            its.close()  # so that our end reads the end of the pipe when the worker ends
            worker = _Worker(process, ours)
            self._workers.add(worker)
            return worker

    def _end(self, worker: _Worker) -> None:
        with self._book:
            self._workers.discard(worker)
            worker.end()


def _end_server() -> None:
    """End the fork server, which may still be loading; otherwise it would stay for another second."""
    server = getattr(getattr(forkserver, "_forkserver", None), "_forkserver_pid", None)  # the library has no public name for it
    if server is not None:
        with suppress(ProcessLookupError):
            os.kill(server, signal.SIGTERM)


@contextmanager
def _interrupt_blocked() -> Iterator[None]:
    """Block the interrupt for processes started here: the terminal sends it to all, and one that is loading would fail."""
    if sys.platform == "win32":  # signals cannot be blocked there
        yield
    else:
        resource_tracker.ensure_running()  # which would otherwise be started below, and unblock interrupts
        before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
        try:
            yield
        finally:
            signal.pthread_sigmask(signal.SIG_SETMASK, before)


def _serve(pipe: _Pipe, work: Callable[..., Any]) -> None:
    """The loop of a worker: do the work that comes through its pipe, and send back the result or the error."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # the terminal sends it to all; the parent ends the workers in order
    signal.signal(signal.SIGTERM, _leave)
    threading.Thread(target=_leave_with_parent, daemon=True).start()
    gc.collect()
    gc.freeze()  # loaded modules stay, so the collector need not scan them
    with ThreadPoolExecutor(1) as executor:
        while True:
            try:
                args, kwargs = pipe.recv()
                done = executor.submit(work, *args, **kwargs)
                error = done.exception()
                # as text, because not every error can be pickled
                pipe.send((None, f"{type(error).__name__}: {error}") if error is not None else (done.result(), None))
            except (EOFError, ConnectionError):
                return


def _leave(number: int, _frame: FrameType | None) -> None:
    """End in the middle of the work, on a signal."""
    take_away()
    os._exit(128 + number)


def _leave_with_parent() -> None:
    """Wait for the parent to end, and end too, as nobody is left to take the result."""
    parent = multiprocessing.parent_process()
    if parent is not None:
        wait([parent.sentinel])
        take_away()
        os._exit(1)
