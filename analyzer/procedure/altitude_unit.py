"""Procedure files in metres: names and values of altitudes between the file, which may have `_m`, and the schema in `_ft`."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

from analyzer.procedure.values import AltitudeUnit

__all__ = [
    "altitude_unit",
    "as_written",
    "feet_named",
    "feet_of_metres",
    "key_as_written",
    "said",
    "unit_of_suffix",
    "value_as_written",
    "words_as_written",
]

_FT = 0.3048  # metres in a foot, exact by definition
_DIGITS = 6  # of feet: what is left of a conversion is noise of the arithmetic
_SUFFIX: dict[AltitudeUnit, str] = {"ft": "_ft", "m": "_m"}


def altitude_unit(tables: Mapping[str, Any]) -> AltitudeUnit:
    """The unit that a file's altitudes are in: metres where ``units = {altitude = "m"}`` says so."""
    units = tables.get("units")
    return "m" if isinstance(units, Mapping) and units.get("altitude") == "m" else "ft"


def unit_of_suffix(key: str) -> AltitudeUnit | None:
    """The unit in the name of an altitude, None for any other name."""
    return next((unit for unit, suffix in _SUFFIX.items() if key.endswith(suffix)), None)


def feet_named(tables: Mapping[str, Any]) -> dict[str, Any]:
    """The tables of a file in metres with the names of the schema: every ``_m`` in feet under ``_ft``.

    The two suffixes change places, so that a ``_ft`` key of such a file becomes one that the schema does not know.
    """
    return {_swapped(key): _feet(key, value) for key, value in tables.items()}


def _swapped(key: str) -> str:
    unit = unit_of_suffix(key)
    if unit is None:
        return key
    return key.removesuffix(_SUFFIX[unit]) + _SUFFIX["ft" if unit == "m" else "m"]


def _feet(key: str, value: Any) -> Any:
    if isinstance(value, Mapping):
        return feet_named(value)
    if isinstance(value, list | tuple):
        return [_feet(key, item) for item in value]
    if unit_of_suffix(key) == "m" and isinstance(value, int | float) and not isinstance(value, bool):
        return feet_of_metres(value)
    return value


def feet_of_metres(metres: float) -> float:
    """Metres as feet, as the schema holds them."""
    try:
        return round(metres / _FT, _DIGITS)
    except OverflowError:  # an integer beyond a float, which the schema refuses as too large
        return float("inf") if metres > 0 else float("-inf")


def key_as_written(key: str, unit: AltitudeUnit) -> str:
    """The name that a key of the schema has in a file of that unit."""
    return _swapped(key) if unit == "m" else key


def value_as_written(key: str, value: Any, unit: AltitudeUnit) -> Any:
    """The value of a schema key in a file of that unit: the shortest that reads back as the same value."""
    if unit == "ft" or unit_of_suffix(key) != "ft" or isinstance(value, bool) or not isinstance(value, int | float):
        return value
    exact = value * _FT
    shortest = next((short for digits in range(10) if feet_of_metres(short := round(exact, digits)) == value), exact)
    return int(shortest) if shortest.is_integer() else shortest


def as_written(values: Mapping[str, Any], unit: AltitudeUnit) -> dict[str, Any]:
    """Tables of the schema, in feet, with altitudes under the names and in the unit of the file."""
    return {key_as_written(key, unit): _whole_as_written(key, value, unit) for key, value in values.items()}


def _whole_as_written(key: str, value: Any, unit: AltitudeUnit) -> Any:
    if isinstance(value, Mapping):
        return as_written(value, unit)
    if isinstance(value, tuple | list):
        return tuple(as_written(one, unit) for one in value)
    return value_as_written(key, value, unit)


def said(unit: AltitudeUnit, key: str, value: float) -> str:
    """A key with its value as the file has them: ``minimum_ft = 2100`` or ``minimum_m = 640.1``."""
    return f"{key_as_written(key, unit)} = {value_as_written(key, value, unit):g}"


def words_as_written(key: str, words: str, unit: AltitudeUnit) -> str:
    """A key's accepted values, described in feet, in the file's unit: ``metres above mean sea level, -457 to 6096``."""
    if unit == "ft" or unit_of_suffix(key) != "ft":
        return words
    return re.sub(r"-?\d+", lambda number: f"{float(number[0]) * _FT:.0f}", words).replace("feet", "metres")
