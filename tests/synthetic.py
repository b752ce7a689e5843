"""Invented flights whose every answer is known: straight lines and steady turns through a steady wind, joined end to end.

A flight is laid out in a plane with the fix at its origin, `y` out along the outbound course and `x` to the right of it;
headings count clockwise from the outbound course. `Place` carries the plane to a spot on WGS 84 so that geodesic distance and
bearing from the fix are kept exactly.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np
import numpy.typing as npt
from pyproj import Geod

from analyzer.procedure.schema import Procedure
from analyzer.track.track import Gap, Track

Floats = npt.NDArray[np.float64]

NM, FT, G = 1852.0, 0.3048, 9.80665
KT = NM / 3600.0
START_S = 1_780_308_000.0  # 2026-06-01 10:00 UTC
_TICK_S = 0.1
_WGS84 = Geod(ellps="WGS84")


@dataclass(frozen=True)
class Straight:
    """Wings level, the heading held; the airspeed may change steadily to another."""

    name: str
    seconds: float
    to_kt: float | None = None


@dataclass(frozen=True)
class Turn:
    """A coordinated level turn, right positive, at a steady bank."""

    name: str
    degrees: float
    bank_deg: float


Segment = Straight | Turn
Wind = tuple[float, float]  # from [degrees clockwise from the outbound course], speed [kt]
CALM: Wind = (0.0, 0.0)


@dataclass(frozen=True, eq=False)
class Flown:
    """A flight in the plane, at ticks of a tenth of a second. `begins` holds the instant each segment begins at."""

    time_s: Floats
    x_nm: Floats
    y_nm: Floats
    heading_deg: Floats
    bank_deg: Floats
    begins: Mapping[str, float]

    def at(self, time_s: Floats | float, values: Floats) -> Floats:
        return np.interp(time_s, self.time_s, values)

    def mirrored(self) -> "Flown":
        """The same flight seen in a mirror along the outbound course."""
        return replace(self, x_nm=-self.x_nm, heading_deg=-self.heading_deg, bank_deg=-self.bank_deg)

    @property
    def distance_nm(self) -> Floats:
        return np.hypot(self.x_nm, self.y_nm)


def standard_rate_bank(speed_kt: float, rate_deg_s: float = 3.0) -> float:
    """Bank of a turn at a rate, in degrees."""
    return math.degrees(math.atan(speed_kt * KT * math.radians(rate_deg_s) / G))


def holding(course_deg: float, speed_kt: float, wind: Wind) -> float:
    """Heading that holds a course in a wind, in degrees."""
    return course_deg + math.degrees(math.asin(wind[1] * math.sin(math.radians(wind[0] - course_deg)) / speed_kt))


def _pieces(segments: Sequence[Segment], speed_kt: float, roll_deg_s: float | None) -> list[tuple[float, ...]]:
    """Rows of: seconds, bank at both ends [rad], speed at both ends [m/s], number of the segment."""
    speed, rows = speed_kt * KT, []
    for number, segment in enumerate(segments):
        if isinstance(segment, Straight):
            after = speed if segment.to_kt is None else segment.to_kt * KT
            rows.append((segment.seconds, 0.0, 0.0, speed, after, number))
            speed = after
            continue
        sign, bank = math.copysign(1.0, segment.degrees), math.radians(segment.bank_deg)
        sweep, rate = math.radians(abs(segment.degrees)), G * math.tan(bank) / speed
        roll = math.radians(roll_deg_s) if roll_deg_s else math.inf
        sweep -= 2.0 * G / speed * -math.log(math.cos(bank)) / roll
        if sweep < 0.0:
            raise ValueError(f"{segment}: cannot be rolled into and out of at {roll_deg_s} degrees a second")
        rows.append((bank / roll, 0.0, sign * bank, speed, speed, number))
        rows.append((sweep / rate, sign * bank, sign * bank, speed, speed, number))
        rows.append((bank / roll, sign * bank, 0.0, speed, speed, number))
    return [row for row in rows if row[0] > 0.0]


def fly(
    segments: Sequence[Segment],
    start_nm: tuple[float, float] = (0.0, 0.0),
    heading_deg: float = 0.0,
    speed_kt: float = 120.0,
    wind: Wind = CALM,
    roll_deg_s: float | None = None,
) -> Flown:
    """Fly segments one after the other; rolls are instant unless a rate is given. Headings are integrated in closed form."""
    pieces = np.array(_pieces(segments, speed_kt, roll_deg_s))
    seconds, bank_0, bank_1, speed_0, speed_1 = pieces[:, :5].T
    ends = np.cumsum(seconds)
    begin = ends - seconds
    roll, steady, upright = (bank_1 - bank_0) / seconds, np.tan(bank_0), np.cos(bank_0)

    def turned(time: Floats, piece: Floats) -> Floats:
        """The change of heading since the beginning of a piece."""
        into = time - begin[piece]
        change = steady[piece] * into
        rolling = np.abs(roll[piece]) > 1e-12
        which = piece[rolling]
        bank = bank_0[which] + roll[which] * into[rolling]
        change[rolling] = np.log(upright[which] / np.cos(bank)) / roll[which]
        return G / speed_0[piece] * change

    base = np.concatenate([[0.0], np.cumsum(turned(ends, np.arange(len(pieces))))])
    base += math.radians(heading_deg)
    ticks = np.append(np.arange(0.0, ends[-1], _TICK_S), ends[-1])
    middle, step = (ticks[1:] + ticks[:-1]) / 2.0, np.diff(ticks)
    at_middle, at_tick = (np.minimum(np.searchsorted(ends, t, side="right"), len(pieces) - 1) for t in (middle, ticks))
    speed = speed_0[at_middle] + (speed_1 - speed_0)[at_middle] * (middle - begin[at_middle]) / seconds[at_middle]
    ahead, blows_to = base[at_middle] + turned(middle, at_middle), math.radians(wind[0] + 180.0)
    x_mps = speed * np.sin(ahead) + wind[1] * KT * math.sin(blows_to)
    y_mps = speed * np.cos(ahead) + wind[1] * KT * math.cos(blows_to)
    bank = bank_0[at_tick] + (bank_1 - bank_0)[at_tick] * (ticks - begin[at_tick]) / seconds[at_tick]
    first = {int(number): float(time) for number, time in zip(pieces[::-1, 5], begin[::-1], strict=True)}
    return Flown(
        time_s=ticks,
        x_nm=start_nm[0] + np.concatenate([[0.0], np.cumsum(x_mps * step)]) / NM,
        y_nm=start_nm[1] + np.concatenate([[0.0], np.cumsum(y_mps * step)]) / NM,
        heading_deg=np.degrees(base[at_tick] + turned(ticks, at_tick)),
        bank_deg=np.degrees(bank),
        begins={segments[number].name: time for number, time in first.items()},
    )


@dataclass(frozen=True)
class Place:
    """Where on Earth, and how turned, a flight is set: the fix, the true outbound course and the station's declination."""

    latitude_deg: float = 41.2
    longitude_deg: float = -38.4  # open ocean
    outbound_true_deg: float = 62.0
    variation_deg: float = -11.0

    def lay(self, x_nm: Floats, y_nm: Floats) -> tuple[Floats, Floats]:
        """Latitude and longitude of points of the plane, in degrees."""
        bearing = self.outbound_true_deg + np.degrees(np.arctan2(x_nm, y_nm))
        fixes = np.full_like(bearing, self.longitude_deg), np.full_like(bearing, self.latitude_deg)
        longitude, latitude, _ = _WGS84.fwd(*fixes, bearing, np.hypot(x_nm, y_nm) * NM)
        return latitude, longitude


