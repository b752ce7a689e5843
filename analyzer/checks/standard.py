"""Reading a standard, by name or from a TOML file."""

from __future__ import annotations

import difflib
import re
import tomllib
from functools import cache
from importlib import resources
from pathlib import Path
from typing import Annotated, Any

from pydantic import AfterValidator, Field
from pydantic_core import PydanticCustomError

from analyzer.checks.limits import Limit, Seen, Standard
from analyzer.checks.run import LIMITS, OPTIONAL_LIMITS
from analyzer.errors import StandardError
from analyzer.procedure.values import Category
from analyzer.toml_faults import shown
from analyzer.toml_files import Line, Table, checked, read_toml

__all__ = ["DEFAULT_STANDARD", "built_in_standards", "read_standard"]

DEFAULT_STANDARD = "faa-instrument"
_LEAST, _GREATEST = {"turn_rate": 0.1}, 10_000.0
_Value = Annotated[float, Field(ge=0, le=_GREATEST, description="a number from 0 to 10,000, in {unit}")]


def _whole_feet(text: str) -> str:
    if re.fullmatch("[0-9]{1,5}", text) is None:
        raise PydanticCustomError("feet", "not an altitude in whole feet")
    return text


_Feet = Annotated[str, AfterValidator(_whole_feet), Field(description="values up to altitudes, as { 14000 = 230 }")]


class _Head(Table):
    """The keys of a standard that are not limits."""

    based_on: Any = None
    title: Line | None = None


class _LimitTable(Table):
    """A table that gives a limit."""

    value: _Value
    unit: Annotated[Line, Field(description="{unit}")]
    meaning: Line
    source: Line
    seen: Seen
    by_category: dict[Category, _Value] = Field(default_factory=dict, description="a table of categories, as { A = 110 }")
    by_altitude_ft: dict[_Feet, _Value] = Field(default_factory=dict, description="a table of altitudes, as { 14000 = 230 }")
    reading: Line = ""


@cache
def built_in_standards() -> tuple[str, ...]:
    """Names of the standards that ship with the program."""
    folder = resources.files("analyzer.standards")
    return tuple(sorted(entry.name.removesuffix(".toml") for entry in folder.iterdir() if entry.name.endswith(".toml")))


def read_standard(name_or_path: str | Path = DEFAULT_STANDARD) -> Standard:
    """A standard, by name or from a TOML file.

    A file may be based on a standard that ships, ``based_on = "faa-instrument"``, and give only what differs. For a limit the
    ``value`` alone is enough; its source then says that the file changed it.

    Raises
    ------
    StandardError
        The name is unknown, the file cannot be read, or a limit is missing or not a number in the unit it must have.

    Examples
    --------
    >>> bank = read_standard("faa-instrument")["turn_bank"]
    >>> bank.value, bank.unit
    (30.0, 'deg')
    """
    name, built_in = str(name_or_path), built_in_standards()
    if name in built_in:
        return _built_in(name)
    return _standard(name, read_toml(name_or_path, "standard", StandardError, ", ".join(built_in)))


@cache
def _built_in(name: str) -> Standard:
    """A standard that ships. It is read once, since the package does not change while it runs."""
    text = resources.files("analyzer.standards").joinpath(f"{name}.toml").read_text(encoding="utf-8")
    return _standard(name, tomllib.loads(text))


def _standard(name: str, tables: dict[str, Any]) -> Standard:
    head = checked(_Head, {key: tables.pop(key) for key in _Head.model_fields if key in tables}, name, StandardError)
    if head.based_on is not None and head.based_on not in built_in_standards():
        ships = ", ".join(map(shown, built_in_standards()))
        raise StandardError(f"{name}: based_on = {shown(head.based_on)}: not a built-in standard; accepted: {ships}")
    base = read_standard(head.based_on).limits if head.based_on is not None else {}
    for key in tables:
        if key not in LIMITS:
            near = difflib.get_close_matches(key, LIMITS, n=1)
            meant = f"did you mean [{near[0]}]? " if near else ""
            raise StandardError(f"{name}: [{key}] is not a limit of any check; {meant}known are: {', '.join(LIMITS)}")
    for key in LIMITS:
        if key not in tables and key not in base and key not in OPTIONAL_LIMITS:
            raise StandardError(f"{name}: [{key}] is missing: give it, or begin the file with based_on = {DEFAULT_STANDARD!r}")
    limits = {
        key: _limit(name, key, tables[key], base.get(key)) if key in tables else base[key]
        for key in LIMITS
        if key in tables or key in base
    }
    title = head.title if head.title is not None else name
    return Standard(Path(name).name, title, head.based_on, limits, tuple(key for key in LIMITS if key in tables))


def _limit(name: str, key: str, table: Any, base: Limit | None) -> Limit:
    if base is not None and isinstance(table, dict):
        table = _completed(table, base, Path(name).name)
    units = LIMITS[key]
    read = checked(_LimitTable, table, name, StandardError, key, " or ".join(units))
    if read.unit not in units:
        raise StandardError(
            f"{name}: [{key}] unit = {shown(read.unit)}: not its unit; accepted: {' or '.join(map(shown, units))}"
        )
    least = min(read.value, *read.by_category.values(), *read.by_altitude_ft.values(), _GREATEST)
    if least < _LEAST.get(key, 0.0):
        raise StandardError(
            f"{name}: [{key}] value = {least:g}: too small; accepted: a number from {_LEAST[key]:g} to 10,000, in {read.unit}"
        )
    bands = {float(top): value for top, value in read.by_altitude_ft.items()}
    return Limit(**read.model_dump(exclude={"by_altitude_ft"}), by_altitude_ft=bands)


def _completed(table: dict[str, Any], base: Limit, file: str) -> dict[str, Any]:
    """A table of a limit, completed from the standard that the file is based on.

    A new value applies to every category and altitude. Without a source for it, the source says that the file set it.
    """
    inherited: dict[str, Any] = {"value": base.value, "unit": base.unit, "meaning": base.meaning, "reading": base.reading}
    if "value" not in table:
        inherited["by_category"] = dict(base.by_category)
        inherited["by_altitude_ft"] = {f"{top:.0f}": value for top, value in base.by_altitude_ft.items()}
    if {"value", "by_category", "by_altitude_ft"} & set(table):
        inherited |= {"source": f"set in {file}, instead of {base.value:g}: {base.source}", "seen": "none"}
    else:
        inherited |= {"source": base.source, "seen": base.seen}
    return inherited | table
