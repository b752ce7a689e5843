"""The log-format file (TOML), which keeps what a user said about a kind of log, so that it need not be said again."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path

from analyzer.errors import LogError
from analyzer.track.instants import offset_text, stated_offset
from analyzer.track.limits import DEFAULT_LIMITS, Limits
from analyzer.track.options import ReadOptions
from analyzer.track.quantities import KINDS, parse_unit, suits
from analyzer.track.track import Track

__all__ = ["log_format_text", "read_log_format"]

_LIMITS = ("max_bytes", "max_samples")


def read_log_format(path: str | Path) -> ReadOptions:
    """The choices kept in a log-format file (TOML).

    Tables ``[columns]`` and ``[units]`` map quantities to column names and units; ``start`` is a date-time, ``utc_offset`` as
    ``"+02:00"``, ``only`` a pair ``["COLUMN", "VALUE"]``, ``altitude_required`` true or false, ``altitude_from`` a word as for
    ``--altitude-from``, ``max_bytes`` and ``max_samples`` whole numbers. All are optional. Raises `LogError` naming file and
    key.
    """
    from analyzer.toml_files import checked, read_toml
    from analyzer.track.log_format_tables import LogFormatTables

    tables = checked(LogFormatTables, read_toml(path, "log format", LogError), str(path), LogError)
    try:
        return ReadOptions(
            columns=tables.columns,
            units=tables.units,
            start=tables.start,
            utc_offset_s=None if tables.utc_offset is None else stated_offset(tables.utc_offset),
            altitude_required=tables.altitude_required,
            altitude_from=tables.altitude_from,
            only=(tables.only[0], tables.only[1]) if tables.only is not None else None,
            limits=Limits(tables.max_bytes, tables.max_samples),
        )
    except LogError as error:
        raise LogError(f"{path}: {error}") from error


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
    if options.utc_offset_s is not None:
        yield f"utc_offset = {_quoted(offset_text(options.utc_offset_s))}"
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
