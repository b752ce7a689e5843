"""Small TOML files from outside: read whole, and checked by a pydantic model; every fault is named in the words of the file."""

from __future__ import annotations

import difflib
import json
import tomllib
import typing
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, Literal, TypeAlias, TypeVar

from pydantic import BaseModel, ConfigDict, Field, ValidationError
from pydantic.fields import FieldInfo

from analyzer.errors import AnalyzerError
from analyzer.files import read_bounded

if TYPE_CHECKING:
    from pydantic_core import ErrorDetails

__all__ = [
    "NO_TEXT",
    "WRONG",
    "Line",
    "Table",
    "checked",
    "described",
    "near_choice",
    "quoted_choices",
    "read_toml",
    "shown",
]

_LARGEST_BYTES = 1_000_000  # such a file is a page of text; a log given in its place is not worth parsing
# What is wrong, by pydantic's name of the fault.
WRONG = {
    "greater_than_equal": "too small",
    "less_than_equal": "too large",
    "finite_number": "not a finite number",
    "float_type": "not a number",
    "int_type": "not a whole number",
    "string_type": "not text in quotes",
    "string_too_short": "empty",
    "string_too_long": "too long",
    "string_pattern_mismatch": "holds a line break, or a control or directing character",
    "bool_type": "neither true nor false",
    "date_type": "not a date",
    "datetime_type": "not a date with a time",
    "dict_type": "not a table",
    "model_type": "not a table",
    "list_type": "not a list",
    "tuple_type": "not a list of tables",
    "too_short": "too few",
    "too_long": "too many",
}
# Breaks, control characters, which a terminal obeys, and those that turn the direction of what is written after them.
NO_TEXT = r"\x00-\x1f\x7f-\x9f\u{2028}-\u{202e}\u{2066}-\u{2069}"
Line: TypeAlias = Annotated[str, Field(pattern=rf"^[^{NO_TEXT}]*$", description="a line of text in quotes")]
_Model = TypeVar("_Model", bound=BaseModel)


class Table(BaseModel):
    """A table of a file: no unknown keys, no strings for numbers, no nan or inf; not to be changed once made."""

    model_config = ConfigDict(extra="forbid", frozen=True, strict=True, allow_inf_nan=False, validate_default=True)


def read_toml(path: str | Path, kind: str, error: type[AnalyzerError], named: str = "") -> dict[str, Any]:
    """The tables of a file of some kind, such as ``"rubric"``; `named` are those that come with the program, if any do.

    Raises
    ------
    AnalyzerError
        Of the type given: it cannot be read, is too long, or is not TOML.
    """
    try:
        content = read_bounded(path, _LARGEST_BYTES)
    except (OSError, ValueError) as why:
        said = getattr(why, "strerror", None) or why
        if not named:
            raise error(f"{path}: cannot be read: {said}: check the name and the rights") from why
        also = "" if isinstance(why, FileNotFoundError) else f" ({said})"
        raise error(f"{path}: no such {kind} or file{also}; built in are: {named}") from why
    if len(content) > _LARGEST_BYTES:
        raise error(f"{path}: over {_LARGEST_BYTES:,} bytes, too long for a {kind}; is it a log?")
    try:
        return tomllib.loads(content.decode("utf-8"))
    except UnicodeDecodeError as why:
        raise error(f"{path}: cannot be read: {why}; give a text file in UTF-8") from why
    except RecursionError:
        raise error(f"{path}: not valid TOML: nested too deep for a {kind}") from None
    except ValueError as why:  # TOML's own errors are of this kind, and numbers of thousands of digits
        raise error(f"{path}: not valid TOML: {why}") from why


def checked(model: type[_Model], tables: Any, name: str, error: type[AnalyzerError], table: str = "", unit: str = "") -> _Model:
    """The tables of a file as a model, or those under one heading.

    Where the model says what is accepted, ``{unit}`` stands for the unit.

    Raises
    ------
    AnalyzerError
        Of the type given: one line for each fault, with the file, the table, the key, the value and what is accepted.
    """
    try:
        return model.model_validate(tables)
    except ValidationError as faults:
        lines = (f"{name}: {_fault_text(fault, model, table)}" for fault in faults.errors(include_url=False))
        raise error("\n".join(lines).replace("{unit}", unit)) from None


