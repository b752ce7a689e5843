"""What is written of a flight: the log that a receiver would keep, errors and rounding included, and the exact truth."""

from __future__ import annotations

import json
import math
from dataclasses import asdict
from datetime import datetime, timedelta
from typing import TYPE_CHECKING, Any

import numpy as np
import numpy.typing as npt
from autopilot import FT, NM
from pilot import gauss_markov

if TYPE_CHECKING:
    from pathlib import Path

    from fly import Flight

__all__ = ["utc", "write_gpx", "write_log_in_feet", "write_log_in_metres", "write_truth"]

FloatArray = npt.NDArray[np.float64]

# A receiver's errors: standard deviations [m], and the correlation times of the wandering ones [s].
HORIZONTAL_WANDER_M, HORIZONTAL_TIME_S, HORIZONTAL_WHITE_M = 3.0, 60.0, 0.3  # of both axes together
VERTICAL_WANDER_M, VERTICAL_TIME_S, VERTICAL_WHITE_M = 5.0, 90.0, 0.5


def write_log_in_feet(flight: Flight, folder: Path) -> Path:
    """A comma-separated log: ISO 8601 time in one column, altitude in whole feet."""
    rows = [
        f"{utc(flight, time)},{latitude:.6f},{longitude:.6f},{height / FT:.0f}"
        for time, latitude, longitude, height in zip(flight.time_s, *_received(flight), strict=True)
    ]
    return _write(folder / f"{flight.scenario.name}.csv", ["time_utc,latitude_deg,longitude_deg,altitude_ft", *rows])


def write_log_in_metres(flight: Flight, folder: Path) -> Path:
    """A log of another shape: semicolons, date and time of day apart, altitude in metres, ground speed in knots."""
    white = np.random.default_rng([flight.scenario.seed, 2]).standard_normal(flight.time_s.size)
    speed = flight.ground_speed_kt + 0.1 * white
    rows = [
        f"{_instant(flight, time):%Y-%m-%d;%H:%M:%S};{latitude:.6f};{longitude:.6f};{height:.1f};{knots:.1f}"
        for time, latitude, longitude, height, knots in zip(flight.time_s, *_received(flight), speed, strict=True)
    ]
    return _write(folder / f"{flight.scenario.name}.csv", ["date;time;lat;lon;alt [m];ground speed [kt]", *rows])


def write_gpx(flight: Flight, folder: Path) -> Path:
    """A GPX 1.1 file of one track."""
    points = [
        f'<trkpt lat="{latitude:.6f}" lon="{longitude:.6f}"><ele>{height:.1f}</ele><time>{utc(flight, time)}</time></trkpt>'
        for time, latitude, longitude, height in zip(flight.time_s, *_received(flight), strict=True)
    ]
    head = '<?xml version="1.0" encoding="UTF-8"?>\n<gpx version="1.1" creator="sample flights" xmlns="http://www.topografix.com/GPX/1/1">'
    lines = [head, f"<trk><name>{flight.scenario.name}</name><trkseg>", *points, "</trkseg></trk>", "</gpx>"]
    return _write(folder / f"{flight.scenario.name}.gpx", lines)


def write_truth(flight: Flight, log: str, outcome: dict[str, Any], folder: Path) -> tuple[Path, Path]:
    """The exact states at 1 Hz, and what was ordered and came of it."""
    header = (
        "time_utc,bank_deg,heading_deg_true,true_airspeed_kt,calibrated_airspeed_kt,wind_to_north_kt,wind_to_east_kt,"
        "latitude_deg,longitude_deg,altitude_ft"
    )
    columns = (
        [utc(flight, time) for time in flight.time_s],
        _text(flight.bank_deg, 2),
        _text(flight.heading_deg, 2),
        _text(flight.true_airspeed_kt, 2),
        _text(flight.calibrated_airspeed_kt, 2),
        _text(flight.wind_to_north_kt, 2),
        _text(flight.wind_to_east_kt, 2),
        _text(flight.latitude_deg, 7),
        _text(flight.longitude_deg, 7),
        _text(flight.altitude_ft, 1),
    )
    rows = [",".join(row) for row in zip(*columns, strict=True)]
    states = _write(folder / f"{flight.scenario.name}.csv", [header, *rows])
    facts = json.dumps({"log": log, **_ordered(flight), **outcome}, indent=1)
    return states, _write(folder / f"{flight.scenario.name}.json", [facts])


def _ordered(flight: Flight) -> dict[str, Any]:
    scenario = flight.scenario
    orders = {key: value for key, value in asdict(scenario).items() if key not in {"name", "start"}}
    return {
        "start_utc": utc(flight, 0.0),
        "end_utc": utc(flight, flight.time_s[-1]),
        "ordered": orders,
        "parts": [{"part": part.name, "start_utc": utc(flight, part.start_s, "milliseconds")} for part in flight.parts],
    }


def _received(flight: Flight) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Latitude and longitude [deg] and height [m], with a receiver's errors."""
    rng = np.random.default_rng([flight.scenario.seed, 1])
    samples = flight.time_s.size

    def error(wander_m: float, time_s: float, white_m: float) -> FloatArray:
        return gauss_markov(rng, samples, 1.0, wander_m, time_s) + white_m * rng.standard_normal(samples)

    one_axis = math.sqrt(0.5)
    north, east = (error(HORIZONTAL_WANDER_M * one_axis, HORIZONTAL_TIME_S, HORIZONTAL_WHITE_M * one_axis) for _ in range(2))
    height = flight.altitude_ft * FT + error(VERTICAL_WANDER_M, VERTICAL_TIME_S, VERTICAL_WHITE_M)
    # A minute of arc for each nautical mile: within 0.4 % of the ellipsoid, of errors of a few metres.
    latitude = flight.latitude_deg + north / (60.0 * NM)
    longitude = flight.longitude_deg + east / (60.0 * NM * np.cos(np.radians(flight.latitude_deg)))
    return latitude, longitude, height


def _text(values: FloatArray, decimals: int) -> list[str]:
    return [f"{value:.{decimals}f}" for value in values]


def _instant(flight: Flight, time_s: float) -> datetime:
    return flight.scenario.start + timedelta(seconds=float(time_s))


def utc(flight: Flight, time_s: float, timespec: str = "seconds") -> str:
    """An instant of the log in UTC."""
    return _instant(flight, time_s).isoformat(timespec=timespec).replace("+00:00", "Z")


def _write(path: Path, lines: list[str]) -> Path:
    path.parent.mkdir(exist_ok=True)
    path.write_text("\n".join(lines) + "\n", encoding="utf-8", newline="\n")
    return path
