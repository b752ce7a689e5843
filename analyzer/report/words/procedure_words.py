"""Charted values in words: positions, altitudes in the file's unit, ranges, directions, times."""

import math

from analyzer.physics.units import FT, NM
from analyzer.procedure.values import AltitudeUnit, LegBy

__all__ = ["altitude_range", "altitude_text", "capital", "east_text", "leg_length_text", "minutes_text", "place_text"]

_LEG_BY: dict[LegBy | None, str] = {"dme": " by DME", "along-track": " along track", "from-fix": " from the fix", None: ""}


def altitude_text(altitude_m: float, unit: AltitudeUnit) -> str:
    """An altitude in the file's unit: ``2100 ft``, ``640.1 m``."""
    return f"{_number(altitude_m, unit)} {unit}"


def _number(altitude_m: float, unit: AltitudeUnit) -> str:
    if unit == "ft":
        return f"{altitude_m / FT:.0f}"
    return f"{altitude_m:.1f}".removesuffix(".0")


def altitude_range(minimum_m: float | None, maximum_m: float | None, unit: AltitudeUnit) -> str:
    """The altitudes allowed: ``at or above 2100 ft``, ``at 2100 ft``, ``between 2100 and 3000 ft``; empty without limits."""
    if minimum_m is not None and maximum_m is not None:
        if minimum_m == maximum_m:
            return f"at {altitude_text(minimum_m, unit)}"
        return f"between {_number(minimum_m, unit)} and {altitude_text(maximum_m, unit)}"
    if minimum_m is not None:
        return f"at or above {altitude_text(minimum_m, unit)}"
    return f"at or below {altitude_text(maximum_m, unit)}" if maximum_m is not None else ""


def place_text(latitude_rad: float, longitude_rad: float) -> str:
    """A position in decimal degrees with hemispheres: ``44.21370 N 9.08620 E``."""
    latitude, longitude = math.degrees(latitude_rad), math.degrees(longitude_rad)
    return f"{abs(latitude):.5f} {'N' if latitude >= 0 else 'S'} {abs(longitude):.5f} {'E' if longitude >= 0 else 'W'}"


def capital(text: str) -> str:
    """The text with a capital first letter, the rest unchanged."""
    return f"{text[:1].upper()}{text[1:]}"


def east_text(degrees: float) -> str:
    """A declination, ``9.0° west``."""
    return f"{abs(degrees):.1f}° {'east' if degrees >= 0.0 else 'west'}"


def leg_length_text(length_m: float, by: LegBy | None) -> str:
    """The length of a leg, and what it is read by where that is charted: ``4 NM by DME``."""
    return f"{length_m / NM:g} NM{_LEG_BY[by]}"


def minutes_text(seconds: float) -> str:
    """A time as charts print it, ``2 min 34 s``; below two minutes, in seconds."""
    if seconds < 120.0:
        return f"{seconds:g} s"
    minutes, left = divmod(seconds, 60.0)
    return f"{minutes:.0f} min" if left == 0.0 else f"{minutes:.0f} min {left:g} s"
