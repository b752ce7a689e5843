"""A fault of a procedure file in the words of the file: table, key, value, what is wrong, and what is accepted."""

from __future__ import annotations

import difflib
import re
import typing
from typing import TYPE_CHECKING, Any

from pydantic import BaseModel

from analyzer.procedure.altitude_unit import key_as_written, unit_of_suffix, value_as_written, words_as_written
from analyzer.procedure.schema import Procedure
from analyzer.toml_files import WRONG, described, near_choice, quoted_choices, shown

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from pydantic.fields import FieldInfo
    from pydantic_core import ErrorDetails

    from analyzer.procedure.values import AltitudeUnit

__all__ = ["accepted_text", "fault_text"]

_WRONG = {**WRONG, "too_long": "too many, more than 50"}
_UNIT_WORDS = {"ft": "feet", "m": "metres"}


def fault_text(error: ErrorDetails, unit: AltitudeUnit = "ft") -> str:
    """One fault reported by `Procedure`, as ``[table] key = value: what is wrong; what is accepted``.

    `unit` is the unit of the file's altitudes: keys, values and bounds are named as the file has them.
    """
    place, kind, value = error["loc"], error["type"], error["input"]
    where = _where(place, value, unit)
    field = _field(place)
    accepted = words_as_written(str(place[-1]) if place else "", _accepted(field), unit)
    if kind == "extra_forbidden":
        return f"{where}: unknown {'table' if isinstance(value, dict) else 'key'}; {_instead(place, unit)}"
    if kind == "missing":
        return f"{_where(place, None, unit)}: missing; accepted: {accepted}"
    if kind == "needed":
        return f"{where}: {error['msg']}; accepted: {accepted}"
    if kind == "contradiction":
        return f"{where}: {error['msg']}"
    if kind == "literal_error":
        return f"{where}: not one of the choices; {near_choice(value, field and field.annotation)}accepted: {accepted}"
    wrong = _WRONG.get(kind, error["msg"])
    return f"{where}: {wrong}; accepted: {accepted}"


def accepted_text(table: str, key: str) -> str:
    """What a key takes, in words; the top of the file has no table: ``""``."""
    return _accepted(_field((table, key) if table else (key,)))


def _where(place: tuple[int | str, ...], value: object, unit: AltitudeUnit) -> str:
    """The place in the file, with the value found there where it is a plain one; tables of a list by number, from 1."""
    if not place:
        return "the file"
    field = _field(place)
    if isinstance(place[-1], int):
        return f"{_table_name(place)}" if isinstance(value, dict) else f"{_table_name(place)} = {shown(value)}"
    if isinstance(value, dict) or (value is None and field is not None and _table_of(field) is not None):
        return _table_name(place)
    key = _key(key_as_written(place[-1], unit))
    table = f"{_table_name(place[:-1])} " if len(place) > 1 else ""
    return f"{table}{key}" if value is None else f"{table}{key} = {shown(value_as_written(place[-1], value, unit))}"


def _table_name(place: tuple[int | str, ...]) -> str:
    """A table as the file heads it: ``[reversal.within_from]``, or ``[[fixes]] 2`` for the second of a list."""
    number = next((part for part in place if isinstance(part, int)), None)
    name = ".".join(_key(part) for part in place if isinstance(part, str))
    return f"[{name}]" if number is None else f"[[{name}]] {number + 1}"


def _key(key: str) -> str:
    return key if re.fullmatch(r"[A-Za-z0-9_-]+", key) else shown(key)


def _models(annotation: object) -> Iterator[type[BaseModel]]:
    """The table class inside an annotation such as ``Arc | None``, if there is one."""
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        yield annotation
    for part in typing.get_args(annotation):
        yield from _models(part)


def _table_of(field: FieldInfo) -> type[BaseModel] | None:
    return next(_models(field.annotation), None)


def _is_list(field: FieldInfo) -> bool:
    """Whether a field is a list of tables, each headed with double brackets."""
    return typing.get_origin(field.annotation) is tuple


def _table_at(place: tuple[int | str, ...]) -> type[BaseModel] | None:
    """The class of the table at `place`, None where the schema has no such table."""
    model: type[BaseModel] | None = Procedure
    for part in place:
        if isinstance(part, str):  # a number only picks one of a list of equal tables
            field = model.model_fields.get(part) if model is not None else None
            model = _table_of(field) if field is not None else None
    return model


def _field(place: tuple[int | str, ...]) -> FieldInfo | None:
    """The schema's field at `place`, None where the key is unknown; for one of a list of tables, the list's field."""
    names = tuple(part for part in place if isinstance(part, str)) if place and isinstance(place[-1], int) else place
    model = _table_at(names[:-1])
    return model.model_fields.get(str(names[-1])) if model is not None and names else None


def _accepted(field: FieldInfo | None) -> str:
    """What the schema takes there, in words."""
    if field is None:
        return "nothing"
    table = _table_of(field)
    if table is not None:
        kind = "[[...]] tables" if _is_list(field) else "a table"
        return f"{kind} with the keys {', '.join(table.model_fields)}"
    return quoted_choices(field.annotation) or field.description or described(field.annotation) or "true or false"


def _instead(place: tuple[int | str, ...], unit: AltitudeUnit) -> str:
    """The key or table that an unknown one was probably meant to be."""
    key, home = str(place[-1]), tuple(part for part in place[:-1] if isinstance(part, str))
    known = list(getattr(_table_at(home), "model_fields", {}))
    if unit_of_suffix(key) == "m" and f"{key[:-2]}_ft" in known:
        return _other_unit(f"{key[:-2]}_ft", unit)
    elsewhere = [table for table, keys in _tables().items() if key in keys and table.strip("[]") != ".".join(home)]
    begins = [name for name in known if name.startswith(key.lower()) or key.lower().startswith(name)]
    near = difflib.get_close_matches(key.lower(), known, n=1) or begins[:1]
    if near:
        above = _table_at(home)
        meant = above.model_fields[near[0]] if above is not None else None
        if meant is None or _table_of(meant) is None:
            return f"did you mean {key_as_written(near[0], unit)}?"
        return f"did you mean {f'[[{near[0]}]]' if _is_list(meant) else f'[{near[0]}]'}?"
    if elsewhere:
        return f"it belongs under {' or '.join(table if table else 'no table, at the top' for table in elsewhere)}"
    return f"accepted: {', '.join(key_as_written(name, unit) for name in known)}"


def _other_unit(key: str, unit: AltitudeUnit) -> str:
    """Advice on a key that names the altitude unit that the file does not use."""
    metric = 'units = { altitude = "m" } at the top makes all altitudes metres'
    wanted = f"write {key_as_written(key, unit)}, in {_UNIT_WORDS[unit]}"
    return f"{metric}: {wanted}" if unit == "m" else f"{wanted}; {metric}"


def _tables() -> Mapping[str, Mapping[str, Any]]:
    """The keys of the root (as ``""``) and of every table directly under it, by its heading."""
    tables: dict[str, Mapping[str, Any]] = {"": Procedure.model_fields}
    for name, field in Procedure.model_fields.items():
        table = _table_of(field)
        if table is not None:
            tables[f"[[{name}]]" if _is_list(field) else f"[{name}]"] = table.model_fields
    return tables
