"""The class that is being graded, in a process of its own: begun, followed, stopped. One at most, so that pages stay quick."""

from __future__ import annotations

import json
import os
import subprocess
import sys
import time
from dataclasses import dataclass, field
from threading import Thread
from typing import Any

from analyzer.errors import DeskError

__all__ = ["Run", "Runs"]

# as for the workers of the command line, one thread of linear algebra each, and none of the terminal's Ctrl-C
_THREADS = {"OPENBLAS_NUM_THREADS": "1", "OMP_NUM_THREADS": "1"}
_LOW = getattr(subprocess, "BELOW_NORMAL_PRIORITY_CLASS", 0)  # on Windows; elsewhere the process does it itself
_SOON_S = 2.0  # the time that a process has to end by itself


@dataclass
class Run:
    """A run: the class, whether it makes sheets too, how far it is, and what went wrong."""

    name: str
    sheets: bool
    done: int = 0
    total: int = 0
    fault: str = ""
    under_way: bool = True
    stopped: bool = False
    begun_s: float = field(default_factory=time.monotonic)
    _first_s: float | None = None
    _first_done: int = 0

    def heard(self, line: bytes) -> None:
        """Take in a line of the process."""
        try:
            said: dict[str, Any] = json.loads(line)
        except ValueError:
            return
        self.fault = str(said.get("fault", self.fault))
        self.done, self.total = int(said.get("done", self.done)), int(said.get("total", self.total))
        if self.done and self._first_s is None:  # known logs go at once, and would make the rest seem quick
            self._first_s, self._first_done = time.monotonic(), self.done

    def words(self) -> str:
        """How far it is."""
        what = "logs graded, and their sheets made" if self.sheets else "logs graded"
        if self.fault:
            return self.fault
        if self.stopped:
            return f"Stopped. {self.done:,} of {self.total:,} {what}; what is done is kept."
        if not self.under_way:
            return f"{self.done:,} of {self.total:,} {what}."
        if not self.total:
            return "Beginning."
        return f"{self.done:,} of {self.total:,} {what}{self._left()}."

    def _left(self) -> str:
        """About how long it will still take."""
        if self._first_s is None or self.done <= self._first_done or self.done >= self.total:
            return ""
        rate = (self.done - self._first_done) / max(1e-3, time.monotonic() - self._first_s)
        left_s = (self.total - self.done) / rate
        return f", about {left_s / 60.0:.0f} min left" if left_s > 90.0 else f", about {left_s:.0f} s left"


class Runs:
    """The runs over one folder. A thread follows the one that is under way."""

    def __init__(self, folder: str) -> None:
        self._folder = folder
        self._last: dict[str, Run] = {}
        self._process: subprocess.Popen[bytes] | None = None
        self._following: Thread | None = None

    @property
    def busy(self) -> bool:
        """Whether a class is being graded."""
        return any(run.under_way for run in self._last.values())

    def of(self, name: str) -> Run | None:
        """The latest run of a class since the desk was started."""
        return self._last.get(name)

    def begin(self, name: str, *, sheets: bool) -> None:
        """Begin to grade a class, or go on where it was stopped. One that is under way is left alone.

        Raises
        ------
        DeskError
            Another class is being graded, or no process can be started.
        """
        other = next((run.name for run in self._last.values() if run.under_way), None)
        if other == name:
            return
        if other is not None:
            raise DeskError(f"the class {other} is being graded; wait for it, or stop it on its page")
        command = (sys.executable, "-m", "analyzer.desk.class_run", self._folder, name, *(["sheets"] if sheets else []))
        try:
            self._process = subprocess.Popen(  # noqa: S603 (our own program)
                command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL,
                env={**_THREADS, **os.environ}, creationflags=_LOW, start_new_session=True,
            )  # fmt: skip
        except OSError as error:
            raise DeskError(f"no process can be started: {error.strerror}") from error
        run = self._last[name] = Run(name, sheets)
        self._following = Thread(target=_follow, args=(run, self._process), daemon=True)
        self._following.start()

    def stop(self, name: str) -> None:
        """Stop a run at once, and wait for that. What it has graded is kept."""
        run = self._last.get(name)
        if run is None or not run.under_way or self._process is None or self._following is None:
            return
        run.stopped = True
        if self._process.stdin is not None:
            self._process.stdin.close()
        self._following.join(_SOON_S)
        if self._following.is_alive():
            self._process.kill()
            self._following.join(_SOON_S)

    def end(self) -> None:
        """End what is under way, with the desk."""
        for name in tuple(self._last):
            self.stop(name)


def _follow(run: Run, process: subprocess.Popen[bytes]) -> None:
    """Take in what a run says until it ends."""
    if process.stdout is not None:
        with process.stdout:
            for line in process.stdout:
                run.heard(line)
    code = process.wait()
    if process.stdin is not None:
        process.stdin.close()
    if code and not run.stopped and not run.fault:
        run.fault = "The grading ended before its time, perhaps for want of memory. What is graded is kept: go on."
    run.under_way = False
