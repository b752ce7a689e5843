"""Worker processes of this machine, each with a pipe of its own.

A thread here waits on each pipe. Nothing is shared between workers, no lock and no queue, so one that ends in the middle,
however it ends, takes its own few logs with it and nothing else; a new one takes its place. The standard library's pool shares
its queues: when a worker is lost it is shut down whole, and what is handed over at that moment may wait for ever.

Workers are forked from a server that has loaded the program once and holds nothing else. They leave the interrupt to who hands
out the work. An idle one ends when its pipe does; one at work ends as soon as the process that handed the work out is gone,
however that ended.
"""

from __future__ import annotations

import gc
import multiprocessing
import os
import signal
import threading
import time
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import Future, ThreadPoolExecutor
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from multiprocessing import forkserver, resource_tracker
from multiprocessing.connection import Connection, wait
from multiprocessing.process import BaseProcess
from queue import Empty, SimpleQueue
from types import FrameType
from typing import Any, Generic, ParamSpec, TypeVar

from analyzer.temporary import take_away

__all__ = ["Processes", "WorkFailedError", "WorkerEndedError"]

Given = ParamSpec("Given")
Made = TypeVar("Made")
_END_S = 30.0  # s; how long an idle worker has to end
_END_AT_ONCE_S = 0.3  # s; how long all workers together have, where nobody waits for their work


class WorkerEndedError(Exception):
    """A worker process ended over its work, or there is no room for one."""


class WorkFailedError(Exception):
    """The work raised an error: its kind and what it says."""


@dataclass(frozen=True, eq=False)
class _Worker:
    process: BaseProcess
    pipe: Connection

    def is_gone(self) -> bool:
        """Whether an idle worker has ended: it says nothing, so that what could be read is the end of its pipe."""
        try:
            return self.pipe.poll()
        except OSError:
            return True

    def end(self) -> None:
        """Let it end, by closing its pipe; make it, where it does not."""
        self.pipe.close()
        self.process.join(_END_S)
        if self.process.is_alive():
            self.process.kill()
            self.process.join()
        self.process.close()


class Processes(Generic[Given, Made]):
    """Up to so many worker processes, begun as they are needed, all for one kind of work: a function of a module.

    `preloaded` names the modules that the server loads before it forks, else that of the function.
    """

    def __init__(self, size: int, work: Callable[Given, Made], preloaded: Sequence[str] = ()) -> None:
        self._work = work
        self._threads = ThreadPoolExecutor(size)
        self._idle: SimpleQueue[_Worker] = SimpleQueue()
        self._workers: set[_Worker] = set()
        self._given_up = False
        self._book = threading.Lock()  # on multiprocessing's book of children, which is not made for threads
        methods = multiprocessing.get_all_start_methods()
        self._context = multiprocessing.get_context("forkserver" if "forkserver" in methods else "spawn")
        if "forkserver" in methods:
            self._context.set_forkserver_preload(list(preloaded or [work.__module__]))

    def submit(self, *given: Given.args, **named: Given.kwargs) -> Future[Made]:
        """Hand over some work; the future has what it gives, `WorkFailedError` or `WorkerEndedError`."""
        return self._threads.submit(self._handed_over, *given, **named)

    def end(self) -> None:
        """Wait for what is in work, drop what is not, and end the workers."""
        self._threads.shutdown(wait=True, cancel_futures=True)
        while (worker := self._taken()) is not None:
            self._end(worker)

    def give_up(self) -> None:
        """End the workers at once, whatever they are at. Waits for no lock, so that a signal's handler may call it."""
        self._given_up = True  # a worker that is begun at this moment gets no work
        workers = [worker.process for worker in tuple(self._workers)]
        there = []
        for process in workers:
            with suppress(ValueError):  # ended and closed meanwhile, by the thread that waited for it
                there.append(process.sentinel)
                process.terminate()
        until = time.monotonic() + _END_AT_ONCE_S
        with suppress(OSError, ValueError):
            while there and (ended := wait(there, max(0.0, until - time.monotonic()))):
                there = [sentinel for sentinel in there if sentinel not in ended]
        for process in workers:
            with suppress(ValueError):
                process.kill()
        _end_server()

    def _handed_over(self, *given: Given.args, **named: Given.kwargs) -> Made:
        try:
            worker = self._taken() or self._begun()
        except (EOFError, OSError) as error:  # the first where the server that forks had no room
            raise WorkerEndedError(f"no worker can be begun: {error}") from error
        try:
            if self._given_up:
                worker.pipe.close()
            worker.pipe.send((given, named))
            made, defect = worker.pipe.recv()
        except (EOFError, OSError) as ended:
            self._end(worker)
            raise WorkerEndedError("a worker ended over its work") from ended
        self._idle.put(worker)
        if defect is not None:
            raise WorkFailedError(defect)
        return made  # type: ignore[no-any-return]  # what `_serve` sends

    def _taken(self) -> _Worker | None:
        """An idle worker that is still there; None if there is none."""
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
            its.close()  # so that ours ends when the worker does
            worker = _Worker(process, ours)
            self._workers.add(worker)
            return worker

    def _end(self, worker: _Worker) -> None:
        with self._book:
            self._workers.discard(worker)
            worker.end()


def _end_server() -> None:
    """End the server that forks, which may still be loading; else it would be there for a second more."""
    server = getattr(getattr(forkserver, "_forkserver", None), "_forkserver_pid", None)  # the library has no public name for it
    if server is not None:
        with suppress(ProcessLookupError):
            os.kill(server, signal.SIGTERM)


@contextmanager
def _interrupt_blocked() -> Iterator[None]:
    """Let no interrupt come to processes begun here: the terminal sends it to all, and one that is loading would fail of it."""
    if not hasattr(signal, "pthread_sigmask"):
        yield
        return
    resource_tracker.ensure_running()  # which else is begun below, and lets interrupts through again
    before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)


def _serve(pipe: Connection, work: Callable[..., Any]) -> None:
    """What a worker does: work off what comes through its pipe, and send back what came of it or the error."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # the terminal sends it to all; who handed out the work ends it in order
    signal.signal(signal.SIGTERM, _leave)
    threading.Thread(target=_leave_with_parent, daemon=True).start()
    gc.collect()
    gc.freeze()  # what is loaded stays: collecting looks at nothing but what the work leaves
    with ThreadPoolExecutor(1) as executor:
        while True:
            try:
                given, named = pipe.recv()
                done = executor.submit(work, *given, **named)
                error = done.exception()
                # as text, since not every error can be sent
                pipe.send((None, f"{type(error).__name__}: {error}") if error is not None else (done.result(), None))
            except (EOFError, ConnectionError):
                return


def _leave(number: int, _frame: FrameType | None) -> None:
    """End in the middle of the work, as a signal asks."""
    take_away()
    os._exit(128 + number)


def _leave_with_parent() -> None:
    """Wait for the process that hands out the work to end, and end too: nobody is left to take what is in work."""
    parent = multiprocessing.parent_process()
    if parent is not None:
        wait([parent.sentinel])
        take_away()
        os._exit(1)