def _fault_text(fault: ErrorDetails, model: type[BaseModel], table: str) -> str:
    place, kind, value = fault["loc"], fault["type"], fault["input"]
    headings = [str(part) for part in (table, *place) if isinstance(part, str) and part not in ("", "[key]")]
    whole = not place or (len(place) == 1 and _is_table(model, place))
    heading = headings if whole else headings[:-1]
    where = " ".join([*([f"[{'.'.join(heading)}]"] if heading else []), *([] if whole else headings[-1:])])
    if kind not in ("missing", "dict_type", "model_type") and place[-1:] != ("[key]",) and not isinstance(value, dict):
        where += f" = {shown(value)}"
    if kind == "extra_forbidden":
        near = difflib.get_close_matches(str(place[-1]).lower(), model.model_fields, n=1)
        return f"{where}: unknown; {f'did you mean {near[0]}?' if near else 'known are ' + ', '.join(model.model_fields)}"
    annotation, accepted = _accepted(model, place)
    wrong = "missing" if kind == "missing" else WRONG.get(kind, fault["msg"])
    if kind == "literal_error":
        meant = near_choice(place[-2] if place[-1] == "[key]" else value, annotation)
        return f"{where}: not one of the choices; {meant}accepted: {quoted_choices(annotation)}"
    return f"{where}: {wrong}; accepted: {accepted}"


def _is_table(model: type[BaseModel], place: tuple[int | str, ...]) -> bool:
    field = model.model_fields.get(str(place[0]))
    return field is not None and typing.get_origin(field.annotation) is dict


def _accepted(model: type[BaseModel], place: tuple[int | str, ...]) -> tuple[Any, str]:
    """The type that a place takes, and that in words."""
    if not place:
        return model, f"a table with {', '.join(model.model_fields)}"
    field = model.model_fields[str(place[0])]
    annotation: Any = field.annotation
    if _is_table(model, place) and len(place) > 1:
        annotation = typing.get_args(annotation)[0 if place[-1] == "[key]" else 1]
        return annotation, quoted_choices(annotation) or described(annotation) or "text in quotes"
    return annotation, field.description or quoted_choices(annotation) or described(annotation) or "true or false"


def shown(value: object) -> str:
    """A value as TOML would write it, cut to a length that fits a message."""
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, list):
        return "[...]"
    if isinstance(value, dict):
        return "{...}"
    if isinstance(value, int) and value.bit_length() > 64:
        return "a number of more than 19 digits"
    text = json.dumps(value, ensure_ascii=False) if isinstance(value, str) else str(value)
    return text if len(text) <= 60 else f"{text[:56]} ..."


def _choices(annotation: object) -> tuple[str, ...]:
    """The words that an annotation takes, where it is one of words."""
    if typing.get_origin(annotation) is Literal:
        return tuple(str(choice) for choice in typing.get_args(annotation))
    return next((found for part in typing.get_args(annotation) if (found := _choices(part))), ())


def quoted_choices(annotation: object) -> str:
    """The same as they are written: ``"a", "b" or "c"``; empty where there are none."""
    quoted = [f'"{choice}"' for choice in _choices(annotation)]
    return " or ".join(filter(None, [", ".join(quoted[:-1]), *quoted[-1:]]))


def near_choice(value: object, annotation: object) -> str:
    """Which of the choices was probably meant, as a question; empty where none is near."""
    near = difflib.get_close_matches(str(value).lower(), _choices(annotation), n=1)
    return f'did you mean "{near[0]}"? ' if near else ""


def described(annotation: object) -> str | None:
    """The description inside an annotation such as ``Annotated[float, Field(description=...)] | None``."""
    for part in getattr(annotation, "__metadata__", ()):
        if isinstance(part, FieldInfo) and part.description:
            return part.description
    return next((found for part in typing.get_args(annotation) if (found := described(part))), None)
