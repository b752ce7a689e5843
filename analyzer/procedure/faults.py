"""A fault of a procedure file in the words of the file, whose altitudes may be in feet or metres."""

from __future__ import annotations

from typing import TYPE_CHECKING

from analyzer import toml_faults
from analyzer.procedure.altitude_unit import key_as_written, unit_of_suffix, value_as_written, words_as_written
from analyzer.procedure.schema import Procedure

if TYPE_CHECKING:
    from collections.abc import Collection

    from pydantic_core import ErrorDetails

    from analyzer.procedure.values import AltitudeUnit

__all__ = ["accepted_text", "fault_text"]

_UNIT_WORDS = {"ft": "feet", "m": "metres"}


def fault_text(error: ErrorDetails, unit: AltitudeUnit = "ft") -> str:
    """One fault reported by `Procedure`, as ``[table] key = value: what is wrong; what is accepted``.

    `unit` is the unit of the file's altitudes: keys, values and bounds are named as the file has them.
    """
    spelling = toml_faults.Spelling(
        lambda key: key_as_written(key, unit),
        lambda key, value: value_as_written(key, value, unit),
        lambda key, words: words_as_written(key, words, unit),
        lambda key, known: _other_unit(key, known, unit),
    )
    return toml_faults.fault_text(error, Procedure, spelling=spelling)


def accepted_text(table: str, key: str) -> str:
    """What a key takes, in words; the top of the file has no table: ``""``."""
    if not table:
        return toml_faults.accepted_text(Procedure, (key,))
    first, *inner = table.split(".")
    row = (0,) if Procedure.model_fields[first].default == () else ()
    return toml_faults.accepted_text(Procedure, (first, *row, *inner, key))


def _other_unit(key: str, known: Collection[str], unit: AltitudeUnit) -> str:
    """Advice on a key that names the altitude unit that the file does not use; empty for any other."""
    in_feet = f"{key[:-2]}_ft"
    if unit_of_suffix(key) != "m" or in_feet not in known:
        return ""
    metric = 'units = { altitude = "m" } at the top makes all altitudes metres'
    wanted = f"write {key_as_written(in_feet, unit)}, in {_UNIT_WORDS[unit]}"
    return f"{metric}: {wanted}" if unit == "m" else f"{wanted}; {metric}"
