"""How a typed value of a chart was understood, in words, so that a slip is seen at once."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from analyzer.procedure.altitude_unit import value_as_written
from analyzer.procedure.spoken import spoken
from analyzer.procedure.values import AltitudeUnit

__all__ = ["choice_words", "typed_as", "understood_as"]

_LETTERS = ("vor", "ndb", "dme", "gps", "mda", "da")
_AS_WRITTEN = ("ft", "m")
_UNITS = {"deg": "°", "nm": " NM", "kias": " kt indicated"}


def choice_words(choice: str) -> str:
    """A choice as a chart would have it: ``VOR``, ``Procedure turn``."""
    if choice in _AS_WRITTEN:
        return choice
    return choice.upper() if choice in _LETTERS else choice.replace("-", " ").capitalize()


def understood_as(key: str, value: Any, said: str, altitudes: AltitudeUnit) -> str:
    """How a value was understood, where that is not what was typed; `altitudes` is their unit on the chart."""
    if value is None or not said:
        return ""
    words = _in_words(key, value, altitudes)
    return words if words.replace(",", "").lower() != said.replace(",", "").lower() else ""


def typed_as(key: str, value: Any, plain: str) -> str:
    """A value of a chart as the chart prints it, and as it is typed: ``N48°21.0′``, ``8W``, ``061``.

    `plain` is the value as the file has it; it stays where what a chart would print is not that very value, as of decimal
    degrees that are no whole thousandth of a minute.
    """
    if isinstance(value, bool) or not isinstance(value, float):
        return plain
    said = plain
    if key.endswith("itude_deg"):
        minutes = round(abs(value) * 60.0, 3)
        whole, rest = divmod(minutes, 60.0)
        letters, digits = ("NS", 2) if key.endswith("latitude_deg") else ("EW", 3)
        decimals = next(count for count in (1, 2, 3) if round(rest, count) == round(rest, 3))
        said = f"{letters[value < 0.0]}{whole:0{digits}.0f}°{rest:0{decimals + 3}.{decimals}f}′"
    elif key == "variation_deg_east" and value:
        said = f"{Decimal(repr(abs(value))):f}".removesuffix(".0") + ("W" if value < 0.0 else "E")
    elif key.endswith("course_deg") and value.is_integer():
        said = f"{value:03.0f}"
    return said if next(spoken(key, said), None) == value else plain


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
