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
from pilot import CHART, from_fix, gauss_markov, wrap

if TYPE_CHECKING:
    from pathlib import Path

    from fly import Flight

__all__ = ["write_gpx", "write_log_in_feet", "write_log_in_metres", "write_truth"]

FloatArray = npt.NDArray[np.float64]

# A receiver's errors: standard deviations [m], and the correlation times of the wandering ones [s].
HORIZONTAL_WANDER_M, HORIZONTAL_TIME_S, HORIZONTAL_WHITE_M = 3.0, 60.0, 0.3  # of both axes together
VERTICAL_WANDER_M, VERTICAL_TIME_S, VERTICAL_WHITE_M = 5.0, 90.0, 0.5

ESTABLISHED_COURSE_DEG = 5.0
ESTABLISHED_TRACK_DEG = 15.0


def write_log_in_feet(flight: Flight, folder: Path) -> Path:
    """A comma-separated log: ISO 8601 time in one column, altitude in whole feet."""
    rows = [
        f"{_utc(flight, time)},{latitude:.6f},{longitude:.6f},{height / FT:.0f}"
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
        f'<trkpt lat="{latitude:.6f}" lon="{longitude:.6f}"><ele>{height:.1f}</ele><time>{_utc(flight, time)}</time></trkpt>'
        for time, latitude, longitude, height in zip(flight.time_s, *_received(flight), strict=True)
    ]
    head = '<?xml version="1.0" encoding="UTF-8"?>\n<gpx version="1.1" creator="sample flights" xmlns="http://www.topografix.com/GPX/1/1">'
    lines = [head, f"<trk><name>{flight.scenario.name}</name><trkseg>", *points, "</trkseg></trk>", "</gpx>"]
    return _write(folder / f"{flight.scenario.name}.gpx", lines)


def write_truth(flight: Flight, log: str, folder: Path) -> tuple[Path, Path]:
    """The exact states at 1 Hz, and what was ordered and came of it."""
    header = (
        "time_utc,bank_deg,heading_deg_true,true_airspeed_kt,calibrated_airspeed_kt,wind_to_north_kt,wind_to_east_kt,"
        "latitude_deg,longitude_deg,altitude_ft"
    )
    columns = (
        [_utc(flight, time) for time in flight.time_s],
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
    facts = json.dumps({"log": log, **_ordered(flight), **_outcome(flight)}, indent=1)
    return states, _write(folder / f"{flight.scenario.name}.json", [facts])


def _ordered(flight: Flight) -> dict[str, Any]:
    scenario = flight.scenario
    orders = {key: value for key, value in asdict(scenario).items() if key not in {"name", "start"}}
    return {
        "start_utc": _utc(flight, 0.0),
        "end_utc": _utc(flight, flight.time_s[-1]),
        "ordered": orders,
        "parts": [{"part": part.name, "start_utc": _utc(flight, part.start_s, "milliseconds")} for part in flight.parts],
    }


def _outcome(flight: Flight) -> dict[str, Any]:
    """What came of it from the outbound passage of the fix until established inbound, from the states at 1 Hz."""
    start_s = {part.name: part.start_s for part in flight.parts}
    lines = [from_fix(*position) for position in zip(flight.latitude_deg, flight.longitude_deg, strict=True)]
    distance_nm = np.array([line["s12"] for line in lines]) / NM
    inbound = CHART["reversal"]["inbound_course_deg"] + CHART["fix"]["variation_deg_east"]
    off_course = wrap(np.array([line["azi1"] for line in lines]) + 180.0 - inbound)
    established = (
        (flight.time_s > start_s["reversal_turn"])
        & (np.abs(off_course) <= ESTABLISHED_COURSE_DEG)
        & (np.abs(wrap(flight.track_deg - inbound)) <= ESTABLISHED_TRACK_DEG)
    )
    end = int(np.flatnonzero(established)[0])
    reversal = slice(math.ceil(start_s["outbound_turn"]), end + 1)
    farthest = reversal.start + int(np.argmax(distance_nm[reversal]))
    steepest = reversal.start + int(np.argmax(np.abs(flight.bank_deg[reversal])))
    return {
        "established_utc": _utc(flight, flight.time_s[end]),
        "established_distance_nm": round(distance_nm[end], 3),
        "greatest_distance_nm": round(distance_nm[farthest], 3),
        "greatest_distance_utc": _utc(flight, flight.time_s[farthest]),
        "lowest_altitude_ft": round(float(flight.altitude_ft[reversal].min()), 1),
        "peak_bank_deg": round(flight.bank_deg[steepest], 2),
        "peak_bank_utc": _utc(flight, flight.time_s[steepest]),
        "greatest_calibrated_airspeed_kt": round(float(flight.calibrated_airspeed_kt[reversal].max()), 1),
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


def _utc(flight: Flight, time_s: float, timespec: str = "seconds") -> str:
    return _instant(flight, time_s).isoformat(timespec=timespec).replace("+00:00", "Z")


def _write(path: Path, lines: list[str]) -> Path:
    path.parent.mkdir(exist_ok=True)
    path.write_text("\n".join(lines) + "\n", encoding="utf-8", newline="\n")
    return path
