"""Works in the folder of a desk in a process that is killed outright, again and again, and looks at the folder each time.

    python killed_often.py FOLDER TIMES

Prints nothing where every file of the folder was whole each time; a test runs it.
"""

import json
import os
import random
import signal
import sys
import time
import tomllib
from pathlib import Path

from analyzer.desk.cards import read_card, read_settings
from analyzer.desk.changes import changes_of, undo
from analyzer.desk.chart_files import save_chart, texts_of
from analyzer.desk.flights import choose, describe, open_flight
from analyzer.desk.setting import set_standard
from analyzer.desk.store import Store, open_store
from analyzer.desk.undoing import bring_back, take_out
from analyzer.errors import DeskError
from analyzer.procedure.read import read_procedure

SAMPLES = Path(__file__).resolve().parents[2] / "sample_tracks"
DAY, CHART, MOVED, FLOWN = "2026-06-28", "vor24.toml", "moved.csv", "clean.csv"
LONG = b"time,latitude,longitude\n" * 20_000


def work(folder: str, seed: int) -> None:
    """Change this and that without end."""
    store, choice, k = Store(Path(folder)), random.Random(seed), 0  # noqa: S311 (no secret)
    while True:
        k += 1
        what = choice.randrange(8)
        try:
            if what == 0:
                describe(folder, MOVED, {"remark": f"{k} " * 200})
            elif what == 1:
                texts, _, was = texts_of(folder, CHART, DAY)
                save_chart(folder, {**texts, "file": CHART, "was": was, "reversal.within_nm": str(10 + k % 5)}, DAY)
            elif what == 2:
                take_out(folder, "logs", MOVED)
            elif what == 3:
                bring_back(folder, "logs", MOVED)
            elif what == 4:
                set_standard(folder, ("faa-instrument", "icao-ops")[k % 2])
            elif what == 5:
                store.add("logs", "long.csv", LONG)
            elif what == 6:
                undo(store.folder, next(changes_of(store, 1)).name)
            else:
                choose(folder, FLOWN, CHART)
                open_flight(folder, FLOWN)
        except (DeskError, StopIteration):
            pass  # taken out already, or nothing to undo


def faults(store: Store, moved: bytes) -> list[str]:
    """What is not whole in a folder."""
    found = []
    for path in store.folder.rglob("*"):
        if not path.is_file() or path.name.startswith("."):
            continue
        try:
            if path.suffix == ".toml":
                tomllib.loads(path.read_text(encoding="utf-8"))
            elif path.suffix == ".json":
                json.loads(path.read_text(encoding="utf-8"))
            elif path.name.startswith("long") and path.read_bytes() != LONG:
                found.append(f"{path}: half")
        except ValueError as error:
            found.append(f"{path}: {error}")
    places = [place for place in ("logs", "taken-out/logs") if (store.folder / place / MOVED).is_file()]
    if len(places) != 1 or (store.folder / places[0] / MOVED).read_bytes() != moved:
        found.append(f"{MOVED} is at {places}")
    read_procedure(store.there("procedures", CHART))
    read_settings(store)
    for entry in store.entries("logs"):
        if not entry.name.endswith(".toml"):
            read_card(store, entry.name)
    half = [change.name for change in changes_of(store, 1000)]
    kept = [path.name for path in (store.folder / "earlier").iterdir() if not path.name.startswith(".")]
    if sorted(half) != sorted(kept):
        found.append("a change that cannot be read")
    return found


def main(folder: str, times: int) -> None:
    """Work and be killed so many times."""
    store = open_store(Path(folder))
    moved = (SAMPLES / "strong_wind.csv").read_bytes()
    store.add("logs", MOVED, moved)
    store.add("logs", FLOWN, (SAMPLES / FLOWN).read_bytes())
    store.add("procedures", CHART, (SAMPLES / "wendle_island_vor24.toml").read_bytes())
    describe(folder, MOVED, {"pilot": "A. Pilot"})
    for seed in range(times):
        child = os.fork()
        if child == 0:
            work(folder, seed)
        time.sleep(0.005 + 0.25 * random.Random(-seed).random())  # noqa: S311 (no secret)
        os.kill(child, signal.SIGKILL)
        os.waitpid(child, 0)
        for fault in faults(open_store(Path(folder)), moved):
            sys.stdout.write(f"killed the {seed + 1}th time: {fault}\n")
        for path in (store.folder / "logs").glob("long*.csv"):
            path.unlink()


if __name__ == "__main__":
    main(sys.argv[1], int(sys.argv[2]))
