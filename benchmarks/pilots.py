"""A pilot's page of the desk, measured: 500 flights measured once, and the page opened. Times are CPU seconds of one process.

    python benchmarks/pilots.py [FLIGHTS]

The flights are three samples in turn, each on a day of its own.
"""

from __future__ import annotations

import datetime as dt
import re
import shutil
import sys
import tempfile
import time
from pathlib import Path

from analyzer.desk.cards import FlightCard, card_file
from analyzer.desk.changes import make_change
from analyzer.desk.pages import page
from analyzer.desk.pilots import list_pilots, measure_flights, see_pilot
from analyzer.desk.store import open_store

SAMPLES = Path(__file__).resolve().parent.parent / "sample_tracks"
_LOGS = ("clean.csv", "strong_wind.csv", "early_descent.gpx")
_DATE = re.compile(r"2026-\d\d-\d\d(?=T)")
_FIRST = dt.date(2024, 1, 1)
_PILOT, _CHART = "Kea Tarn", "wendle_island_vor24.toml"


def main() -> None:
    """Print the measurements."""
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 500
    with tempfile.TemporaryDirectory() as name:
        store = open_store(Path(name) / "desk")
        shutil.copy(SAMPLES / _CHART, store.folder / "procedures")
        for k in range(count):
            sample = SAMPLES / _LOGS[k % len(_LOGS)]
            day = _FIRST + dt.timedelta(days=k)
            log = f"flight-{k:04}{sample.suffix}"
            text = _DATE.sub(day.isoformat(), sample.read_text(encoding="utf-8"))
            (store.folder / "logs" / log).write_text(text, encoding="utf-8")
            make_change(store, "card", card_file(log, FlightCard(pilot=_PILOT, procedure=_CHART, remark="as it was flown")))
        folder = str(store.folder)
        begun = time.process_time()
        measure_flights(folder, _PILOT, 1e9)
        print(f"{count:,} flights measured, once: {time.process_time() - begun:.2f} s of CPU")
        for turn in ("first", "again", "again"):
            begun = time.process_time()
            seen = see_pilot(folder, _PILOT)
            made = time.process_time()
            content = page("pilot.html.j2", pilot=seen).body
            print(
                f"the page of {len(seen.attempts):,} attempts, {turn}: {made - begun:.2f} s of CPU in the worker, "
                f"{time.process_time() - made:.2f} s to write it, {len(content) / 1e6:.2f} MB"
            )
        begun = time.process_time()
        list_pilots(folder)
        print(f"the list of pilots: {time.process_time() - begun:.2f} s of CPU")


if __name__ == "__main__":
    main()