HERE = Place()


@dataclass(frozen=True)
class Log:
    """How a flight is logged: when, with what errors and holes. `altitude_ft` is one value, or (second, feet) points."""

    altitude_ft: float | Sequence[tuple[float, float]] | None = 3000.0
    step_s: float = 1.0
    noise_m: float = 0.0
    seed: int = 0
    hole_s: tuple[float, float] | None = None
    end_s: float = math.inf
    start_s: float = START_S

    def of(self, flown: Flown, place: Place = HERE) -> Track:
        """The track of a flight."""
        time = np.arange(0.0, min(self.end_s, flown.time_s[-1]) + 1e-9, self.step_s)
        gaps: tuple[Gap, ...] = ()
        if self.hole_s is not None:
            before, after = time[time <= self.hole_s[0]], time[time >= self.hole_s[1]]
            time, gaps = np.concatenate([before, after]), (Gap(self.start_s + before[-1], self.start_s + after[0]),)
        noise = np.random.default_rng([self.seed, 7]).normal(0.0, self.noise_m / NM, (2, len(time)))
        latitude, longitude = place.lay(flown.at(time, flown.x_nm) + noise[0], flown.at(time, flown.y_nm) + noise[1])
        if self.altitude_ft is None:
            altitude = np.full(len(time), np.nan)
        elif isinstance(self.altitude_ft, float | int):
            altitude = np.full(len(time), float(self.altitude_ft))
        else:
            altitude = np.interp(time, *np.array(self.altitude_ft).T)
        radians = np.radians(latitude), np.radians(longitude)
        return Track("made.csv", "csv", self.start_s + time, *radians, altitude * FT, {}, (), gaps, ())


@dataclass(frozen=True)
class Chart:
    """The charted procedure turn at a place; any table of the procedure file can be added to or replaced."""

    side: str | None = "right"
    within_nm: float | None = 10.0
    floors_ft: Mapping[str, float] = field(default_factory=dict)
    fix: Mapping[str, Any] = field(default_factory=dict)
    reversal: Mapping[str, Any] = field(default_factory=dict)
    tables: Mapping[str, Any] = field(default_factory=dict)

    def at(self, place: Place = HERE) -> Procedure:
        """The procedure as read from a file."""
        outbound = (place.outbound_true_deg - place.variation_deg) % 360.0
        fix = {"name": "QRL", "kind": "vor", "latitude_deg": place.latitude_deg, "longitude_deg": place.longitude_deg}
        reversal = {"kind": "procedure-turn", "side": self.side, "within_nm": self.within_nm}
        courses = {"outbound_course_deg": outbound, "inbound_course_deg": (outbound + 180.0) % 360.0}
        tables: dict[str, Any] = {
            "title": "Quorl Bank VOR",
            "fix": {**fix, "variation_deg_east": place.variation_deg, **self.fix},
            "reversal": {**reversal, **courses, **self.reversal},
            "altitudes": {f"{leg}_ft": floor for leg, floor in self.floors_ft.items()},
            **self.tables,
        }
        return Procedure.model_validate(tables)


CHARTED = Chart()
