"""The track: one position log as a tidy value with one row per sample, in SI and radians, and what was done to get it."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from analyzer.frozen import dataclass
from analyzer.physics.geodesy import MEAN_RADIUS_M
from analyzer.physics.quantiles import median
from analyzer.physics.units import DEG, FT, KT, FloatArray, unwrapped
from analyzer.track.air import STANDARD_AIR, Air
from analyzer.track.references import REFERENCES
from analyzer.track.rounding import written_digit_rad
from analyzer.vocabulary import AltitudeReference

if TYPE_CHECKING:
    import pandas as pd


__all__ = ["RECORDED", "Column", "Gap", "Note", "PutRight", "Track", "counted"]

# What a log may hold besides time and position: internal name -> (column of ``Track.to_frame``, SI value of one of its units).
RECORDED: Mapping[str, tuple[str, float]] = {
    "ground_speed_mps": ("ground_speed_kt", KT),
    "track_rad": ("track_deg_true", DEG),
    "heading_rad": ("heading_deg_true", DEG),
    "bank_rad": ("bank_deg", DEG),
    "pitch_rad": ("pitch_deg", DEG),
    "indicated_airspeed_mps": ("indicated_airspeed_kt", KT),
    "true_airspeed_mps": ("true_airspeed_kt", KT),
    "pressure_altitude_m": ("pressure_altitude_ft", FT),
    "vertical_speed_mps": ("vertical_speed_fpm", FT / 60.0),
}

_TURNS_SHOW_S = 20.0  # between fixes: the errors stated of banks hold to here, from flights filled in for trial


@dataclass(frozen=True)
class Column:
    """How one column of the file was understood.

    `name` is the file's own, `quantity` ours (``time``, ``latitude``, ``altitude``, ``ground_speed``, ...; ``unused``
    where the column plays no part), `unit` what its numbers were read in, `basis` why: one short phrase.
    """

    name: str
    quantity: str
    unit: str
    basis: str


@dataclass(frozen=True)
class Note:
    """One thing that was inferred, repaired or dropped: a sentence for people, and how many samples it touched."""

    text: str
    count: int = 0


def counted(number: int, noun: str) -> str:
    """The number with its noun, for notes: ``1 row``, ``1,204 rows``."""
    return f"{number:,} {noun}" if number == 1 else f"{number:,} {noun}s"


@dataclass(frozen=True)
class Gap:
    """A stretch without samples. Times in seconds since 1970-01-01 UTC."""

    start_s: float
    end_s: float


@dataclass(frozen=True)
class PutRight:
    """A stretch of the log whose times were corrected, and how, in a word or two. Times in seconds since 1970-01-01 UTC."""

    word: str
    start_s: float
    end_s: float


@dataclass(frozen=True, eq=False)
class Track:
    """A position log, cleaned.

    `time_s` [s since 1970-01-01 UTC] rises strictly; `latitude_rad` and `longitude_rad` are WGS 84; `altitude_m` is as logged,
    NaN where there is none, and counts from `altitude_reference`. `recorded` holds what else was logged, by the names of
    `RECORDED`, NaN where a row lacks it. `filled_in` is true where the log was interpolated between the fixes really recorded,
    which alone are kept; `fixes_every_s` is the interval of the fixes where they are even and so known exactly [s], None where
    they had to be recovered from the lines between. `air` is what the user gave for the air. `put_right` holds the stretches
    whose times are not as logged. `takes_off` is true where the log began on the ground, which was left out. `begins_s` are
    the first samples of further flights, where the clock of the log began again. `pilot` is the name that the log or the user
    gives, empty where neither does. All arrays have one value per sample and are read-only.
    """

    file: str
    format: str
    time_s: FloatArray
    latitude_rad: FloatArray
    longitude_rad: FloatArray
    altitude_m: FloatArray
    recorded: Mapping[str, FloatArray]
    columns: tuple[Column, ...]
    gaps: tuple[Gap, ...]
    notes: tuple[Note, ...]
    filled_in: bool = False
    fixes_every_s: float | None = None
    air: Air = STANDARD_AIR
    put_right: tuple[PutRight, ...] = ()
    takes_off: bool = False
    begins_s: tuple[float, ...] = ()
    altitude_reference: AltitudeReference = "unknown"
    pilot: str = ""

    def __post_init__(self) -> None:
        for array in (self.time_s, self.latitude_rad, self.longitude_rad, self.altitude_m, *self.recorded.values()):
            array.flags.writeable = False

    def __len__(self) -> int:
        return len(self.time_s)

    def between(self, start_s: float, end_s: float) -> Track:
        """The samples from one instant to another, both included; the notes are those on the whole log."""
        part = slice(self.time_s.searchsorted(start_s - 1e-6), self.time_s.searchsorted(end_s + 1e-6))
        return replace(
            self,
            time_s=self.time_s[part],
            latitude_rad=self.latitude_rad[part],
            longitude_rad=self.longitude_rad[part],
            altitude_m=self.altitude_m[part],
            recorded={name: values[part] for name, values in self.recorded.items()},
            gaps=tuple(gap for gap in self.gaps if gap.start_s >= start_s and gap.end_s <= end_s),
            put_right=tuple(one for one in self.put_right if one.start_s < end_s and one.end_s > start_s),
            takes_off=self.takes_off and part.start == 0,
            begins_s=tuple(begin for begin in self.begins_s if start_s < begin <= end_s),
        )

    @cached_property
    def interval_s(self) -> float:
        """Median step between samples. [s]"""
        return median(np.diff(self.time_s))

    @cached_property
    def position_rounding_m(self) -> float:
        """The last digit that the positions were rounded to, of the two coordinates the coarser; 0 where nothing shows. [m]"""
        north_rad, east_rad = written_digit_rad(self.latitude_rad), written_digit_rad(unwrapped(self.longitude_rad))
        return MEAN_RADIUS_M * max(north_rad, east_rad * math.cos(median(self.latitude_rad)))

    @property
    def fixes_recovered(self) -> bool:
        """Whether the log was filled in, and its fixes recovered from the lines between, so that they are not exact."""
        return self.filled_in and self.fixes_every_s is None

    @property
    def turns_hidden(self) -> bool:
        """Whether bank and rate of turn cannot be measured: filled in between fixes far apart, or not known exactly."""
        return self.fixes_recovered or (self.fixes_every_s or 0.0) > _TURNS_SHOW_S

    @property
    def altitude_offset_sd_m(self) -> float:
        """Standard deviation of the error common to all altitudes, which arises where they are not above sea level."""
        return REFERENCES[self.altitude_reference].offset_sd_m

    @property
    def has_altitude(self) -> bool:
        """Whether any sample has an altitude."""
        return bool(np.isfinite(self.altitude_m).any())

    def to_frame(self) -> pd.DataFrame:
        """One row per sample: ``time`` (UTC), ``latitude_deg``, ``longitude_deg``, ``altitude_ft`` and each recorded column."""
        import pandas as pd

        data: dict[str, object] = {
            "time": pd.to_datetime(np.round(self.time_s * 1e6).astype("int64"), unit="us", utc=True),
            "latitude_deg": self.latitude_rad / DEG,
            "longitude_deg": self.longitude_rad / DEG,
            "altitude_ft": self.altitude_m / FT,
        }
        for name, values in self.recorded.items():
            column, factor = RECORDED[name]
            data[column] = values / factor
        return pd.DataFrame(data)
