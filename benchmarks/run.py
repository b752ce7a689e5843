"""Times of a debrief, stage by stage and as a whole. Run it with ``python benchmarks/run.py``; it needs an installed package.

Times are medians; stages are processor time in a warm process, programs are wall time of a fresh one. Read ratios rather than
milliseconds: the first line gives the time of a fixed bit of plain Python to compare machines by.
"""

from __future__ import annotations

import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path

from hour_log import SAMPLES, write_hour_log

import analyzer
from analyzer.checks.figures import measure
from analyzer.checks.finding import Context
from analyzer.checks.run import run_checks
from analyzer.checks.standard import read_standard
from analyzer.legs.find import find_reversals
from analyzer.motion.smooth import analyse_motion
from analyzer.procedure.charted import resolve
from analyzer.report.exports.write import write_report

PROCEDURE = SAMPLES / "wendle_island_vor24.toml"


def processor_ms(work: Callable[[], object], rounds: int = 9) -> float:
    """Median processor time of some work. [ms]"""
    times = []
    for _ in range(rounds):
        start = time.process_time()
        work()
        times.append(time.process_time() - start)
    return 1e3 * statistics.median(times)


def program_s(*arguments: str, rounds: int = 5) -> float:
    """Median wall time of the command in a fresh process. [s]"""
    times = []
    for _ in range(rounds):
        start = time.perf_counter()
        subprocess.run([sys.executable, "-m", "analyzer", *arguments], check=True, capture_output=True)  # noqa: S603
        times.append(time.perf_counter() - start)
    return statistics.median(times)


def main() -> None:
    """Print the table."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        log = folder / "hour.csv"
        write_hour_log(log)
        print(f"plain Python, a fixed bit     {processor_ms(lambda: [i * i for i in range(200_000)]):8.1f} ms")
        track, procedure, standard = analyzer.read_track(log), analyzer.read_procedure(PROCEDURE), read_standard()
        date = datetime.fromtimestamp(float(track.time_s[0]), tz=UTC).date()
        charted = resolve(procedure, date)
        motion = analyse_motion(track, charted)
        reversals = find_reversals(motion)
        figures = [measure(motion, reversal) for reversal in reversals]
        stages: dict[str, Callable[[], object]] = {
            "read one hour of CSV": lambda: analyzer.read_track(log),
            "resolve the procedure": lambda: resolve(procedure, date),
            "motion": lambda: analyse_motion(track, charted),
            "legs": lambda: find_reversals(motion),
            "figures": lambda: [measure(motion, reversal) for reversal in reversals],
            "checks": lambda: [run_checks(Context(motion, r, f, standard)) for r, f in zip(reversals, figures, strict=True)],
            "analysis, all of it": lambda: analyzer.debrief(track, procedure, standard),
            "page and pictures": lambda: write_report(analyzer.debrief(track, procedure, standard), folder),
        }
        for stage, work in stages.items():
            print(f"{stage:30s}{processor_ms(work):8.1f} ms")
        print(f"{'--help':30s}{1e3 * program_s('--help'):8.0f} ms")
        debrief = ("debrief", str(log), "--procedure", str(PROCEDURE))
        print(f"{'debrief, JSON alone':30s}{1e3 * program_s(*debrief, '--json', '-'):8.0f} ms")
        print(f"{'debrief, page and pictures':30s}{1e3 * program_s(*debrief, '-o', name):8.0f} ms")


if __name__ == "__main__":
    main()
