"""Reading a standard: the limits that checks compare with, and where each comes from."""

from __future__ import annotations

import math
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from importlib import resources
from pathlib import Path

from analyzer.errors import StandardError

__all__ = ["DEFAULT_STANDARD", "Limit", "Standard", "built_in_standards", "read_standard"]

DEFAULT_STANDARD = "faa-instrument"
_KEYS = {"value", "unit", "meaning", "source", "seen"}
_LIMITS: Mapping[str, str] = {
    "altitude_floor": "ft",
    "minimum_descent_altitude": "ft",
    "course_deviation": "of full scale",
    "heading": "deg",
    "turn_bank": "deg",
    "turn_rate": "deg/s",
    "offset_time": "s",
    "overshoot": "NM",
    "reversal_speed": "kt",
    "reversal_distance": "NM",
}


@dataclass(frozen=True)
class Limit:
    """One limit of a standard, in the unit it is published in, with its source and how that was seen."""

    value: float
    unit: str
    meaning: str
    source: str
    seen: str


@dataclass(frozen=True)
class Standard:
    """A named standard: a limit for each name that the checks ask for."""

    name: str
    title: str
    limits: Mapping[str, Limit]

    def __getitem__(self, name: str) -> Limit:
        return self.limits[name]


def built_in_standards() -> tuple[str, ...]:
    """Names of the standards that ship with the program."""
    folder = resources.files("analyzer.standards")
    return tuple(sorted(entry.name.removesuffix(".toml") for entry in folder.iterdir() if entry.name.endswith(".toml")))


def read_standard(name_or_path: str | Path = DEFAULT_STANDARD) -> Standard:
    """A standard by name, or from a TOML file of the same form.

    Raises
    ------
    StandardError
        The name is unknown, the file cannot be read, or a limit is missing or not a number in the unit it must have.
    """
    name = str(name_or_path)
    if name in built_in_standards():
        text = resources.files("analyzer.standards").joinpath(f"{name}.toml").read_text(encoding="utf-8")
        return _parse(name, text)
    path = Path(name_or_path)
    if not path.is_file():
        raise StandardError(f"{name}: no such standard or file; built in are: {', '.join(built_in_standards())}")
    try:
        return _parse(name, path.read_text(encoding="utf-8"))
    except (OSError, UnicodeDecodeError) as error:
        raise StandardError(f"{name}: cannot be read: {error}") from error


def _parse(name: str, text: str) -> Standard:
    try:
        document = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise StandardError(f"{name}: not valid TOML: {error}") from error
    limits = {}
    for key, unit in _LIMITS.items():
        table = document.get(key)
        if not isinstance(table, dict) or set(table) != _KEYS:
            raise StandardError(f"{name}: [{key}] must be a table with the keys {', '.join(sorted(_KEYS))}")
        value = table["value"]
        if (
            not isinstance(value, int | float)
            or isinstance(value, bool)
            or not 0.0 <= value < math.inf
            or table["unit"] != unit
        ):
            raise StandardError(f"{name}: [{key}] value = {value!r}: must be a number from 0 up, with unit = {unit!r}")
        limits[key] = Limit(float(table["value"]), unit, str(table["meaning"]), str(table["source"]), str(table["seen"]))
    unknown = sorted(set(document) - set(_LIMITS) - {"title"})
    if unknown:
        raise StandardError(f"{name}: [{unknown[0]}] is no limit that a check asks for; known are: {', '.join(_LIMITS)}")
    return Standard(name, str(document.get("title", name)), limits)
