"""A class of invented flights as CSV logs, and the procedures they are flown by, for the tests of grading."""

from __future__ import annotations

import gzip
import math
from datetime import UTC, datetime
from functools import cache
from pathlib import Path

from patterns import Pattern, fly_approach
from synthetic import FT, HERE, START_S, Chart, Flown, Log, Place

from analyzer.procedure.write import procedure_toml
from analyzer.track.track import Track

DAY_S = 86_400.0
LARGEST_BYTES = 1_000_000  # that the mixed class is graded with
FLOORS = {"arrival": 2900.0, "outbound": 2900.0, "reversal": 2900.0, "inbound": 2900.0, "final": 2900.0}
CHART = Chart(floors_ft=FLOORS)
# The chart's own side is right; the last goes out too far.
PATTERNS = {
    "good": Pattern(),
    "other": Pattern(arrival_deg=20.0),
    "far": Pattern(outbound_s=260.0),
    "wrong_side": Pattern(side=-1),
}


@cache
def csv_text(
    kind: str = "good", seed: int = 0, start_s: float = START_S, altitude_ft: float = 3000.0, place: Place = HERE
) -> str:
    """A log of a flight."""
    return text_of(track_of(kind, seed, start_s, altitude_ft, place))


def track_of(
    kind: str = "good", seed: int = 0, start_s: float = START_S, altitude_ft: float = 3000.0, place: Place = HERE
) -> Track:
    log = Log(altitude_ft=altitude_ft, noise_m=0.5, seed=seed, start_s=start_s)
    return log.of(_flown(kind), place)


@cache
def _flown(kind: str) -> Flown:
    return fly_approach(PATTERNS[kind]).flown


def text_of(track: Track) -> str:
    lines = ["time_utc,latitude_deg,longitude_deg,altitude_ft"]
    for time, latitude, longitude, altitude in zip(
        track.time_s, track.latitude_rad, track.longitude_rad, track.altitude_m, strict=True
    ):
        told = datetime.fromtimestamp(float(time), tz=UTC).strftime("%Y-%m-%dT%H:%M:%SZ")
        lines.append(f"{told},{math.degrees(latitude):.6f},{math.degrees(longitude):.6f},{altitude / FT:.0f}")
    return "\n".join(lines) + "\n"


def write_procedure(path: Path, place: Place = HERE, chart: Chart = CHART) -> Path:
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(procedure_toml(chart.at(place), "invented"), encoding="utf-8")
    return path


def write_class(folder: Path, number: int = 24) -> Path:
    """A folder of good and bad flights, in two folders below it."""
    kinds = list(PATTERNS)
    for k in range(number):
        path = folder / f"group{k % 2}" / f"flight{k:03d}.csv"
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(csv_text(kinds[k % len(kinds)], seed=k, start_s=START_S + k * DAY_S), encoding="utf-8")
    return folder


def write_mixed(folder: Path) -> Path:
    """Everything that may lie in such a folder."""
    folder.mkdir(parents=True, exist_ok=True)
    good = csv_text()
    (folder / "good.csv").write_text(good, encoding="utf-8")
    (folder / "again.csv").write_text(good, encoding="utf-8")
    (folder / "third.csv").write_text(good, encoding="utf-8")
    (folder / "far.csv.gz").write_bytes(gzip.compress(csv_text("far").encode(), mtime=0))
    (folder / "torn.csv").write_bytes(good.encode()[:40] + b"\x00\xff\xfe" * 50)
    (folder / "noise.csv.gz").write_bytes(b"\x1f\x8b" + b"\x07" * 500)
    (folder / "empty.csv").write_bytes(b"")
    (folder / "huge.csv").write_bytes(b"7," * 600_000)
    (folder / "elsewhere.csv").write_text(csv_text(place=Place(latitude_deg=44.0)), encoding="utf-8")
    (folder / "short.csv").write_text("\n".join(good.splitlines()[:3]) + "\n", encoding="utf-8")
    (folder / "=cmd().csv").write_text(csv_text("other"), encoding="utf-8")
    (folder / "folder.csv").mkdir(exist_ok=True)
    (folder / "notes.md").write_text("no log", encoding="utf-8")
    (folder / ".hidden.csv").write_text(good, encoding="utf-8")
    return folder


__all__ = [
    "CHART",
    "DAY_S",
    "LARGEST_BYTES",
    "PATTERNS",
    "csv_text",
    "text_of",
    "track_of",
    "write_class",
    "write_mixed",
    "write_procedure",
]


def content(folder: Path) -> dict[str, bytes]:
    """What is in a folder, by its path."""
    return {path.relative_to(folder).as_posix(): path.read_bytes() for path in sorted(folder.rglob("*")) if path.is_file()}
