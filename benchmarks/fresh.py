"""What a command costs from a shell: processor time of fresh processes, as ratios to peers in the same run.

Run it with ``python benchmarks/fresh.py [ROUNDS]``; it needs an installed package. Peers and commands take turns, so that the
load of other programs falls on all alike; read the ratios, and none below 1.15 as a difference.
"""

from __future__ import annotations

import os
import resource
import statistics
import subprocess
import sys
import tempfile
from pathlib import Path

SAMPLES = Path(__file__).resolve().parents[1] / "sample_tracks"
CHART = str(SAMPLES / "wendle_island_vor24.toml")
LOGS = [str(SAMPLES / "clean.csv"), str(SAMPLES / "strong_wind.csv")]
ANALYZER = ["-m", "analyzer"]
DEBRIEF = [*ANALYZER, "debrief", LOGS[1], "-p", CHART]
PEERS = {
    "bare Python": ["-c", "pass"],
    "import numpy and scipy's LAPACK": ["-c", "import numpy, scipy.linalg.lapack"],
    "import numpy and matplotlib's figure": ["-c", "import numpy, matplotlib.figure"],
}
# Each with what it is compared with: a peer, or a command.
COMMANDS = {
    "--help": ([*ANALYZER, "--help"], "bare Python"),
    "debrief to JSON": ([*DEBRIEF, "--json", "-"], "import numpy and scipy's LAPACK"),
    "debrief with page": ([*DEBRIEF, "-o", "out", "--force"], "import numpy and matplotlib's figure"),
    "brief with page and PDF": (
        [*ANALYZER, "brief", CHART, "--speed", "110", "--speed", "final=90", "--wind", "240/25", "-o", "brief", "--force"],
        "debrief with page",
    ),
    "comparison of ten": ([*ANALYZER, "compare", "ten", "-p", CHART, "-o", "compared", "--force"], "debrief with page"),
}


def processor_ms(arguments: list[str], folder: Path) -> float:
    """Processor time of a fresh process. [ms]"""
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    environment = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
    subprocess.run([sys.executable, *arguments], cwd=folder, env=environment, capture_output=True, check=True)  # noqa: S603
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    return 1e3 * (after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime)


def ten_logs(folder: Path) -> list[str]:
    """Two flights, each begun at five instants."""
    made = []
    for log in LOGS:
        header, *rows = Path(log).read_text(encoding="utf-8").splitlines(keepends=True)
        for later in range(0, 15, 3):
            path = folder / f"{len(made):02d}.csv"
            path.write_text("".join([header, *rows[later:]]), encoding="utf-8")
            made.append(str(path))
    return made


def main(rounds: int) -> None:
    """Print the medians of some rounds, and each command's ratio to its peer."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        ten = ten_logs(folder)
        commands = {
            title: [part for one in given for part in (ten if one == "ten" else [one])]
            for title, (given, _) in COMMANDS.items()
        }
        all_of_them = PEERS | commands
        times: dict[str, list[float]] = {title: [] for title in all_of_them}
        for number in range(rounds + 1):  # the first round fills caches
            for title, arguments in all_of_them.items():
                taken = processor_ms(arguments, folder)
                if number:
                    times[title].append(taken)
    for title, taken in times.items():
        line = f"{title:38} {statistics.median(taken):7.0f} ms"
        if title in COMMANDS:
            peer = COMMANDS[title][1]
            ratio = statistics.median(one / other for one, other in zip(taken, times[peer], strict=True))
            line += f"  {ratio:5.2f} x {peer}"
        print(line)


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 7)
