"""Flights in a flight-dynamics model with their truth: those of the samples, and others flown here on the mirrored chart.

`sample_tracks/fly.py` flies them, in an airframe of JSBSim and with nothing of the program's. What is true of a flight is
worked out from its exact states with geodesics of PROJ; each is logged in five forms, as recorders do.
"""

import csv
import functools
import importlib
import json
import sys
import tempfile
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt
from pyproj import Geod

from analyzer import read_procedure, read_track
from analyzer.procedure.schema import Procedure
from analyzer.track.track import Track

Floats = npt.NDArray[np.float64]

SAMPLES = Path(__file__).parents[1] / "sample_tracks"
NM = 1852.0
STORED = {
    "clean": "wendle_island_vor24.toml",
    "strong_wind": "wendle_island_vor24.toml",
    "early_descent": "wendle_island_vor24.toml",
    "missed_and_hold": "wendle_island_vorz24.toml",
}
LIVE = ("right_in_crosswind", "right_and_fast")
LOGS = ("clean.csv", "noisy.csv", "sparse.csv", "irregular.csv", "track.gpx")
# established: within 5° of the course as seen from the station and tracking within 15° of it, for 5 s (sample_tracks/README.md)
COURSE_DEG, TRACK_DEG, STAYS_S = 5.0, 15.0, 5
ROLLED_IN_S = 2.0  # and as long as the roll takes, after the order to roll: then the bank is steady
ROLL_RATE_DEG_S = 5.0


@dataclass(frozen=True, eq=False)
class States:
    """The exact states of a flight, one a second from `start_s` (Unix time), and what the pilot was ordered when."""

    procedure: Procedure
    start_s: float
    latitude_deg: Floats
    longitude_deg: Floats
    altitude_ft: Floats
    bank_deg: Floats
    wind_to_north_kt: Floats
    wind_to_east_kt: Floats
    parts: tuple[tuple[str, float], ...]  # and the second that it was ordered at

    @functools.cached_property
    def from_fix(self) -> tuple[Floats, Floats]:
        """Azimuth from the fix [deg], and distance [NM]."""
        fix, n = self.procedure.fix, len(self.latitude_deg)
        there = np.full(n, fix.longitude_deg), np.full(n, fix.latitude_deg)
        azimuth, _, metres = Geod(ellps="WGS84").inv(*there, self.longitude_deg, self.latitude_deg)
        return azimuth, metres / NM

    @functools.cached_property
    def track_deg(self) -> Floats:
        """The track over the ground, of the way from the second before to the second after."""
        ends = self.longitude_deg[:-2], self.latitude_deg[:-2], self.longitude_deg[2:], self.latitude_deg[2:]
        azimuth, _, _ = Geod(ellps="WGS84").inv(*ends)
        return np.concatenate([azimuth[:1], azimuth, azimuth[-1:]])


@dataclass(frozen=True)
class Attempt:
    """What is true of one reversal. Times are seconds from the start, banks those of the steady turn."""

    side: int
    turn: int
    greatest_distance_nm: float
    established_s: float
    bank_deg: dict[str, float]
    wind_to_kt: tuple[float, float]


@functools.cache
def states(name: str) -> States:
    """The exact states of a flight by name."""
    return _stored(name) if name in STORED else _live(name)


