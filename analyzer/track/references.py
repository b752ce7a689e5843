"""What the altitudes of a log count from: its words, what all altitudes may be off sea level by, and what the user may say."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Literal, TypeAlias

from analyzer.errors import LogError
from analyzer.frozen import dataclass
from analyzer.physics import atmosphere
from analyzer.track.air import PRESSURE_SD_PA
from analyzer.vocabulary import AltitudeReference

__all__ = ["ALTITUDE_FROM", "PRESSURE_ALTITUDE_SD_M", "REFERENCES", "AltitudeFrom", "Reference", "altitude_from"]

# How far pressure altitude lies from what an altimeter set to the QNH shows, by the pressure of the day: 410 ft
PRESSURE_ALTITUDE_SD_M = float(atmosphere.pressure_altitude(atmosphere.SEA_LEVEL_PRESSURE_PA - PRESSURE_SD_PA))
# How far sea level lies from the ellipsoid, root mean square over the Earth (about 30 m by EGM96; from memory)
_GEOID_SD_M = 30.0


@dataclass(frozen=True)
class Reference:
    """A reference of altitudes in `words`, and the standard deviation of the offset that they all share. [m]"""

    words: str
    offset_sd_m: float = 0.0


# Minimums are flown by an altimeter set to the QNH, so an indicated altitude has no offset. An unknown reference is taken as
# sea level, and the report says so where it matters.
REFERENCES: Mapping[AltitudeReference, Reference] = MappingProxyType({
    "mean sea level": Reference("above mean sea level"),
    "pressure altitude": Reference("pressure altitude, on 1013.25 hPa", PRESSURE_ALTITUDE_SD_M),
    "pressure altitude, QNH applied": Reference("pressure altitude, corrected to the QNH"),
    "indicated altitude": Reference("as the altimeter showed, setting not known"),
    "ellipsoid": Reference("above the WGS 84 ellipsoid", _GEOID_SD_M),
    "unknown": Reference("the log does not state their reference"),
})  # fmt: skip

# What the user may say: ``--altitude-from sea-level``.
AltitudeFrom: TypeAlias = Literal["sea-level", "pressure", "ellipsoid"]
ALTITUDE_FROM: Mapping[AltitudeFrom, AltitudeReference] = MappingProxyType(
    {"sea-level": "mean sea level", "pressure": "pressure altitude", "ellipsoid": "ellipsoid"}
)


def altitude_from(text: str) -> AltitudeFrom:
    """The altitude reference that the user names. Raises `LogError` for any other word."""
    known = next((name for name in ALTITUDE_FROM if name == text), None)
    if known is None:
        raise LogError(f"--altitude-from {text}: must be one of {', '.join(ALTITUDE_FROM)}")
    return known
