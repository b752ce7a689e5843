"""A class graded from a page of the desk, measured in a browser, and how long a debrief takes meanwhile.

    python benchmarks/desk_class.py [LOGS]

The logs are those of `benchmarks/grade.py`, one hour at a position a second. Debriefs are of such a log too, made anew each
time. Needs Debian's chromium and playwright. Times are wall-clock seconds; CPU seconds are those of the process that grades and
of all that it began.
"""

from __future__ import annotations

import os
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from grade import plain_ms, write_logs
from hour_log import SAMPLES, write_hour_log
from playwright.sync_api import Page, sync_playwright

_TICKS = os.sysconf("SC_CLK_TCK")
_CARD = 'procedure = "wendle_island_vor24.toml"\n'


def main() -> None:
    """Print the measurements."""
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 200
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name) / "desk"
        for room in ("procedures", "logs", "classes"):
            (folder / room).mkdir(parents=True)
        shutil.copy(SAMPLES / "wendle_island_vor24.toml", folder / "procedures")
        write_hour_log(folder / "logs" / "hour.csv")
        write_logs(folder / "classes" / "many", count)
        desk = subprocess.Popen(  # noqa: S603 (our own program)
            [sys.executable, "-m", "analyzer", "desk", str(folder), "--no-browser"], stdout=subprocess.PIPE, text=True
        )
        address = next(line.strip() for line in desk.stdout or () if line.startswith("http"))
        try:
            with sync_playwright() as playwright:
                browser = playwright.chromium.launch(executable_path="/usr/bin/chromium", args=["--no-sandbox"])
                context = browser.new_context(viewport={"width": 1440, "height": 900})
                page, other = context.new_page(), context.new_page()
                page.goto(address)
                page.wait_for_selector("#files")
                root = page.url.rstrip("/")
                _measure(page, other, root, folder, count, desk.pid)
                browser.close()
        finally:
            desk.terminate()
            desk.wait()


def _measure(page: Page, other: Page, root: str, folder: Path, count: int, desk: int) -> None:
    print(f"plain Python, a fixed bit: {plain_ms():.0f} ms; load {os.getloadavg()[0]:.1f}")
    for _ in range(2):
        _debrief(other, root, folder)
    before_s = _cpu_s(desk)
    alone = [_debrief(other, root, folder) for _ in range(8)]
    cpu_ms = 1e3 * (_cpu_s(desk) - before_s) / len(alone)
    print(f"a debrief of an hour, nothing else under way: {_spread(alone)}, {cpu_ms:.0f} ms of CPU each")
    page.goto(f"{root}/classes/many")
    begun = time.perf_counter()
    page.click("text=Grade them")
    page.wait_for_selector("#run[data-under-way=yes]")
    pid = _grading(desk)
    during, cpu_s, before_s = [], 0.0, _cpu_s(desk, but=pid)
    while page.get_attribute("#run", "data-under-way") == "yes":
        during.append(_debrief(other, root, folder))
        cpu_s = max(cpu_s, _cpu_s(pid))
    page.wait_for_selector(".sifted tbody tr")
    took = time.perf_counter() - begun
    print(f"{count} logs graded from the page: {took:.1f} s, {cpu_s:.1f} s of CPU, {1e3 * cpu_s / count:.0f} ms a log")
    cpu_ms = 1e3 * (_cpu_s(desk, but=pid) - before_s) / len(during)
    print(f"a debrief of an hour meanwhile: {_spread(during)}, {cpu_ms:.0f} ms of CPU each, with the page of the class")
    for what in ("first", "second"):
        begun = time.perf_counter()
        page.goto(f"{root}/classes/many")
        page.wait_for_selector(".sifted tbody tr")
        print(f"page of the class, {what}: {time.perf_counter() - begun:.2f} s")
    begun = time.perf_counter()
    page.click(".sifted tbody a >> nth=0")
    page.wait_for_selector(".review")
    print(f"a flight of it opened: {time.perf_counter() - begun:.2f} s")


def _debrief(page: Page, root: str, folder: Path) -> float:
    """Open a flight that has to be debriefed anew, since its card was written. [s]"""
    (folder / "logs" / "hour.csv.toml").write_text(f"{_CARD}# {time.monotonic_ns()}\n", encoding="utf-8")
    begun = time.perf_counter()
    page.goto(f"{root}/flights/hour.csv")
    page.wait_for_selector(".verdict")
    return time.perf_counter() - begun


def _spread(times: list[float]) -> str:
    return f"median {statistics.median(times):.2f} s, longest {max(times):.2f} s of {len(times)}"


def _grading(desk: int) -> int:
    """The process that grades, which the desk began."""
    while True:
        for one in Path("/proc").iterdir():
            if one.name.isdigit() and _parent(one) == desk and b"class_run" in (one / "cmdline").read_bytes():
                return int(one.name)
        time.sleep(0.05)


def _parent(process: Path) -> int:
    try:
        return int((process / "stat").read_text().rpartition(")")[2].split()[1])
    except (OSError, ValueError):
        return 0


def _cpu_s(pid: int, but: int = 0) -> float:
    """The CPU time of a process and of all below it, but for one and all below that. [s]"""
    total = 0.0
    below, parents = {pid}, {int(one.name): _parent(one) for one in Path("/proc").iterdir() if one.name.isdigit()}
    while more := {child for child, parent in parents.items() if parent in below and child not in {*below, but}}:
        below |= more
    for one in below:
        try:
            fields = (Path("/proc") / str(one) / "stat").read_text().rpartition(")")[2].split()
        except OSError:
            continue
        total += (int(fields[11]) + int(fields[12])) / _TICKS
    return total


if __name__ == "__main__":
    main()
