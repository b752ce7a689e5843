"""How grading scales: logs a second, processor time a log and memory a worker, with one and two workers, from 100 logs up.

Run it with ``python benchmarks/grade.py [100 1000 10000]``. The logs are one hour at a position a second, varied, made before
anything is timed. The first line gives the time of a fixed bit of plain Python, for other machines and busy moments; it is
taken again beside every row, and so are the cores that other programs took meanwhile. Memory is the greatest resident size of
the first process and of any other, read from ``/proc`` while they work.
"""

from __future__ import annotations

import contextlib
import os
import shutil
import statistics
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path
from typing import Self

import numpy as np
from hour_log import SAMPLES, write_hour_log

from analyzer.grade.one_log import grade_some
from analyzer.grade.task import Task
from analyzer.gradebook.settings import read_settings

PROCEDURE = SAMPLES / "wendle_island_vor24.toml"
_TICK_S = 0.1
_PAGE_MB, _TICKS = os.sysconf("SC_PAGE_SIZE") / 1e6, os.sysconf("SC_CLK_TCK")


def plain_ms() -> float:
    """Time of a fixed bit of plain Python, median. [ms]"""
    times = []
    for _ in range(9):
        start = time.process_time()
        [i * i for i in range(200_000)]
        times.append(time.process_time() - start)
    return 1e3 * statistics.median(times)


def write_logs(folder: Path, number: int) -> None:
    """Logs of one hour: the flight of the benchmarks, each with its own hour of the day, shift and scatter."""
    folder.mkdir()
    model = folder.parent / "hour.csv"
    if not model.exists():
        write_hour_log(model)
    rows = [line.split(",") for line in model.read_text(encoding="utf-8").splitlines()[1:]]
    first = datetime.fromisoformat(rows[0][0]).timestamp()
    position = np.array([[float(row[1]), float(row[2]), float(row[3])] for row in rows])
    for k in range(number):
        chance = np.random.default_rng(k)
        start = first + 86_400.0 * (k % 60) - 3_600.0 * (k % 5)
        moved = position + chance.normal(0.0, (2e-4, 3e-4, 20.0)) + chance.normal(0.0, (3e-6, 4e-6, 1.0), position.shape)
        times = (datetime.fromtimestamp(start + i, tz=UTC).strftime("%Y-%m-%dT%H:%M:%SZ") for i in range(len(rows)))
        lines = (f"{t},{a:.5f},{b:.5f},{c:.0f}\n" for t, (a, b, c) in zip(times, moved.tolist(), strict=True))
        text = "time_utc,latitude_deg,longitude_deg,altitude_ft\n" + "".join(lines)
        (folder / f"log{k:06d}.csv").write_text(text, encoding="utf-8")


class Watch:
    """Watches a process and those below it: the greatest resident size of the first and of any other, and their time."""

    def __init__(self, pid: int) -> None:
        self.first_mb = self.worst_mb = 0.0
        self._spent: dict[int, float] = {}
        self._pid, self._over = pid, threading.Event()
        self._thread = threading.Thread(target=self._look)

    def __enter__(self) -> Self:
        self._thread.start()
        return self

    def __exit__(self, *_: object) -> None:
        self._over.set()
        self._thread.join()

    @property
    def spent_s(self) -> float:
        """Processor time of all of them, as last seen."""
        return sum(self._spent.values())

    def _look(self) -> None:
        while not self._over.wait(_TICK_S):
            for pid in (self._pid, *_below(self._pid)):
                with contextlib.suppress(OSError, IndexError):
                    told = Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()
                    self._spent[pid] = (int(told[11]) + int(told[12])) / _TICKS
                    size = int(told[21]) * _PAGE_MB
                    if pid == self._pid:
                        self.first_mb = max(self.first_mb, size)
                    else:
                        self.worst_mb = max(self.worst_mb, size)


def _below(pid: int) -> list[int]:
    found: list[int] = []
    for children in Path(f"/proc/{pid}/task").glob("*/children"):  # whichever of its threads began them
        with contextlib.suppress(OSError):
            for child in children.read_text().split():
                found += [int(child), *_below(int(child))]
    return found


def busy_s() -> float:
    """Processor time that the whole machine has spent. [s]"""
    told = Path("/proc/stat").read_text().split("\n", 1)[0].split()[1:]
    return (sum(map(int, told)) - int(told[3]) - int(told[4])) / _TICKS


