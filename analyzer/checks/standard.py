"""Reading a standard: the limits that checks compare with, and where each comes from."""

from __future__ import annotations

import tomllib
from importlib import resources
from pathlib import Path
from typing import Any

from analyzer.checks.limits import SEEN, Limit, Standard
from analyzer.checks.run import LIMITS, OPTIONAL_LIMITS
from analyzer.errors import StandardError
from analyzer.files import read_bounded

__all__ = ["DEFAULT_STANDARD", "built_in_standards", "read_standard"]

DEFAULT_STANDARD = "faa-instrument"
_TEXTS = ("unit", "meaning", "source", "seen")
_KNOWN = ("value", "by_category", "by_altitude_ft", *_TEXTS, "reading")
_LARGEST_BYTES = 1_000_000
_READABLE_BITS, _MOST_SHOWN, _DIGITS = 60, 60, 5
_LEAST, _GREATEST = {"turn_rate": 0.1}, 10_000.0
_CATEGORIES = ("A", "B", "C", "D", "E")


def built_in_standards() -> tuple[str, ...]:
    """Names of the standards that ship with the program."""
    folder = resources.files("analyzer.standards")
    return tuple(sorted(entry.name.removesuffix(".toml") for entry in folder.iterdir() if entry.name.endswith(".toml")))


def read_standard(name_or_path: str | Path = DEFAULT_STANDARD) -> Standard:
    """A standard by name, or from a TOML file of the same form.

    A file may begin from one that ships, ``based_on = "faa-instrument"``, and give only what differs: of a limit the ``value``
    alone is enough, and its source then says that the file changed it.

    Raises
    ------
    StandardError
        The name is unknown, the file cannot be read, or a limit is missing or not a number in the unit it must have.
    """
    name = str(name_or_path)
    if name in built_in_standards():
        text = resources.files("analyzer.standards").joinpath(f"{name}.toml").read_text(encoding="utf-8")
        return _parse(name, text)
    try:
        content = read_bounded(name_or_path, _LARGEST_BYTES)
        text = content.decode("utf-8")
    except UnicodeDecodeError as error:
        raise StandardError(f"{name}: cannot be read: {error}; give a text file in UTF-8") from error
    except (OSError, ValueError) as error:
        why = "" if isinstance(error, FileNotFoundError) else f" ({getattr(error, 'strerror', None) or error})"
        raise StandardError(
            f"{name}: no such standard or file{why}; built in are: {', '.join(built_in_standards())}"
        ) from error
    if len(content) > _LARGEST_BYTES:
        raise StandardError(f"{name}: over {_LARGEST_BYTES:,} bytes, too long for a standard; is it a log?")
    return _parse(name, text)


def _parse(name: str, text: str) -> Standard:
    try:
        document = tomllib.loads(text)
    except RecursionError:
        raise StandardError(f"{name}: not valid TOML: nested too deep; a standard has one table for each limit") from None
    except ValueError as error:  # TOML's own errors are of this kind, and numbers of thousands of digits
        raise StandardError(f"{name}: not valid TOML: {error}") from error
    based_on = document.pop("based_on", None)
    title = document.pop("title", name)
    if not isinstance(title, str) or not title.isprintable():
        raise StandardError(f"{name}: title = {_shown(title)}: must be a line of text")
    if based_on is not None and (based_on == name or based_on not in built_in_standards()):
        raise StandardError(f"{name}: based_on = {_shown(based_on)}: must be one of {', '.join(built_in_standards())}")
    base = read_standard(based_on).limits if based_on is not None else {}
    for key in document:
        if key not in LIMITS:
            raise StandardError(f"{name}: [{key}] is no limit that a check asks for; known are: {', '.join(LIMITS)}")
    for key in LIMITS:
        if key not in document and key not in base and key not in OPTIONAL_LIMITS:
            raise StandardError(f"{name}: [{key}] is missing: give it, or begin the file with based_on = {DEFAULT_STANDARD!r}")
    limits = {
        key: _limit(name, key, document[key], base.get(key)) if key in document else base[key]
        for key in LIMITS
        if key in document or key in base
    }
    return Standard(Path(name).name, title, based_on, limits, tuple(key for key in LIMITS if key in document))


