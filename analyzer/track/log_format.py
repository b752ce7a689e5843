"""The log-format file (TOML), which keeps what a user said about a kind of log, so that it need not be said again."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from datetime import datetime
from pathlib import Path

from analyzer.errors import LogError
from analyzer.files import read_bounded
from analyzer.track.limits import DEFAULT_LIMITS, Limits
from analyzer.track.model import Track
from analyzer.track.options import ReadOptions
from analyzer.track.quantities import KINDS, parse_unit, suits
from analyzer.track.references import ALTITUDE_FROM, AltitudeFrom, altitude_from

__all__ = ["log_format_text", "read_log_format"]

_LARGEST_BYTES = 1_000_000
_LIMITS = ("max_bytes", "max_samples")
_KEYS = ("columns", "units", "start", "altitude_required", "altitude_from", "only", *_LIMITS)


def read_log_format(path: str | Path) -> ReadOptions:
    """The choices kept in a log-format file (TOML).

    Tables ``[columns]`` and ``[units]`` map quantities to column names and units; ``start`` is a date-time, ``only`` a pair
    ``["COLUMN", "VALUE"]``, ``altitude_required`` true or false, ``altitude_from`` a word as for ``--altitude-from``,
    ``max_bytes`` and ``max_samples`` whole numbers. All are optional. Raises `LogError` naming file and key.
    """
    import tomllib

    try:
        data = read_bounded(path, _LARGEST_BYTES)
        if len(data) > _LARGEST_BYTES:
            raise LogError(f"{path}: over {_LARGEST_BYTES:,} bytes, too long for a log format: is it a log?")
        content = tomllib.loads(data.decode("utf-8"))
    except OSError as error:
        raise LogError(f"{path}: cannot be read: {error.strerror}: check the name and the rights") from error
    except ValueError as error:  # of the syntax, the encoding, or a number without end
        raise LogError(f"{path}: not a TOML file: {error}") from error
    except RecursionError:
        raise LogError(f"{path}: nested too deep: a log format has tables of texts only") from None
    for key in content:
        if key not in _KEYS:
            raise LogError(f"{path}: unknown key {key!r}: use {', '.join(_KEYS)}")
    try:
        return ReadOptions(
            columns=_texts(content, "columns"),
            units=_texts(content, "units"),
            start=_instant(content),
            altitude_required=_flag(content, "altitude_required"),
            altitude_from=_altitude_from(content),
            only=_pair(content, "only"),
            limits=Limits(**{key: _number(content, key, getattr(DEFAULT_LIMITS, key)) for key in _LIMITS}),
        )
    except LogError as error:
        raise LogError(f"{path}: {error}") from error


def _texts(content: Mapping[str, object], key: str) -> dict[str, str]:
    table = content.get(key, {})
    if not isinstance(table, dict) or not all(isinstance(value, str) for value in table.values()):
        raise LogError(f'[{key}] must map quantities to texts, such as altitude = "..."')
    return table


def _instant(content: Mapping[str, object]) -> datetime | None:
    start = content.get("start")
    if start is None:
        return None
    if not isinstance(start, datetime):
        raise LogError(f"start = {start!r} is not a date-time: write it as 2026-05-01T14:00:00Z")
    return start


def _flag(content: Mapping[str, object], key: str) -> bool:
    value = content.get(key, True)
    if not isinstance(value, bool):
        raise LogError(f"{key} = {value!r}: use true or false")
    return value


def _altitude_from(content: Mapping[str, object]) -> AltitudeFrom | None:
    value = content.get("altitude_from")
    if value is not None and not isinstance(value, str):
        raise LogError(f"altitude_from = {value!r}: use one of {', '.join(ALTITUDE_FROM)}, in quotation marks")
    return None if value is None else altitude_from(value)


def _number(content: Mapping[str, object], key: str, default: int) -> int:
    value = content.get(key, default)
    if isinstance(value, bool) or not isinstance(value, int):
        raise LogError(f"{key} = {value!r}: use a whole number")
    return value


def _pair(content: Mapping[str, object], key: str) -> tuple[str, str] | None:
    value = content.get(key)
    if value is None:
        return None
    if isinstance(value, list) and len(value) == 2 and all(isinstance(item, str) for item in value):
        return value[0], value[1]
    raise LogError(f'{key} = {value!r}: use two texts, ["COLUMN", "VALUE"]')


def log_format_text(track: Track, options: ReadOptions) -> str:
    """How a log was understood, as a log-format file: the columns and units that were found, and what the user said.

    No date is kept: a start given belongs to one flight, and would date every other log of the kind by it without a word.
    """
    columns = {column.quantity: column.name for column in track.columns if column.quantity in KINDS} | dict(options.columns)
    understood = {column.quantity: column.unit for column in track.columns if column.quantity in KINDS}
    units = {quantity: text for quantity, text in understood.items() if _is_unit(text, quantity)} | dict(options.units)
    return "\n".join(
        [
            *_choices(options),
            "[columns]",
            *(f"{quantity} = {_quoted(name)}" for quantity, name in columns.items()),
            "",
            "[units]",
            *(f"{quantity} = {_quoted(text)}" for quantity, text in units.items()),
            "",
        ]
    )


def _choices(options: ReadOptions) -> Iterator[str]:
    """The lines before the tables: what was said otherwise than by default."""
    if not options.altitude_required:
        yield "altitude_required = false"
    if options.altitude_from is not None:
        yield f"altitude_from = {_quoted(options.altitude_from)}"
    if options.only is not None:
        yield f"only = [{', '.join(map(_quoted, options.only))}]"
    for key in _LIMITS:
        if getattr(options.limits, key) != getattr(DEFAULT_LIMITS, key):
            yield f"{key} = {getattr(options.limits, key)}"


def _is_unit(text: str, quantity: str) -> bool:
    unit = parse_unit(text)
    return unit is not None and suits(unit, quantity)


def _quoted(text: str) -> str:
    """Text in TOML, whose escapes are those of JSON."""
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")
