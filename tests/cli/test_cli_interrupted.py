"""Killed while it writes, or fed with what would fill the machine: the old report or the new one, and memory within bounds."""

import gzip
import shutil
import signal
import subprocess
import sys
from pathlib import Path

import pytest
from command_line import CLEAN, MODULE, PROCEDURE

FORMATS = "html,json,csv"
MIB = 2**20
# the program as it is, but that a signal ends it just before the n-th file takes its place
KILLED = """
import os, pathlib, signal, sys
left, replace = [int(sys.argv.pop(1))], pathlib.Path.replace
def killing(self, target):
    left[0] -= 1
    if left[0] == 0:
        os.kill(os.getpid(), signal.SIGKILL)
    return replace(self, target)
pathlib.Path.replace = killing
from analyzer.cli.app import main
main()
"""

# interrupted while another thread draws, on a machine that is slow to end it
DRAWING = """
import os, signal, threading, time
from analyzer.cli.interrupt import ended_at_once
drawn, end = threading.Event(), os._exit
os._exit = lambda code: (time.sleep(0.2), end(code))
def draw():
    while True:
        os.write(2, b"bar\\n")
        drawn.set()
with ended_at_once(lambda: "what is kept", lambda: None):
    threading.Thread(target=draw, daemon=True).start()
    drawn.wait()
    os.kill(os.getpid(), signal.SIGINT)
    time.sleep(60.0)
"""


def arguments(log: Path, folder: Path) -> list[str]:
    return ["debrief", str(log), "--procedure", str(PROCEDURE), "--format", FORMATS, "-o", str(folder)]


def contents(folder: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in folder.iterdir() if not path.name.startswith(".writing-")}


@pytest.fixture(scope="module")
def reports(tmp_path_factory) -> tuple[Path, dict[str, bytes], dict[str, bytes]]:
    """A folder with the report of a flight, and the reports of it and of a shorter log of it under the same names."""
    folder = tmp_path_factory.mktemp("reports")
    made, rows = [], CLEAN.read_text(encoding="utf-8").splitlines(keepends=True)
    for name, kept in (("whole", rows), ("shorter", rows[:-30])):
        log = folder / name / "log.csv"
        log.parent.mkdir()
        log.write_text("".join(kept), encoding="utf-8")
        subprocess.run([*MODULE, *arguments(log, log.parent / "out")], check=True, capture_output=True)  # noqa: S603
        made.append(contents(log.parent / "out"))
    return folder, made[0], made[1]


@pytest.mark.parametrize("number", [1, 2, 4])
def test_every_file_is_the_old_one_or_the_new_one(reports, tmp_path, number):
    folder, old, new = reports
    assert old.keys() == new.keys()
    assert all(old[name] != new[name] for name in old)
    out = tmp_path / "out"
    shutil.copytree(folder / "whole" / "out", out)
    command = [sys.executable, "-c", KILLED, str(number), *arguments(folder / "shorter" / "log.csv", out)]
    done = subprocess.run(command, capture_output=True, check=False)  # noqa: S603
    assert done.returncode == -signal.SIGKILL
    left = contents(out)
    assert left.keys() == old.keys()
    assert all(left[name] in (old[name], new[name]) for name in left)
    assert sum(left[name] == new[name] for name in left) == number - 1


def test_two_runs_into_one_folder_leave_whole_files(reports, tmp_path):
    """Two logs whose reports have the same names, written at once: at every look each file is the one or the other."""
    folder, clean, windy = reports
    out = tmp_path / "out"
    shutil.copytree(folder / "whole" / "out", out)
    commands = [[*MODULE, *arguments(folder / name / "log.csv", out)] for name in ("whole", "shorter")] * 2
    runs = [subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE) for command in commands]  # noqa: S603
    looks = 0
    while any(run.poll() is None for run in runs):
        seen = contents(out)
        assert all(seen[name] in (clean[name], windy[name]) for name in seen)
        looks += 1
    assert [run.communicate()[1] for run in runs] == [b""] * len(runs)
    assert [run.returncode for run in runs] == [0] * len(runs)
    assert looks > len(runs)
    left = contents(out)
    assert left.keys() == clean.keys()
    assert not [path for path in out.iterdir() if path.name.startswith(".writing-")]


# the program as it is, and its peak memory in KiB: asked by a parent, the answer would include the parent's own
MEASURED = """
import atexit, pathlib, sys
@atexit.register
def tell():
    status = pathlib.Path("/proc/self/status").read_text()
    sys.stderr.write(status.split("VmHWM:")[1].split()[0])
from analyzer.cli.app import main
main()
"""


def peak_mib(*arguments: str) -> tuple[int, float]:
    """Exit code and greatest memory of the program."""
    command = [sys.executable, "-c", MEASURED, *arguments]
    done = subprocess.run(command, capture_output=True, text=True, check=False)  # noqa: S603
    return done.returncode, float(done.stderr.split()[-1]) / 1024.0


@pytest.mark.skipif(sys.platform != "linux", reason="needs Linux to tell a program's memory")
class TestMemory:
    def test_a_file_that_unpacks_to_a_huge_one_stops_early(self, tmp_path):
        bomb = tmp_path / "bomb.csv.gz"
        with gzip.open(bomb, "wb", compresslevel=9) as packed:
            for _ in range(1000):
                packed.write(b"time,lat,lon,altitude ft\n" * (MIB // 25))
        assert bomb.stat().st_size < 5 * MIB
        usual = peak_mib("inspect", str(CLEAN))
        code, peak = peak_mib("inspect", str(bomb), "--max-bytes", str(20 * MIB))
        assert usual[0] == 0
        assert code == 2
        assert peak < usual[1] + 3 * 20  # the pieces, and them together

    def test_more_samples_than_allowed_stop_early(self, tmp_path):
        log = tmp_path / "long.csv"
        row = "2026-06-01T10:00:00Z,41.2,-38.4,3000\n"
        log.write_text("time,lat,lon,altitude ft\n" + row * 1_000_000, encoding="utf-8")
        code, peak = peak_mib("inspect", str(log), "--max-samples", "1000")
        assert code == 2
        assert peak < 400.0


def test_nothing_is_drawn_below_the_last_line():
    """A progress bar is drawn by a thread of its own, which would draw it once more."""
    done = subprocess.run([sys.executable, "-c", DRAWING], capture_output=True, check=False)  # noqa: S603
    assert done.returncode == 130  # 128 and the signal's number, as shells have it
    assert done.stderr.endswith(b"bar\nanalyzer: what is kept\n")
