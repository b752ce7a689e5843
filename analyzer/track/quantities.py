"""What a log can hold: the quantities by name, what each measures, and the units its numbers may come in."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping

from analyzer.frozen import dataclass
from analyzer.physics.units import DEG, FPM, FT, KT

__all__ = [
    "FIELDS",
    "GPS_UNIT",
    "HOURS_UNIT",
    "KINDS",
    "MINUTES_UNIT",
    "UNIT_WORDS",
    "Unit",
    "accepted_units",
    "parse_unit",
    "suits",
]

# quantity -> what it measures. `date` goes with a `time` that is a time of day, `utc_offset` with a local one, `gps_week` with
# one that is seconds of the week; minutes and letters go with degrees.
KINDS: Mapping[str, str] = {
    "time": "time",
    "date": "date",
    "latitude": "angle",
    "longitude": "angle",
    "altitude": "length",
    "ground_speed": "speed",
    "track": "angle",
    "heading": "angle",
    "bank": "angle",
    "pitch": "angle",
    "indicated_airspeed": "speed",
    "true_airspeed": "speed",
    "pressure_altitude": "length",
    "vertical_speed": "speed",
    "utc_offset": "offset",
    "gps_week": "week",
    "latitude_minutes": "minutes",
    "longitude_minutes": "minutes",
    "north_south": "letter",
    "east_west": "letter",
}

GPS_UNIT = "GPS s"  # units of times, in addition to the plain ones
HOURS_UNIT = "hh:mm"
MINUTES_UNIT = "mm:ss"

# quantity -> name in `Track.recorded`
FIELDS: Mapping[str, str] = {
    "ground_speed": "ground_speed_mps",
    "track": "track_rad",
    "heading": "heading_rad",
    "bank": "bank_rad",
    "pitch": "pitch_rad",
    "indicated_airspeed": "indicated_airspeed_mps",
    "true_airspeed": "true_airspeed_mps",
    "pressure_altitude": "pressure_altitude_m",
    "vertical_speed": "vertical_speed_mps",
}


@dataclass(frozen=True)
class Unit:
    """A unit: how it is written, what it measures, and what one of it is in SI (seconds for time, radians for angles)."""

    text: str
    kind: str
    factor: float


_MPH = 1609.344 / 3600.0  # the international mile is 1609.344 m by definition

_UNITS = (
    Unit("m", "length", 1.0),
    Unit("ft", "length", FT),
    Unit("km", "length", 1000.0),
    Unit("cm", "length", 0.01),
    Unit("mm", "length", 0.001),
    Unit("FL", "length", 100.0 * FT),
    Unit("kt", "speed", KT),
    Unit("m/s", "speed", 1.0),
    Unit("km/h", "speed", 1.0 / 3.6),
    Unit("mph", "speed", _MPH),
    Unit("ft/min", "speed", FPM),
    Unit("ft/s", "speed", FT),
    Unit("deg", "angle", DEG),
    Unit("rad", "angle", 1.0),
    Unit("1e-7 deg", "angle", 1e-7 * DEG),
    Unit("s", "time", 1.0),
    Unit("ms", "time", 1e-3),
    Unit("us", "time", 1e-6),
    Unit("ns", "time", 1e-9),
    Unit("min", "time", 60.0),
    Unit("h", "time", 3600.0),
    Unit("d", "time", 86_400.0),
    Unit(GPS_UNIT, "time", 1.0),
    Unit(HOURS_UNIT, "clock", 60.0),
    Unit(MINUTES_UNIT, "clock", 1.0),
    Unit("d/m/y", "date", 1.0),
    Unit("m/d/y", "date", 1.0),
    Unit("y/m/d", "date", 1.0),
    Unit("±hh:mm", "offset", 1.0),
    Unit("GPS weeks", "week", 604_800.0),
    Unit("minutes of arc", "minutes", DEG / 60.0),
    Unit("N/S or E/W", "letter", 1.0),
)

_SPELLINGS: Mapping[str, str] = {
    "m": "m metre metres meter meters",
    "ft": "ft foot feet",
    "km": "km kilometre kilometres kilometer kilometers",
    "cm": "cm",
    "mm": "mm",
    "FL": "fl",
    "kt": "kt kts kn knot knots",
    "m/s": "mps m/s m·s⁻¹",
    "km/h": "kmh kph km/h",
    "mph": "mph",
    "ft/min": "fpm ft/min",
    "ft/s": "fps ft/s",
    "deg": "deg degs degree degrees °",
    "rad": "rad rads radian radians",
    "1e-7 deg": "e7 1e7",
    "s": "s sec secs second seconds",
    "ms": "ms millisecond milliseconds",
    "us": "us µs μs microsecond microseconds",
    "ns": "ns nanosecond nanoseconds",
    "d/m/y": "d/m/y",
    "m/d/y": "m/d/y",
    "y/m/d": "y/m/d",
    HOURS_UNIT: "hh:mm hhmm",
    MINUTES_UNIT: "mm:ss mmss",
    "±hh:mm": "±hh:mm",
}

# units that a name may hold as a word of it
UNIT_WORDS: Mapping[str, Unit] = {word: unit for unit in _UNITS for word in _SPELLINGS.get(unit.text, "").split()}
_BY_TEXT: Mapping[str, Unit] = {**{unit.text.lower(): unit for unit in _UNITS}, **UNIT_WORDS}

_LONGEST = 40  # letters of a unit
_SCALED = re.compile(r"(\d+\.?\d*(?:e[+-]?\d+)?)\s*([^\d\s].*)")


def parse_unit(text: str) -> Unit | None:
    """The unit that `text` names, with an optional number before it (``0.01 m``, ``1e-7deg``); None where it names none.

    >>> parse_unit("Knots").text, parse_unit("0.01 m").factor, parse_unit("furlongs")
    ('kt', 0.01, None)
    """
    plain = text.strip().lower()
    unit = _BY_TEXT.get(plain)
    if unit is not None:
        return unit
    scaled = _SCALED.fullmatch(plain) if len(plain) <= _LONGEST else None
    if scaled is None or scaled[2] not in UNIT_WORDS or not 0.0 < float(scaled[1]) < math.inf:
        return None
    base = UNIT_WORDS[scaled[2]]
    return Unit(f"{scaled[1]} {base.text}", base.kind, float(scaled[1]) * base.factor)


def suits(unit: Unit, quantity: str) -> bool:
    """Whether numbers of `quantity` can come in `unit`. A time may hold a date, or be that of a clock."""
    return unit.kind == KINDS[quantity] or (quantity == "time" and unit.kind in ("date", "clock"))


def accepted_units(quantity: str) -> str:
    """The units that `quantity` may be given in, for messages: ``m, ft, km, cm, mm, FL``."""
    return ", ".join(unit.text for unit in _UNITS if suits(unit, quantity))
