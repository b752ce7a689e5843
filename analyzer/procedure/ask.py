"""A procedure from the answers to its questions, each checked as it is given and all of them together."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Annotated, Any

from pydantic import BaseModel, TypeAdapter, ValidationError

from analyzer.errors import ProcedureError
from analyzer.procedure.approach_schema import FixTable, HoldTable, MinimumTable, MissedApproachTable
from analyzer.procedure.faults import accepted_text, fault_text
from analyzer.procedure.questions import Answers, Question, one_of
from analyzer.procedure.schema import Altitudes, Arc, Fix, GlidePath, GuidanceTable, Procedure, Reversal, RunwayTable

__all__ = ["Wrong", "answered", "procedure_of", "what_is_wrong"]

_TABLES: Mapping[str, type[BaseModel]] = {
    "": Procedure,
    "fix": Fix,
    "reversal": Reversal,
    "arc": Arc,
    "guidance": GuidanceTable,
    "altitudes": Altitudes,
    "glide_path": GlidePath,
    "runway": RunwayTable,
    "fixes": FixTable,
    "minimum": MinimumTable,
    "missed_approach": MissedApproachTable,
    "holds": HoldTable,
}


@dataclass(frozen=True)
class Wrong:
    """What is wrong with answers taken together: of which table and key, and in words."""

    table: str
    key: str
    words: str


def answered(question: Question, text: str) -> Any:
    """The value that an answer gives; None where it is empty and need not be given.

    Raises
    ------
    ProcedureError
        The answer is none; the message says what is.
    """
    table, _ = one_of(question.table)
    field = _TABLES[table].model_fields[question.key]
    said = text.strip()
    if not said and not question.needed:
        return None
    accepted: Any = Annotated[field.annotation, *field.metadata] if field.metadata else field.annotation
    adapter: TypeAdapter[Any] = TypeAdapter(accepted)
    for attempt in (said, said.lower(), said.upper(), said.replace(",", ".")) if said else ():
        try:
            value = adapter.validate_python(attempt)
        except ValidationError:
            continue
        if not isinstance(value, float) or math.isfinite(value):
            return value
    raise ProcedureError(f"{said or 'nothing given'}: accepted: {accepted_text(table, question.key)}")


def procedure_of(answers: Answers) -> Procedure:
    """The procedure that answers make.

    Raises
    ------
    ProcedureError
        Taken together they make none.
    """
    try:
        return _made(answers)
    except ValidationError as error:
        raise ProcedureError("; ".join(fault_text(fault) for fault in error.errors(include_url=False))) from None


def what_is_wrong(answers: Answers) -> tuple[Wrong, ...]:
    """What contradicts in the answers taken together; empty where they make a procedure."""
    try:
        _made(answers)
    except ValidationError as error:
        return tuple(_wrong(fault["loc"], fault_text(fault)) for fault in error.errors(include_url=False))
    return ()


def _wrong(place: tuple[int | str, ...], words: str) -> Wrong:
    names = [str(part) for part in place if isinstance(part, str)]
    number = next((f" {part + 1}" for part in place if isinstance(part, int)), "")
    return Wrong(f"{names[0]}{number}" if len(names) > 1 else "", names[-1] if names else "", words)


def _made(answers: Answers) -> Procedure:
    tables: dict[str, Any] = {}
    for (where, key), value in answers.items():
        if value is None:
            continue
        table, number = one_of(where)
        if number is not None:
            listed = tables.setdefault(table, [])
            if number == len(listed):
                listed.append({"role": "missed-approach"} if table == "holds" else {})
            listed[number][key] = value
        else:
            (tables.setdefault(table, {}) if table else tables)[key] = value
    return Procedure.model_validate(tables)
