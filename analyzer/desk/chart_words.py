"""How a typed value of a chart was understood, in words, so that a slip is seen at once."""

from __future__ import annotations

from typing import Any

from analyzer.procedure.altitude_unit import value_as_written
from analyzer.procedure.values import AltitudeUnit

__all__ = ["choice_words", "understood_as"]

_LETTERS = ("vor", "ndb", "dme", "gps", "mda", "da")
_AS_WRITTEN = ("ft", "m")
_UNITS = {"deg": "°", "nm": " NM", "kias": " kt indicated"}


def choice_words(choice: str) -> str:
    """A choice as a chart would have it: ``VOR``, ``Procedure turn``."""
    if choice in _AS_WRITTEN:
        return choice
    return choice.upper() if choice in _LETTERS else choice.replace("-", " ").capitalize()


def understood_as(key: str, value: Any, said: str, altitudes: AltitudeUnit = "ft") -> str:
    """How a value was understood, where that is not what was typed; `altitudes` is their unit on the chart."""
    if value is None or not said:
        return ""
    words = _in_words(key, value, altitudes)
    return words if words.replace(",", "").lower() != said.replace(",", "").lower() else ""


def _in_words(key: str, value: Any, altitudes: AltitudeUnit) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    if not isinstance(value, float | int):
        return str(value)
    if "latitude" in key or "longitude" in key:
        letters, digits = ("NS", 2) if "latitude" in key else ("EW", 3)
        whole, minutes = divmod(round(abs(value) * 60.0, 3), 60.0)
        return f"{letters[value < 0.0]}{whole:0{digits}.0f}°{minutes:06.3f}′"
    if key == "variation_deg_east":
        return f"{abs(value):g}° {'west' if value < 0.0 else 'east'}"
    if key.endswith("course_deg"):
        return f"{value:03.0f}°"
    unit = key.rsplit("_", 1)[-1]
    if unit == "ft" and altitudes == "m":
        value, unit = value_as_written(key, value, altitudes), altitudes
    return f"{value:,g}{_UNITS.get(unit, f' {unit}')}" if "_" in key else f"{value:g} kt"