def _limit(name: str, key: str, table: Any, base: Limit | None) -> Limit:
    where = f"{name}: [{key}]"
    if not isinstance(table, dict):
        raise StandardError(f"{where} must be a table with value, {', '.join(_TEXTS)}")
    unknown = sorted(set(table) - set(_KNOWN))
    if unknown:
        raise StandardError(f"{where} {unknown[0]} is unknown; known are {', '.join(_KNOWN)}")
    if base is not None:
        table = _over(table, base, Path(name).name)
    missing = [text for text in _TEXTS if not isinstance(table.get(text), str)]
    if missing:
        raise StandardError(f"{where} {missing[0]} is missing: a limit has value, {', '.join(_TEXTS)}, all but the first texts")
    units = LIMITS[key]
    if table["unit"] not in units:
        raise StandardError(f"{where} unit = {_shown(table['unit'])}: must be {' or '.join(map(repr, units))}")
    if table["seen"] not in SEEN:
        raise StandardError(f"{where} seen = {_shown(table['seen'])}: must be one of {', '.join(SEEN)}")
    by_category, by_altitude = table.get("by_category", {}), table.get("by_altitude_ft", {})
    if not isinstance(by_category, dict) or not set(by_category) <= set(_CATEGORIES):
        raise StandardError(f"{where} by_category must give values for some of {', '.join(_CATEGORIES)}")
    if not isinstance(by_altitude, dict) or not all(top.isdecimal() and len(top) <= _DIGITS for top in by_altitude):
        raise StandardError(f"{where} by_altitude_ft must give values up to altitudes in whole feet, as {{ 14000 = 230 }}")
    for value in (table.get("value"), *by_category.values(), *by_altitude.values()):
        if not isinstance(value, int | float) or isinstance(value, bool) or not _LEAST.get(key, 0.0) <= value <= _GREATEST:
            least = _LEAST.get(key, 0.0)
            raise StandardError(
                f"{where} value = {_shown(value)}: must be a number from {least:g} to {_GREATEST:,.0f}, in {table['unit']}"
            )
    texts = {text: table[text] for text in _TEXTS} | {"reading": table.get("reading", "")}
    if not all(isinstance(text, str) and text.isprintable() for text in texts.values()):
        raise StandardError(f"{where}: its texts must be one line each, without control characters")
    return Limit(
        float(table["value"]),
        **texts,
        by_category={k: float(v) for k, v in by_category.items()},
        by_altitude_ft={float(k): float(v) for k, v in by_altitude.items()},
    )


def _over(table: dict[str, Any], base: Limit, file: str) -> dict[str, Any]:
    """What a file says of a limit over what the standard that it begins from says.

    A new value holds for every category and altitude. Where no source comes with what is new, the source says that the file
    set it.
    """
    under: dict[str, Any] = {"value": base.value, "unit": base.unit, "meaning": base.meaning, "reading": base.reading}
    if "value" not in table:
        under["by_category"] = dict(base.by_category)
        under["by_altitude_ft"] = {f"{top:.0f}": value for top, value in base.by_altitude_ft.items()}
    if {"value", "by_category", "by_altitude_ft"} & set(table):
        under |= {"source": f"set in {file}, instead of {base.value:g}: {base.source}", "seen": "none"}
    else:
        under |= {"source": base.source, "seen": base.seen}
    return under | table


def _shown(value: object) -> str:
    """A wrong value for a message: not all of a long one, nor a number whose digits nobody can read."""
    if isinstance(value, int) and value.bit_length() > _READABLE_BITS:
        return "a number of many digits"
    text = repr(value) if not isinstance(value, list | dict) else f"a {type(value).__name__}"
    return text if len(text) <= _MOST_SHOWN else f"{text[:_MOST_SHOWN]}..."
