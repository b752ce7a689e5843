"""The desk, measured in a browser: from dropping a log of an hour to the first sight, known flights, and a folder of thousands.

    python benchmarks/desk.py [FLIGHTS]

Needs Debian's chromium and playwright. Times are wall-clock seconds, memory is that of all processes of the desk together, each
shared page counted once (proportional set size). [MB]
"""

from __future__ import annotations

import json
import re
import shutil
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from hour_log import write_hour_log
from playwright.sync_api import Page, sync_playwright

SAMPLES = Path(__file__).resolve().parent.parent / "sample_tracks"
_KIB_PER_MB = 1000.0


def main() -> None:
    """Print the measurements."""
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 5000
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name) / "desk"
        (folder / "procedures").mkdir(parents=True)
        shutil.copy(SAMPLES / "wendle_island_vor24.toml", folder / "procedures")
        hour = Path(name) / "hour.csv"
        write_hour_log(hour)
        begun = time.perf_counter()
        desk = subprocess.Popen(  # noqa: S603 (our own program)
            [sys.executable, "-m", "analyzer", "desk", str(folder), "--no-browser"], stdout=subprocess.PIPE, text=True
        )
        address = next(line.strip() for line in desk.stdout or () if line.startswith("http"))
        print(f"started, address printed: {time.perf_counter() - begun:.2f} s")
        try:
            with sync_playwright() as playwright:
                browser = playwright.chromium.launch(executable_path="/usr/bin/chromium", args=["--no-sandbox"])
                page = browser.new_page(viewport={"width": 1440, "height": 900})
                page.goto(address)
                page.wait_for_selector("#files")
                print(f"started, first page seen: {time.perf_counter() - begun:.2f} s")
                _drops(page, hour, desk.pid)
                _many(page, folder, count, desk.pid)
                browser.close()
        finally:
            desk.terminate()
            desk.wait()


def _drops(page: Page, hour: Path, pid: int) -> None:
    for turn in ("first", "second", "third"):
        page.goto(_root(page))
        hour.write_bytes(hour.read_bytes() + b"\n")  # another log, or the desk would show the flight that is there
        begun = time.perf_counter()
        page.set_input_files("#files", hour)
        page.wait_for_selector("ol.choices button")
        chosen = time.perf_counter()
        page.click("ol.choices button")
        page.wait_for_selector(".verdict")
        page.wait_for_function("document.readyState == 'complete'")
        print(
            f"a log of an hour, {turn}: procedures {chosen - begun:.2f} s after the drop, "
            f"debrief {time.perf_counter() - chosen:.2f} s after the choice"
        )
    begun = time.perf_counter()
    page.reload()
    page.wait_for_selector(".verdict")
    print(f"a known flight again: {time.perf_counter() - begun:.2f} s")
    print(f"memory: {_memory_mb(pid):,.0f} MB")


def _many(page: Page, folder: Path, count: int, pid: int) -> None:
    log = next((folder / "logs").glob("hour*.csv"))
    report, card = folder / "reports" / f"{log.name}.json", log.with_name(f"{log.name}.toml")
    document = json.loads(report.read_text(encoding="utf-8"))
    small = log.read_text(encoding="utf-8")[:2000]
    for k in range(count):
        (folder / "logs" / f"flight-{k:05}.csv").write_text(small, encoding="utf-8")
        shutil.copy(card, folder / "logs" / f"flight-{k:05}.csv.toml")
        document["track"]["start"] = f"20{10 + k % 15}-{1 + k % 12:02}-{1 + k % 28:02}T10:00:00.000Z"
        (folder / "reports" / f"flight-{k:05}.csv.json").write_text(json.dumps(document), encoding="utf-8")
    for turn in ("without the cache", "with it", "with it", "one flight found by a word"):
        begun = time.perf_counter()
        page.goto(_root(page) + ("?find=flight-00042" if "word" in turn else ""))
        page.wait_for_selector("table.flights")
        print(f"{count:,} flights, {turn}: {time.perf_counter() - begun:.2f} s")
    print(f"memory: {_memory_mb(pid):,.0f} MB")


def _root(page: Page) -> str:
    return re.match(r"http://[^/]+/", page.url)[0]  # type: ignore[index]


def _memory_mb(pid: int) -> float:
    """Memory of a process and all below it."""
    children: dict[int, list[int]] = {}
    for one in Path("/proc").iterdir():
        if one.name.isdigit():
            try:
                parent = int((one / "stat").read_text().rpartition(")")[2].split()[1])
            except (OSError, ValueError):
                continue
            children.setdefault(parent, []).append(int(one.name))
    found, open_ = [], [pid]
    while open_:
        found.append(open_.pop())
        open_ += children.get(found[-1], [])
    total = 0.0
    for one in found:
        try:
            text = Path(f"/proc/{one}/smaps_rollup").read_text()
        except OSError:
            continue
        match = re.search(r"^Pss:\s+(\d+) kB", text, re.MULTILINE)
        total += int(match[1]) if match else 0.0
    return total / _KIB_PER_MB


if __name__ == "__main__":
    main()
