"""Reading a procedure file: a TOML file in, a `Procedure` out, or one error that lists every fault."""

from __future__ import annotations

import os
import re
import tomllib
from pathlib import Path

from pydantic import ValidationError

from analyzer.errors import ProcedureError
from analyzer.files import read_bounded
from analyzer.procedure.altitude_unit import altitude_unit
from analyzer.procedure.faults import fault_text
from analyzer.procedure.schema import Procedure

__all__ = ["read_procedure"]

_KEY = r"^\s*[\w.-]+\s*=\s*"
_LARGEST_BYTES = 1_000_000  # a procedure file is a page of text; a log given in its place is not worth parsing


def read_procedure(path: str | os.PathLike[str]) -> Procedure:
    """The procedure in the TOML file at `path`, or the one of coded records that ``FILE:AIRPORT:APPROACH[:ROUTE]`` names.

    Raises
    ------
    ProcedureError
        If the file cannot be read, is not TOML, or a key or value is wrong: one line for each fault, with the file, the
        table, the key, the value and what is accepted. If the coded records do not hold what is named.

    Examples
    --------
    >>> procedure = read_procedure("sample_tracks/wendle_island_vor24.toml")
    >>> procedure.title, procedure.reversal.kind, procedure.reversal.within_nm
    ('Wendle Island VOR 24', 'procedure-turn', 10.0)
    """
    if (coded := _coded(os.fspath(path))) is not None:
        return coded
    text = _text(Path(path))
    try:
        tables = tomllib.loads(text)
    except RecursionError:
        raise ProcedureError(f"{path}: not TOML: nested too deeply; write one [table] after the other") from None
    except ValueError as error:  # tomllib's own error, or a number that Python does not take
        raise ProcedureError(f"{path}: not TOML: {error}; {_toml_remedy(text)}") from None
    try:
        return Procedure.model_validate(tables)
    except ValidationError as error:
        faults, unit = error.errors(include_url=False), altitude_unit(tables)
    # with a wrong unit, every altitude is a fault that says nothing more
    faults = [fault for fault in faults if fault["loc"][:1] == ("units",)] or faults
    raise ProcedureError("\n".join(f"{path}: {fault_text(fault, unit)}" for fault in faults))


def _coded(path: str) -> Procedure | None:
    """The procedure of coded records that a path with an airport and an approach names; None for any other path."""
    from analyzer.procedure.coded.content import looks_coded

    try:
        head = read_bounded(path, 4096)[:4096]
    except (OSError, ValueError):
        head = None
    if head is not None:
        if looks_coded(head):
            raise ProcedureError(
                f"{path}: coded procedures; name the airport and the approach, like {path}:AIRPORT:APPROACH, as "
                f"`analyzer procedure import {path}` lists them"
            )
        return None
    if path.count(":") < 2:
        return None
    from analyzer.procedure.coded.select import coded_reference

    chosen = coded_reference(path)
    return chosen.made.procedure if chosen is not None else None


def _toml_remedy(text: str) -> str:
    """What to write instead: TOML takes no leading zero, as of a course 061, no decimal comma and no unit behind a number."""
    if padded := re.search(r"^[^#\n]*=\s*(0+([1-9]\d*))\s*(?:#|$)", text, re.MULTILINE):
        return f"write {padded[2]} for {padded[1]}, without the leading zero"
    if comma := re.search(rf"{_KEY}([+-]?\d+),(\d+)\s*(?:#|$)", text, re.MULTILINE):
        return f"write {comma[1]}.{comma[2]} for {comma[1]},{comma[2]}, with a decimal point, or without the comma"
    if unit := re.search(rf"{_KEY}([+-]?\d+(?:\.\d+)?)\s*([a-z°]+)\s*(?:#|$)", text, re.MULTILINE | re.IGNORECASE):
        return f"write {unit[1]} without {unit[2]}: the key says the unit"
    if not re.search(r"^\s*(\[|[\w.-]+\s*=)", text, re.MULTILINE):
        return "a procedure file has [table] lines and key = value lines below them; is this a log?"
    return "write [table] lines and key = value lines below them"


def _text(path: Path) -> str:
    try:
        content = read_bounded(path, _LARGEST_BYTES)
    except OSError as error:
        raise ProcedureError(f"{path}: {error.strerror or error}; give the path of a procedure file (TOML)") from None
    except ValueError as error:  # a path with a null character
        raise ProcedureError(f"{str(path)!r}: {error}; give the path of a procedure file (TOML)") from None
    if len(content) > _LARGEST_BYTES:
        raise ProcedureError(f"{path}: over {_LARGEST_BYTES:,} bytes, too long for a procedure file; is it a log?")
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = content.count(b"\n", 0, error.start) + 1
        raise ProcedureError(f"{path}: line {line} is not UTF-8 text; save the file as UTF-8") from None
