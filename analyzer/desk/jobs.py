"""The worker processes of the desk. They do all slow work, so that no page waits for the debrief of another."""

from __future__ import annotations

import asyncio
import os
from typing import Any

from analyzer.desk.asked import Refused
from analyzer.desk.perform import PRELOADED, perform
from analyzer.errors import DeskError
from analyzer.grade.worker_processes import Processes, WorkerEndedError, WorkFailedError

__all__ = ["Jobs"]

_LEAST = 2  # workers, so that two pages do not wait for each other


class Jobs:
    """Worker processes, and the number of jobs in progress."""

    def __init__(self) -> None:
        cores = len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1
        self._size = max(_LEAST, cores)
        self._processes = Processes(self._size, perform, PRELOADED)
        self.in_work = 0

    def warm(self) -> None:
        """Start the workers, so that the first page does not wait for the program to load."""
        for _ in range(self._size):
            self._processes.submit("warm")

    async def run(self, name: str, *given: object) -> Any:
        """The result of a job.

        Raises
        ------
        DeskError
            The request is refused, or the work failed; the message says why.
        """
        self.in_work += 1
        try:
            made = await asyncio.wrap_future(self._processes.submit(name, *given))
        except WorkFailedError as error:
            raise DeskError(f"the program itself failed ({error}); please report it") from error
        except WorkerEndedError as error:
            raise DeskError("a worker process ended over this, perhaps for want of memory; try again") from error
        finally:
            self.in_work -= 1
        if isinstance(made, Refused):
            raise DeskError(made.message)
        return made

    def end(self) -> None:
        """End the workers at once."""
        self._processes.give_up()
