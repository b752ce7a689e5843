"""Quantities as text for sentences, from SI units and radians to the units pilots use."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Literal

from analyzer.frozen import dataclass
from analyzer.physics.units import DEG, FT, KT, NM
from analyzer.vocabulary import PartName, ShapeName

__all__ = [
    "FEET",
    "HEIGHT_UNITS",
    "METRES",
    "HeightUnit",
    "check_name",
    "clock",
    "degrees",
    "feet",
    "height_unit",
    "knots",
    "miles",
    "part_where",
    "part_words",
    "shape_words",
    "side_word",
    "stopwatch",
    "unit_text",
    "value_text",
]


def check_name(check: str, unit: str = "") -> str:
    """The name of a check in words: ``distance limit``; the leg of a hold by what was measured, its time or length."""
    return "hold leg" if check == "hold_timing" and unit == "NM" else check.replace("_", " ")


def part_words(name: str, lap: int | None = None) -> str:
    """A part, or a leg, in words: ``reversal turn``. A hold is entered once: later laps begin with a ``turn outbound``."""
    later = name == "entry_turn" and lap is not None and lap > 1
    return "turn outbound" if later else name.replace("_", " ")


def clock(time_s: float) -> str:
    """Time of day, UTC, to the second: ``14:03:21``."""
    minute, second = divmod(round(time_s) % 86_400, 60)
    return f"{minute // 60:02d}:{minute % 60:02d}:{second:02d}"


def stopwatch(seconds: float) -> str:
    """Minutes and seconds as on a stopwatch: ``1:57``, ``0:40``."""
    whole = round(seconds)
    return f"{whole // 60}:{whole % 60:02d}"


def miles(distance_m: float, decimals: int = 2) -> str:
    """Nautical miles: ``9.87 NM``."""
    return f"{distance_m / NM:.{decimals}f} NM"


def feet(height_m: float) -> str:
    """Whole feet with thousands set apart: ``2,580 ft``."""
    return f"{round(height_m / FT):,} ft"


@dataclass(frozen=True)
class HeightUnit:
    """The unit that a procedure's altitudes are charted and reported in: its name and its size in metres."""

    name: Literal["ft", "m"]
    metres: float

    def text(self, height_m: float) -> str:
        """A height in whole units with thousands set apart: ``2,580 ft``."""
        return f"{round(height_m / self.metres):,} {self.name}"

    def ends(self, start_m: float, end_m: float) -> str:
        """Heights at the ends of a stretch in whole units: ``2600-1800``, or ``2600`` where they are the same."""
        ends = [f"{height_m / self.metres:.0f}" for height_m in (start_m, end_m)]
        return "-".join(dict.fromkeys(ends))


FEET = HeightUnit("ft", FT)
METRES = HeightUnit("m", 1.0)
HEIGHT_UNITS: Mapping[str, HeightUnit] = MappingProxyType({unit.name: unit for unit in (FEET, METRES)})


def height_unit(name: Literal["ft", "m"]) -> HeightUnit:
    """The unit of heights by its name."""
    return HEIGHT_UNITS[name]


def knots(speed_mps: float) -> str:
    """Whole knots: ``104 kt``."""
    return f"{speed_mps / KT:.0f} kt"


def degrees(angle_rad: float, decimals: int = 1) -> str:
    """An angle: ``2.4°``."""
    return f"{angle_rad / DEG:.{decimals}f}°"


def part_where(part: PartName) -> str:
    """A part as a place in a sentence: ``on the outbound leg``, ``in the reversal turn``."""
    words = part.replace("_", " ")
    if part in ("outbound", "inbound", "final"):
        return f"on the {words} leg"
    return f"{'on' if part in ('arrival', 'offset_leg', 'arc') else 'in'} the {words}"


def shape_words(shape: ShapeName, charted: str) -> str:
    """A shape in words. Where a barb leaves the turn to the pilot, holds and base turns are racetracks and teardrops."""
    under_a_barb: dict[ShapeName, str] = {"hold-direct": "a racetrack", "base-turn": "a teardrop"}
    if charted == "procedure-turn" and shape in under_a_barb:
        return under_a_barb[shape]
    words: dict[ShapeName, str] = {"base-turn": "a base turn", "arc": "an arc"}
    return words.get(shape, shape)


def side_word(side: int) -> str:
    """``right`` for +1, ``left`` for -1."""
    return "right" if side > 0 else "left"


def value_text(value: float | str | None, unit: str) -> str:
    """A measured value or limit with its unit: ``7.17 NM``, ``2,640 ft``, ``4.5°``, ``left``."""
    if value is None:
        return "-"
    if isinstance(value, str):
        return value.replace("-", " ")
    decimals = {"NM": 2, "deg": 1, "deg/s": 1}.get(unit, 0)
    return f"{value:,.{decimals}f}{unit_text(unit)}"


def unit_text(unit: str) -> str:
    """A unit as it stands after a number, with its blank: `` NM``, ``°``, `` ft/min``."""
    return {"deg": "°", "deg/s": "°/s", "fpm": " ft/min"}.get(unit, f" {unit}")
