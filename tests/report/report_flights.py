"""The sample flights with their truth, and logs cut from them, for the tests of reports."""

import csv
import json
import tomllib
from datetime import UTC, datetime, timedelta
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt
from geographiclib.geodesic import Geodesic

SAMPLES = Path(__file__).resolve().parents[2] / "sample_tracks"
PROCEDURE = SAMPLES / "wendle_island_vor24.toml"
LOGS = {name: SAMPLES / name for name in ("clean.csv", "strong_wind.csv", "early_descent.gpx")}
SAMPLE_NAMES = tuple(LOGS)
HEADER = "time_utc,latitude_deg,longitude_deg,altitude_ft"

NM, FT = 1852.0, 0.3048
Json = dict[str, Any]
Floats = npt.NDArray[np.float64]

LEGS = ("arrival", "outbound", "reversal", "inbound", "final")
ALTITUDE_FT = 4 * 5.0 / FT  # four standard deviations of the receiver's height


@cache
def charted() -> Json:
    """The procedure file, read without the program."""
    return tomllib.loads(PROCEDURE.read_text(encoding="utf-8"))


VARIATION_DEG = float(charted()["fix"]["variation_deg_east"])
FIX = (float(charted()["fix"]["latitude_deg"]), float(charted()["fix"]["longitude_deg"]))


@cache
def truth(sample: str) -> tuple[dict[str, str], ...]:
    """What was really flown, once a second: the simulator's own record."""
    with (SAMPLES / "truth" / f"{sample.rsplit('.', 1)[0]}.csv").open(encoding="utf-8", newline="") as file:
        return tuple(csv.DictReader(file))


@cache
def truth_summary(sample: str) -> Json:
    return json.loads((SAMPLES / "truth" / f"{sample.rsplit('.', 1)[0]}.json").read_text(encoding="utf-8"))


def instant(text: str) -> datetime:
    """An RFC 3339 instant in UTC."""
    return datetime.fromisoformat(text.replace("Z", "+00:00"))


def seconds(text: str) -> float:
    """The same in seconds since 1970."""
    return instant(text).timestamp()


def truth_column(sample: str, name: str, times: Floats) -> Floats:
    """A column of the truth at some instants."""
    known = np.array([seconds(row["time_utc"]) for row in truth(sample)])
    return np.interp(times, known, np.array([float(row[name]) for row in truth(sample)]))


def leg_span(entry: Json, leg: str) -> tuple[str, str]:
    """When a leg began and ended, by the JSON."""
    parts = [part for part in entry["parts"] if part["leg"] == leg]
    return parts[0]["start"], parts[-1]["end"]


def truth_between(sample: str, start: str, end: str) -> list[dict[str, str]]:
    return [row for row in truth(sample) if instant(start) <= instant(row["time_utc"]) <= instant(end)]


def truth_near(sample: str, time: str | float) -> dict[str, str]:
    """The row of the truth next to an instant, given as text or in seconds since 1970."""
    at = instant(time) if isinstance(time, str) else datetime.fromtimestamp(time, tz=UTC)
    return min(truth(sample), key=lambda row: abs(instant(row["time_utc"]) - at))


def from_fix(latitude_deg: float, longitude_deg: float) -> tuple[float, float]:
    """Distance [NM] and true bearing [degrees, 0 to 360] from the fix, by geographiclib."""
    line = Geodesic.WGS84.Inverse(*FIX, latitude_deg, longitude_deg)
    return line["s12"] / NM, line["azi1"] % 360.0


def clean_rows() -> list[str]:
    """The rows of the clean sample, one a second from 09:12:00 on."""
    return LOGS["clean.csv"].read_text(encoding="utf-8").splitlines()[1:]


def fifty_minutes_later(rows: list[str]) -> list[str]:
    """No whole number of half hours, by which a second copy in the time of another zone would be."""
    later = []
    for row in rows:
        time, rest = row.split(",", 1)
        later.append(f"{(instant(time) + timedelta(minutes=50)).isoformat().replace('+00:00', 'Z')},{rest}")
    return later


def cut_logs() -> dict[str, tuple[str, list[str]]]:
    """Logs cut from the clean sample: header and rows by name."""
    rows = clean_rows()
    return {
        "no_altitude.csv": (HEADER.rsplit(",", 1)[0], [row.rsplit(",", 1)[0] for row in rows]),
        "arrival_only.csv": (HEADER, rows[:60]),
        "cut_short.csv": (HEADER, rows[:340]),  # ends in the turn back
        "straight_in.csv": (HEADER, rows[420:]),
        "with_gap.csv": (HEADER, rows[:480] + rows[540:]),  # a minute of the inbound leg is missing
        "two_approaches.csv": (HEADER, rows + fifty_minutes_later(rows)),
    }


CUT_NAMES = tuple(cut_logs())
