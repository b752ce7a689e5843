"""A one-hour 1 Hz log for timing: a wandering cruise that leads into the clean sample flight. Written once, always the same."""

from __future__ import annotations

import math
from datetime import UTC, datetime
from pathlib import Path

import numpy as np

from analyzer.physics import geodesy
from analyzer.track.read import read_track
from analyzer.track.track import Track

SAMPLES = Path(__file__).resolve().parent.parent / "sample_tracks"
_CRUISE_MPS = 50.0


def write_hour_log(path: Path, seconds: int = 3600) -> None:
    """Write the log as CSV."""
    flight = read_track(SAMPLES / "clean.csv")
    latitude, longitude = _cruise_to(flight, seconds - len(flight))
    start = float(flight.time_s[0]) - (seconds - len(flight))
    altitude = np.concatenate([np.full(len(latitude) - len(flight), flight.altitude_m[0]), flight.altitude_m])
    altitude += np.random.default_rng(1).normal(0.0, 0.5, len(altitude))
    with path.open("w", encoding="utf-8") as file:
        file.write("time_utc,latitude_deg,longitude_deg,altitude_ft\n")
        for k in range(seconds):
            time = datetime.fromtimestamp(start + k, tz=UTC)
            file.write(
                f"{time:%Y-%m-%dT%H:%M:%SZ},{math.degrees(latitude[k]):.5f},{math.degrees(longitude[k]):.5f},"
                f"{altitude[k] / 0.3048:.0f}\n"
            )


def _cruise_to(flight: Track, seconds: int) -> tuple[np.ndarray, np.ndarray]:
    """Positions of a cruise that ends where a flight begins, and the flight."""
    wander = np.cumsum(np.random.default_rng(2).normal(0.0, 6e-4, seconds))
    _, course = geodesy.inverse(
        flight.latitude_rad[0], flight.longitude_rad[0], flight.latitude_rad[1], flight.longitude_rad[1]
    )
    latitude, longitude = [float(flight.latitude_rad[0])], [float(flight.longitude_rad[0])]
    for k in range(seconds):
        y, x = geodesy.direct(latitude[-1], longitude[-1], float(course) + math.pi + wander[k], _CRUISE_MPS)
        latitude.append(float(y))
        longitude.append(float(x))
    back = slice(None, 0, -1)
    return np.concatenate([latitude[back], flight.latitude_rad]), np.concatenate([longitude[back], flight.longitude_rad])
