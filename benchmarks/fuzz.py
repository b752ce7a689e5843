"""Valid logs of all formats damaged by chance and read: nothing but a track or an error in words may come of it.

Run it with ``python benchmarks/fuzz.py --inputs 20000``. It tells the inputs by the kind that was damaged, crashes (any
exception but `AnalyzerError`, and any warning), hangs (more than 5 s), text that would steer a terminal, the worst time and the
worst memory.
"""

from __future__ import annotations

import argparse
import resource
import signal
import sys
import tempfile
import time
import traceback
import warnings
from collections import Counter
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path

from analyzer.errors import AnalyzerError
from analyzer.report.words.inspect_text import inspect_text
from analyzer.track.limits import Limits
from analyzer.track.log_format import log_format_text
from analyzer.track.read import ReadOptions, read_track

sys.path.insert(0, str(Path(__file__).resolve().parent.parent / "tests" / "track"))
from flights import flown
from log_writers import WRITERS
from mutations import damaged

HANG_S = 5.0
BATCH = 500
MIB = 1024.0  # of the kibibytes that the system counts in
OPTIONS = (
    ReadOptions(),
    ReadOptions(altitude_required=False, start=datetime(2026, 5, 1, 14, tzinfo=UTC)),
    ReadOptions(units={"altitude": "ft"}, limits=Limits(max_bytes=150_000, max_samples=500)),
)


class HangError(BaseException):
    """An input took too long."""


@dataclass
class Tally:
    """What came of some inputs."""

    kinds: Counter[str] = field(default_factory=Counter)
    read: int = 0
    refused: int = 0
    faults: list[str] = field(default_factory=list)
    worst_s: float = 0.0
    worst_seed: int = -1
    worst_mib: float = 0.0

    def add(self, other: Tally) -> None:
        """Those of another batch too."""
        self.kinds += other.kinds
        self.read += other.read
        self.refused += other.refused
        self.faults += other.faults
        if other.worst_s > self.worst_s:
            self.worst_s, self.worst_seed = other.worst_s, other.worst_seed
        self.worst_mib = max(self.worst_mib, other.worst_mib)


def _too_long(*_: object) -> None:
    raise HangError


def steers(text: str) -> bool:
    """Whether text holds more than letters and line breaks."""
    return not text.replace("\n", "").isprintable()


def try_one(path: Path, options: ReadOptions, tally: Tally, name: str) -> None:
    """Read one damaged file; whatever is no track and no error in words is a fault."""
    signal.setitimer(signal.ITIMER_REAL, HANG_S)
    try:
        track = read_track(path, options)
        shown = inspect_text(track) + log_format_text(track, options)
        tally.read += 1
    except AnalyzerError as error:
        shown = str(error)
        tally.refused += 1
        if shown.count("\n") > 1 or path.name not in shown:
            tally.faults.append(f"{name}: an error without a place, or too long: {shown[:200]!r}")
    except HangError:
        tally.faults.append(f"{name}: hang")
        return
    except Exception:  # noqa: BLE001 (this is what is looked for)
        tally.faults.append(f"{name}: crash\n{traceback.format_exc()}")
        return
    finally:
        signal.setitimer(signal.ITIMER_REAL, 0.0)
    if steers(shown):
        tally.faults.append(f"{name}: text that would steer a terminal: {shown[:300]!r}")


def run_batch(first: int, count: int) -> Tally:
    """The inputs from `first` on."""
    signal.signal(signal.SIGALRM, _too_long)
    warnings.simplefilter("error")  # nothing may be said beside the track or the error
    names = sorted(WRITERS)
    flights = (flown(40), flown(3), flown(120, step_s=0.5), flown(40, at=(-17.0, 179.999)))
    valid = {name: [WRITERS[name](flight) for flight in flights] for name in names}
    tally = Tally()
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "log"
        for seed in range(first, first + count):
            kind = names[seed % len(names)]
            path.write_bytes(damaged(valid[kind], seed))
            tally.kinds[kind] += 1
            start = time.perf_counter()
            try_one(path, OPTIONS[seed // len(names) % len(OPTIONS)], tally, f"{kind}, input {seed}")
            took = time.perf_counter() - start
            if took > tally.worst_s:
                tally.worst_s, tally.worst_seed = took, seed
    tally.worst_mib = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / MIB
    return tally


def main() -> int:
    """Run and print the tally; 1 where there is a fault."""
    parser = argparse.ArgumentParser(description="Damaged logs, read.")
    parser.add_argument("--inputs", type=int, default=20_000, metavar="N")
    parser.add_argument("--first", type=int, default=0, metavar="SEED", help="number of the first input")
    parser.add_argument("--workers", type=int, default=2, metavar="N")
    asked = parser.parse_args()
    batches = range(asked.first, asked.first + asked.inputs, BATCH)
    total, start = Tally(), time.perf_counter()
    with ProcessPoolExecutor(asked.workers) as pool:
        for tally in pool.map(run_batch, batches, [min(BATCH, asked.first + asked.inputs - first) for first in batches]):
            total.add(tally)
            for fault in tally.faults:
                print(fault, flush=True)
    took = time.perf_counter() - start
    print(f"{asked.inputs:,} inputs in {took:.0f} s: {total.read:,} read, {total.refused:,} refused in words")
    for kind, count in sorted(total.kinds.items()):
        print(f"  {kind:20s}{count:8,}")
    print(f"faults                {len(total.faults):8,}")
    print(f"worst time            {total.worst_s:8.3f} s (input {total.worst_seed})")
    print(f"worst memory          {total.worst_mib:8.0f} MiB of a whole process")
    return 1 if total.faults else 0


if __name__ == "__main__":
    sys.exit(main())
