"""Small tables as TOML text: cards of flights and the settings, written so that a person can read and change them."""

from __future__ import annotations

import datetime as dt
import json
from collections.abc import Iterator, Mapping, Sequence
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from analyzer.toml_files import Table

__all__ = ["file_of", "toml_text"]


def file_of(table: Table, head: str) -> bytes:
    """The file of a table: what differs from the defaults, below a comment on what it is."""
    return toml_text(table.model_dump(mode="python", exclude_defaults=True, exclude_none=True), head).encode()


def toml_text(tables: Mapping[str, Any], head: str) -> str:
    """The text of a file: plain values, then tables, then lists of tables. None and empty values are left out."""
    kept = {key: value for key, value in tables.items() if value not in (None, "", {}, (), [])}
    nested = {key: value for key, value in kept.items() if isinstance(value, Mapping)}
    lists = {key: value for key, value in kept.items() if _is_list_of_tables(value)}
    lines = [f"# {line}" for line in head.splitlines()]
    lines += [f"{_key(key)} = {_value(value)}" for key, value in kept.items() if key not in nested and key not in lists]
    for key, value in nested.items():
        lines += _table(f"[{_key(key)}]", value)
    for key, rows in lists.items():
        for row in rows:
            lines += _table(f"[[{_key(key)}]]", row)
    return "\n".join(lines) + "\n"


def _table(heading: str, table: Mapping[str, Any]) -> Iterator[str]:
    yield ""
    yield heading
    yield from (f"{_key(key)} = {_value(value)}" for key, value in table.items() if value not in (None, "", {}, (), []))


def _is_list_of_tables(value: object) -> bool:
    return isinstance(value, Sequence) and not isinstance(value, str) and all(isinstance(one, Mapping) for one in value)


def _key(key: str) -> str:
    return key if key.isascii() and key.replace("_", "").replace("-", "").isalnum() else _value(key)


def _value(value: object) -> str:
    """A value in TOML. Text is quoted as in JSON, whose escapes TOML shares."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007f")
    if isinstance(value, dt.datetime):
        return value.isoformat().replace("+00:00", "Z")
    if isinstance(value, dt.date):
        return value.isoformat()
    if isinstance(value, int | float):
        return repr(value)
    if isinstance(value, Mapping):
        return "{ " + ", ".join(f"{_key(key)} = {_value(inner)}" for key, inner in value.items()) + " }"
    if isinstance(value, Sequence):
        return f"[{', '.join(map(_value, value))}]"
    raise TypeError(type(value))