def _stored(name: str) -> States:
    with (SAMPLES / "truth" / f"{name}.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    facts = json.loads((SAMPLES / "truth" / f"{name}.json").read_text("utf-8"))
    start = _seconds(facts["start_utc"])
    keys = ("latitude_deg", "longitude_deg", "altitude_ft", "bank_deg", "wind_to_north_kt", "wind_to_east_kt")
    parts = tuple((part["part"], _seconds(part["start_utc"]) - start) for part in facts["parts"])
    columns = {key: np.array([float(row[key]) for row in rows]) for key in keys}
    return States(read_procedure(SAMPLES / STORED[name]), start, **columns, parts=parts)


def _live(name: str) -> States:
    sys.path.insert(0, str(SAMPLES))
    fly, pilot = importlib.import_module("fly"), importlib.import_module("pilot")
    reversal = pilot.CHART["reversal"]
    to_the_right = {"side": "right", "offset_course_deg": reversal["outbound_course_deg"] + 45.0}
    chart = {**pilot.CHART, "reversal": {**reversal, **to_the_right}}
    mirrored = type("Mirrored", (pilot.Scenario,), {"chart": chart})
    common: dict[str, Any] = {"name": name, "start": datetime(2026, 9, 5, 10, 20, tzinfo=UTC), "descent_starts": "inbound"}
    scenarios = {
        "right_in_crosswind": mirrored(
            **common, seed=2431, airframe="c172p", wind_from_deg_true=325.0, wind_kt=16.0, airspeed_kt=95.0,
            final_airspeed_kt=85.0, arrival_course_deg=80.0, outbound_s=100.0, offset_leg_s=50.0, turn_bank_deg=14.0,
            reversal_bank_deg=17.0,
        ),
        "right_and_fast": mirrored(
            **common, seed=2432, airframe="t6texan2", wind_from_deg_true=90.0, wind_kt=24.0, airspeed_kt=150.0,
            final_airspeed_kt=125.0, arrival_course_deg=30.0, outbound_s=110.0, offset_leg_s=55.0, turn_bank_deg=22.0,
            reversal_bank_deg=27.0,
        ),
    }  # fmt: skip
    flight = fly.fly(scenarios[name])
    return States(
        Procedure.model_validate(chart),
        flight.scenario.start.timestamp(),
        flight.latitude_deg,
        flight.longitude_deg,
        flight.altitude_ft,
        flight.bank_deg,
        flight.wind_to_north_kt,
        flight.wind_to_east_kt,
        tuple((part.name, part.start_s) for part in flight.parts),
    )


def _seconds(text: str) -> float:
    return datetime.fromisoformat(text).timestamp()


def attempts(name: str) -> list[Attempt]:
    """What is true of each reversal of a flight, in order."""
    flown = states(name)
    begins = [k for k, (part, _) in enumerate(flown.parts) if part == "outbound_turn"]
    return [_attempt(flown, k) for k in begins]


def _attempt(flown: States, first: int) -> Attempt:
    names = [part for part, _ in flown.parts[first:]]
    ordered = {part: k for k, part in reversed(list(enumerate(names)))}
    start = {part: flown.parts[first + k][1] for part, k in ordered.items()}
    then = {part: flown.parts[first + k + 1][1] for part, k in ordered.items() if first + k + 1 < len(flown.parts)}
    azimuth, distance = flown.from_fix
    inbound = flown.procedure.reversal.inbound_course_deg + (flown.procedure.fix.variation_deg_east or 0.0)
    near = (np.abs(_wrap(azimuth + 180.0 - inbound)) <= COURSE_DEG) & (np.abs(_wrap(flown.track_deg - inbound)) <= TRACK_DEG)
    stays = np.array([near[k : k + STAYS_S + 1].all() for k in range(len(near))])
    established = next(k for k in np.flatnonzero(stays) if k > start["reversal_turn"])
    reversal = slice(int(start["outbound_turn"]), int(established) + 1)
    turns = {part: _steady_deg(flown, start[part], then[part]) for part in ("offset_turn", "reversal_turn")}
    return Attempt(
        side=int(np.sign(turns["offset_turn"])),
        turn=int(np.sign(turns["reversal_turn"])),
        greatest_distance_nm=float(distance[reversal].max()),
        established_s=float(established),
        bank_deg={part: abs(bank) for part, bank in turns.items()},
        wind_to_kt=(float(flown.wind_to_north_kt[reversal].mean()), float(flown.wind_to_east_kt[reversal].mean())),
    )


def _steady_deg(flown: States, start_s: float, end_s: float) -> float:
    """The mean bank between the roll in and the order to roll out."""
    peak = float(np.abs(flown.bank_deg[int(start_s) : int(end_s) + 1]).max())
    begin = int(np.ceil(start_s + ROLLED_IN_S + peak / ROLL_RATE_DEG_S))
    return float(flown.bank_deg[begin : int(end_s) + 1].mean())


def _wrap(angle_deg: Floats) -> Floats:
    return (angle_deg + 180.0) % 360.0 - 180.0


def log(name: str, form: str) -> Track:
    """A flight read from the log that a recorder would have kept of it."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / f"{name}_{form}"
        path.write_text("\n".join(_lines(states(name), form)) + "\n", encoding="utf-8")
        return read_track(path)


def _lines(flown: States, form: str) -> Iterator[str]:
    rng, n = np.random.default_rng([len(flown.latitude_deg), LOGS.index(form)]), len(flown.latitude_deg)
    second, north_m, east_m, up_ft = np.arange(n), np.zeros(n), np.zeros(n), np.zeros(n)
    if form != "clean.csv":  # a receiver's wander over a minute, and a little white noise
        north_m, east_m, up_ft = (_wander(rng, n, size) for size in (2.0, 2.0, 10.0))
    if form == "sparse.csv":
        second = second[::5]
    if form == "irregular.csv":  # a third of the seconds missing, and four holes of 12 to 24 s
        kept = rng.random(n) < 0.67
        for begin in rng.integers(0, n, 4):
            kept[begin : begin + int(rng.integers(12, 25))] = False
        second = second[kept]
    latitude = flown.latitude_deg + north_m / (60.0 * NM)
    longitude = flown.longitude_deg + east_m / (60.0 * NM * np.cos(np.radians(flown.latitude_deg)))
    altitude = flown.altitude_ft + up_ft
    stamps = [f"{datetime.fromtimestamp(flown.start_s + k, UTC):%Y-%m-%dT%H:%M:%SZ}" for k in second]
    places = [(f"{latitude[k]:.7f}", f"{longitude[k]:.7f}", altitude[k]) for k in second]
    if form == "track.gpx":
        yield '<?xml version="1.0"?><gpx version="1.1" xmlns="http://www.topografix.com/GPX/1/1"><trk><trkseg>'
        for stamp, (north, east, feet) in zip(stamps, places, strict=True):
            yield f'<trkpt lat="{north}" lon="{east}"><ele>{feet * 0.3048:.1f}</ele><time>{stamp}</time></trkpt>'
        yield "</trkseg></trk></gpx>"
        return
    yield "time_utc,lat_deg,lon_deg,alt_ft"
    for stamp, (north, east, feet) in zip(stamps, places, strict=True):
        yield f"{stamp},{north},{east},{feet:.0f}"


def _wander(rng: np.random.Generator, n: int, size: float) -> Floats:
    """A first-order Gauss-Markov error of a minute, and a tenth of its size of white noise."""
    keep = np.exp(-1.0 / 60.0)
    error = np.empty(n)
    error[0] = size * rng.standard_normal()
    for k in range(1, n):
        error[k] = keep * error[k - 1] + size * np.sqrt(1.0 - keep**2) * rng.standard_normal()
    return error + 0.1 * size * rng.standard_normal(n)
