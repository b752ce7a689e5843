"""Small TOML files from outside: read whole, and checked by a pydantic model; every fault is named in the words of the file."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Annotated, Any, TypeAlias, TypeVar

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from analyzer.errors import AnalyzerError
from analyzer.files import read_bounded
from analyzer.toml_faults import fault_text

__all__ = ["NO_TEXT", "Line", "Table", "checked", "read_toml"]

_LARGEST_BYTES = 1_000_000  # such a file is a page of text; a log given in its place is not worth parsing
# Breaks, control characters, which a terminal obeys, and those that turn the direction of what is written after them.
NO_TEXT = r"\x00-\x1f\x7f-\x9f\u{2028}-\u{202e}\u{2066}-\u{2069}"
Line: TypeAlias = Annotated[str, Field(pattern=rf"^[^{NO_TEXT}]*$", description="a line of text in quotes")]
_Model = TypeVar("_Model", bound=BaseModel)


class Table(BaseModel):
    """A table of a file: no unknown keys, no strings for numbers, no nan or inf; not to be changed once made."""

    # built when a file is first read by it: of most tables only the one that holds them is
    model_config = ConfigDict(
        defer_build=True, extra="forbid", frozen=True, strict=True, allow_inf_nan=False, validate_default=True
    )


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
            raise error(f"{path}: cannot be read: {said}; check the name and the permissions") from why
        also = "" if isinstance(why, FileNotFoundError) else f" ({said})"
        raise error(f"{path}: no such {kind} or file{also}; built in are: {named}") from why
    if len(content) > _LARGEST_BYTES:
        raise error(f"{path}: over {_LARGEST_BYTES:,} bytes, too long for a {kind}; is it a log?")
    try:
        return tomllib.loads(content.decode("utf-8-sig"))
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
        under = (table,) if table else ()
        lines = (f"{name}: {fault_text(fault, model, under)}" for fault in faults.errors(include_url=False))
        raise error("\n".join(lines).replace("{unit}", unit)) from None
