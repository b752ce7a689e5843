"""Reading and debriefing a log beside a hand-written script that does a tenth of it, as ratios of processor time in one run.

Run ``python benchmarks/beside_script.py [long]``; it needs an installed package. The work is done by turns, the script twice,
so that the ratio of the two shows what differences mean nothing. ``long`` adds a log of 24 hours at ten positions a second, and
the greatest memory that each length takes, in a process of its own. One thread is left to the linear algebra.
"""

from __future__ import annotations

import os
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path

import numpy as np
from hour_log import SAMPLES, write_hour_log
from script import summarise

import analyzer
from analyzer.motion.smooth import analyse_motion
from analyzer.procedure.charted import resolve

PROCEDURE = SAMPLES / "wendle_island_vor24.toml"
_WHOLE = """
import sys, analyzer
analyzer.debrief(analyzer.read_track(sys.argv[1]), analyzer.read_procedure(sys.argv[2]))
print(next(line.split()[1] for line in open("/proc/self/status") if line.startswith("VmHWM")))
"""


def write_log(path: Path, hours: int, rate: int) -> None:
    """A log of the benchmarks' cruise and the flight that it leads to: so many hours, at so many positions a second."""
    write_hour_log(path, 3600 * hours)
    if rate == 1:
        return
    track, procedure = analyzer.read_track(path), analyzer.read_procedure(PROCEDURE)
    motion = analyse_motion(track, resolve(procedure, datetime.fromtimestamp(float(track.time_s[0]), tz=UTC).date()))
    times = np.arange(float(track.time_s[0]), float(track.time_s[-1]), 1.0 / rate)
    states, chance = motion.curves.at(times), np.random.default_rng(3)
    latitude = np.degrees(states.latitude_rad) + chance.normal(0.0, 3e-6, len(times))
    longitude = np.degrees(states.longitude_rad) + chance.normal(0.0, 4e-6, len(times))
    altitude = states.altitude_m / 0.3048 + chance.normal(0.0, 1.0, len(times))
    with path.open("w", encoding="utf-8") as file:
        file.write("time_utc,latitude_deg,longitude_deg,altitude_ft\n")
        for moment, y, x, z in zip(times.tolist(), latitude.tolist(), longitude.tolist(), altitude.tolist(), strict=True):
            stamp = datetime.fromtimestamp(round(moment, 3), tz=UTC).isoformat(timespec="milliseconds")
            file.write(f"{stamp.removesuffix('+00:00')}Z,{y:.7f},{x:.7f},{z:.1f}\n")


def medians_ms(works: dict[str, Callable[[], object]], rounds: int) -> dict[str, float]:
    """Median processor time of each of some works, done by turns. [ms]"""
    times: dict[str, list[float]] = {name: [] for name in works}
    for work in works.values():
        work()
    for _ in range(rounds):
        for name, work in works.items():
            start = time.process_time()
            work()
            times[name].append(time.process_time() - start)
    return {name: 1e3 * statistics.median(taken) for name, taken in times.items()}


def main() -> None:
    """Print the table."""
    one_thread = dict.fromkeys(("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS"), "1")
    if not one_thread.items() <= os.environ.items():  # numpy looks at them when it is loaded
        os.execve(sys.executable, [sys.executable, *sys.argv], {**os.environ, **one_thread})  # noqa: S606
    long = sys.argv[1:] == ["long"]
    procedure = analyzer.read_procedure(PROCEDURE)
    fix = procedure.fix.latitude_deg, procedure.fix.longitude_deg
    print("log                script ms  again  read  debrief  together" + ("    peak MB" if long else ""))
    with tempfile.TemporaryDirectory() as name:
        path = Path(name) / "log.csv"
        for hours, rate, rounds in ((1, 1, 31), (4, 5, 9), *([(24, 10, 3)] if long else [])):
            write_log(path, hours, rate)
            track = analyzer.read_track(path)
            taken = medians_ms(
                {
                    "script": lambda: summarise(path, *fix),
                    "again": lambda: summarise(path, *fix),
                    "read": lambda: analyzer.read_track(path),
                    "debrief": lambda track=track: analyzer.debrief(track, procedure),
                },
                rounds,
            )
            again, read, debrief = (taken[work] / taken["script"] for work in ("again", "read", "debrief"))
            row = f"{hours:2d} h at {rate:2d} Hz     {taken['script']:11.1f}  {again:5.2f}  {read:4.2f}  {debrief:7.2f}"
            row += f"  {read + debrief:8.2f}"
            if long:
                command = [sys.executable, "-c", _WHOLE, str(path), str(PROCEDURE)]
                row += f"  {int(subprocess.run(command, check=True, capture_output=True).stdout) / 1e3:9.0f}"  # noqa: S603
            print(row, flush=True)


if __name__ == "__main__":
    main()