def graded(logs: Path, output: Path, workers: int) -> tuple[float, Watch, float]:
    """Wall time of a run [s], what was watched of it, and how many cores others took meanwhile."""
    before, start = busy_s(), time.perf_counter()
    arguments = ["grade", str(logs), "-p", str(PROCEDURE), "-o", str(output), "--workers", str(workers)]
    command = [sys.executable, "-m", "analyzer", *arguments]
    with subprocess.Popen(command, stdout=subprocess.DEVNULL) as process, Watch(process.pid) as watch:  # noqa: S603
        process.wait()
    if process.returncode:
        raise SystemExit(f"grading failed: {process.returncode}")
    wall = time.perf_counter() - start
    return wall, watch, max(0.0, busy_s() - before - watch.spent_s) / wall


def stages(logs: Path) -> None:
    """Processor time of the stages of one log, in this process."""
    from analyzer.checks.figures import measure
    from analyzer.checks.finding import Context
    from analyzer.checks.run import run_checks
    from analyzer.legs.find import find_reversals
    from analyzer.motion.smooth import analyse_motion
    from analyzer.procedure.charted import resolve
    from analyzer.track.read import read_track

    paths = sorted(logs.iterdir())[:25]
    settings = read_settings(PROCEDURE)
    procedure, standard = settings.candidates[0].procedure, settings.standard

    def shown(name: str, work: Callable[[], object]) -> float:
        start = time.process_time()
        work()
        spent = 1e3 * (time.process_time() - start) / len(paths)
        print(f"  {name:32s}{spent:8.1f} ms a log")
        return spent

    tasks = [Task(path.name, str(path), path.stat().st_size) for path in paths]
    grade_some(settings, tasks[:2])
    tracks = [read_track(path) for path in paths]
    charted = resolve(procedure, datetime.fromtimestamp(float(tracks[0].time_s[0]), tz=UTC).date())
    motions = [analyse_motion(track, charted) for track in tracks]
    flights = [(motion, reversal) for motion in motions for reversal in find_reversals(motion)]
    contexts = [Context(motion, reversal, measure(motion, reversal), standard) for motion, reversal in flights]
    told = [
        shown("reading CSV", lambda: [read_track(path) for path in paths]),
        shown("motion", lambda: [analyse_motion(track, charted) for track in tracks]),
        shown("legs", lambda: [find_reversals(motion) for motion in motions]),
        shown("figures", lambda: [measure(*flight) for flight in flights]),
        shown("checks", lambda: [run_checks(context) for context in contexts]),
    ]
    whole = shown("all the work on a log", lambda: grade_some(settings, tasks))
    print(f"  {'digest, mark, document, the rest':32s}{whole - sum(told):8.1f} ms a log")


def main() -> None:
    """Print the table."""
    numbers = [int(argument) for argument in sys.argv[1:]] or [100, 1000]
    print(f"plain Python, a fixed bit {plain_ms():.1f} ms")
    with tempfile.TemporaryDirectory() as name:
        base = Path(name)
        for number in numbers:
            logs = base / f"logs{number}"
            write_logs(logs, number)
            if number == numbers[0]:
                stages(logs)
                print(
                    "   logs  workers  logs/s  CPU ms a log  first process MB  worker MB  again logs/s  plain ms  others, cores"
                )
            sizes = sum(path.stat().st_size for path in logs.iterdir())
            for workers in (1, 2):
                output = base / f"out{number}-{workers}"
                plain = plain_ms()
                wall, watch, others = graded(logs, output, workers)
                again, *_ = graded(logs, output, workers)
                row = f"{number:7d}  {workers:7d}  {number / wall:6.1f}  {1e3 * watch.spent_s / number:12.1f}"
                row += f"  {watch.first_mb:16.0f}  {watch.worst_mb:9.0f}  {number / again:12.1f}  {plain:8.1f}  {others:13.2f}"
                print(row, flush=True)
            kept = sum(path.stat().st_size for path in output.rglob("*.jsonl"))
            table = sum((output / name).stat().st_size for name in ("grades.csv", "details.csv"))
            print(
                f"         bytes a log: {sizes / number:,.0f} read, {kept / number:,.0f} of rows, {table / number:,.0f} of CSV"
            )
            shutil.rmtree(logs)


if __name__ == "__main__":
    main()
