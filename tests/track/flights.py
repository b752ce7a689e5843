"""An invented flight to write as a log: curves and climbs at a steady speed, one sample a step, laid on a sphere."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta

import numpy as np
import numpy.typing as npt

from analyzer.track.samples import Samples
from analyzer.track.track import Track

Floats = npt.NDArray[np.float64]
Reader = Callable[..., Track]  # writes a log, reads it, and gives the track

START = datetime(2026, 5, 1, 14, 0, tzinfo=UTC)
METRES_IN_A_DEGREE = 111_195.0


@dataclass(frozen=True)
class Flight:
    time_s: Floats
    latitude_deg: Floats
    longitude_deg: Floats
    altitude_ft: Floats

    def __len__(self) -> int:
        return len(self.time_s)

    def take(self, places: object) -> "Flight":
        return Flight(*(values[places] for values in (self.time_s, self.latitude_deg, self.longitude_deg, self.altitude_ft)))  # type: ignore[index]

    def moved(self, place: int, north_m: float) -> "Flight":
        """One sample moved north."""
        latitude = self.latitude_deg.copy()
        latitude[place] += north_m / METRES_IN_A_DEGREE
        return replace(self, latitude_deg=latitude)


def flown(
    count: int = 300,
    step_s: float = 1.0,
    speed_mps: float = 60.0,
    at: tuple[float, float] = (47.0, 8.0),
    times: Floats | None = None,
) -> Flight:
    """A flight of S-turns at 3°/s at most, at about 4,000 ft, from `at` on."""
    elapsed = np.arange(count) * step_s if times is None else times
    fine = np.arange(0.0, elapsed[-1] + 1.0, 0.1)
    heading = 1.0 + np.cumsum(np.radians(3.0) * np.sin(fine / 40.0)) * 0.1
    north, east = (np.cumsum(speed_mps * part) * 0.1 for part in (np.cos(heading), np.sin(heading)))
    latitude = at[0] + np.interp(elapsed, fine, north) / METRES_IN_A_DEGREE
    longitude = at[1] + np.interp(elapsed, fine, east) / METRES_IN_A_DEGREE / np.cos(np.radians(at[0]))
    longitude = (longitude + 180.0) % 360.0 - 180.0
    return Flight(START.timestamp() + elapsed, latitude, longitude, 4000.0 + 300.0 * np.sin(elapsed / 60.0))


def aside(flight: Flight, first: int, end: int, metres: float, towards: float) -> Flight:
    """The flight with a stretch of its positions moved in one direction. [radians from north]"""
    north, east = metres * np.cos(towards) / METRES_IN_A_DEGREE, metres * np.sin(towards) / METRES_IN_A_DEGREE
    latitude, longitude = flight.latitude_deg.copy(), flight.longitude_deg.copy()
    latitude[first:end] += north
    longitude[first:end] += east / np.cos(np.radians(latitude[0]))
    return replace(flight, latitude_deg=latitude, longitude_deg=longitude)


def noisy(flight: Flight, metres: float) -> Flight:
    """The flight with independent errors of its positions, of this standard deviation north and east."""
    noise = np.random.default_rng(5).normal(0.0, metres / METRES_IN_A_DEGREE, (2, len(flight)))
    return replace(flight, latitude_deg=flight.latitude_deg + noise[0], longitude_deg=flight.longitude_deg + noise[1])


def iso(time_s: float) -> str:
    """The instant to the microsecond, with Z."""
    instant = datetime(1970, 1, 1, tzinfo=UTC) + timedelta(microseconds=round(time_s * 1e6))
    return instant.isoformat().replace("+00:00", "Z")


def rows(flight: Flight) -> list[str]:
    """Lines of a log with the columns of `HEADER`."""
    return [
        f"{iso(time_s)},{latitude:.8f},{longitude:.8f},{altitude:.2f}"
        for time_s, latitude, longitude, altitude in zip(
            flight.time_s, flight.latitude_deg, flight.longitude_deg, flight.altitude_ft, strict=True
        )
    ]


HEADER = "time_utc,lat_deg,lon_deg,alt_ft"


def csv_text(flight: Flight) -> str:
    return "\n".join([HEADER, *rows(flight)]) + "\n"


def samples_of(flight: Flight) -> Samples:
    return Samples(
        flight.time_s,
        np.radians(flight.latitude_deg),
        np.radians(flight.longitude_deg),
        flight.altitude_ft * 0.3048,
        {},
        np.arange(len(flight)),
    )
