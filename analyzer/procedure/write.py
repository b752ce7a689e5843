"""Writing a procedure file: a `Procedure` out as TOML that reads back as the same value, with optional remarks."""

from __future__ import annotations

import datetime as dt
import json
from collections.abc import Iterator, Mapping
from typing import Any

from analyzer.procedure.altitude_unit import as_written
from analyzer.procedure.schema import Procedure

__all__ = ["procedure_toml"]

_COLUMN = 40  # where remarks begin


def procedure_toml(procedure: Procedure, head: str, remarks: Mapping[str, str] | None = None) -> str:
    """The text of a procedure file.

    Parameters
    ----------
    procedure : Procedure
        What to write; values that are the schema's defaults are left out.
    head : str
        A comment for the top, one line or more.
    remarks : mapping, optional
        Comments by ``table.key``, or ``key`` at the top.
    """
    tables = procedure.model_dump(mode="python", exclude_none=True, exclude_defaults=True)
    notes = remarks or {}
    lines = [f"# {line}" for line in head.splitlines()]
    if procedure.altitude_unit == "m":
        tables = as_written(tables, procedure.altitude_unit)
    plain = {key: value for key, value in tables.items() if key == "units" or not isinstance(value, dict | tuple)}
    lines += [_line(key, value, notes.get(key)) for key, value in plain.items()]
    for table, values in tables.items():
        if isinstance(values, tuple):
            for one in values:
                lines += ["", f"[[{table}]]", *_table(table, one, notes)]
        elif table not in plain:
            lines += ["", f"[{table}]", *_table(table, values, notes)]
    return "\n".join(lines) + "\n"


def _table(name: str, values: Mapping[str, Any], notes: Mapping[str, str]) -> Iterator[str]:
    for key, value in values.items():
        yield _line(key, value, notes.get(f"{name}.{key}"))


def _line(key: str, value: object, remark: str | None) -> str:
    line = f"{key} = {_value(value)}"
    return line if remark is None else f"{line:<{_COLUMN - 2}}  # {remark}"


def _value(value: object) -> str:
    """A value in TOML. Text is quoted as in JSON, whose escapes TOML shares."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return json.dumps(value, ensure_ascii=False)
    if isinstance(value, float):
        return str(int(value)) if value.is_integer() else repr(value)
    if isinstance(value, int):
        return str(value)
    if isinstance(value, dt.date):
        return value.isoformat()
    if isinstance(value, Mapping):
        return "{ " + ", ".join(f"{key} = {_value(inner)}" for key, inner in value.items()) + " }"
    raise TypeError(type(value))
