"""A procedure from the answers to its questions, each checked as it is given and all of them together."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Annotated, Any

from pydantic import BaseModel, TypeAdapter, ValidationError

from analyzer.errors import ProcedureError
from analyzer.frozen import dataclass
from analyzer.procedure.altitude_unit import altitude_unit, as_written
from analyzer.procedure.approach_schema import (
    ArrivalTable,
    DmeTable,
    FixTable,
    HoldTable,
    MinimumLine,
    MinimumTable,
    MissedApproachTable,
    Speeds,
    Units,
)
from analyzer.procedure.faults import accepted_text, fault_text
from analyzer.procedure.questions import Answers, Question, one_of
from analyzer.procedure.schema import Altitudes, Arc, Fix, GlidePath, GuidanceTable, Point, Procedure, Reversal, RunwayTable
from analyzer.procedure.spoken import left_out, spoken, written_as
from analyzer.procedure.values import AltitudeUnit

__all__ = ["Wrong", "answered", "procedure_of", "what_is_wrong"]

_TABLES: Mapping[str, type[BaseModel]] = {
    "": Procedure,
    "units": Units,
    "fix": Fix,
    "reversal": Reversal,
    "reversal.within_from": Point,
    "arc": Arc,
    "guidance": GuidanceTable,
    "altitudes": Altitudes,
    "glide_path": GlidePath,
    "runway": RunwayTable,
    "fixes": FixTable,
    "minimum": MinimumTable,
    "minimums": MinimumLine,
    "dme": DmeTable,
    "arrivals": ArrivalTable,
    "speeds": Speeds,
    "missed_approach": MissedApproachTable,
    "holds": HoldTable,
}


@dataclass(frozen=True)
class Wrong:
    """A fault of answers taken together: its table and key, and a description."""

    table: str
    key: str
    words: str


def answered(question: Question, text: str) -> Any:
    """The value that an answer gives; None where it is empty and optional.

    Raises
    ------
    ProcedureError
        The answer is not valid; the message says what is accepted.
    """
    table, _ = one_of(question.table)
    field = _TABLES[table].model_fields[question.key]
    said = text.strip()
    if not question.needed and left_out(said):
        return None
    accepted: Any = Annotated[field.annotation, *field.metadata] if field.metadata else field.annotation
    adapter: TypeAdapter[Any] = TypeAdapter(accepted)
    for attempt in spoken(question.key, said) if said else ():
        try:
            value = adapter.validate_python(attempt)
        except ValidationError:
            continue
        if isinstance(attempt, bool) and not isinstance(value, bool):
            continue  # yes is no number, though it would pass for 1
        if not isinstance(value, float) or math.isfinite(value):
            return value
    accepts = f"{written_as(question.key)}{accepted_text(table, question.key)}"
    raise ProcedureError(f"{said or 'nothing given'}: not understood; accepted: {accepts}")


def procedure_of(answers: Answers) -> Procedure:
    """The procedure that answers make; altitudes are in feet, whatever the unit that it is to be written in.

    Raises
    ------
    ProcedureError
        The answers do not make a procedure.
    """
    try:
        return _made(answers)
    except ValidationError as error:
        faults = error.errors(include_url=False)
        raise ProcedureError("; ".join(fault_text(fault, _unit(answers)) for fault in faults)) from None


def what_is_wrong(answers: Answers) -> tuple[Wrong, ...]:
    """The contradictions among the answers; empty where they make a procedure."""
    try:
        _made(answers)
    except ValidationError as error:
        unit = _unit(answers)
        faults = error.errors(include_url=False)
        return tuple(_wrong(_as_asked(fault["loc"], answers), fault_text(fault, unit)) for fault in faults)
    return ()


def _as_asked(place: tuple[int | str, ...], answers: Answers) -> tuple[int | str, ...]:
    """Where the value of a fault was asked for: the straight-in minimum comes first in the list, and was asked for alone."""
    if place[:1] != ("minimums",) or len(place) < 2 or not _short_minimum(answers):
        return place
    if place[1] == 1:
        return ("minimums", 0, *place[2:])
    return ("altitudes", "final_ft") if answers.get(("altitudes", "final_ft")) is not None else ("minimum", *place[2:])


def _short_minimum(answers: Answers) -> bool:
    """Whether there is a minimum that was asked for alone."""
    return any(answers.get(place) is not None for place in (("altitudes", "final_ft"), ("minimum", "altitude_ft")))


def _unit(answers: Answers) -> AltitudeUnit:
    return "m" if answers.get(("units", "altitude")) == "m" else "ft"


def _wrong(place: tuple[int | str, ...], words: str) -> Wrong:
    names = [str(part) for part in place if isinstance(part, str)]
    number = next((f" {part + 1}" for part in place if isinstance(part, int)), "")
    return Wrong(f"{'.'.join(names[:-1])}{number}", names[-1] if names else "", words)


def _made(answers: Answers) -> Procedure:
    tables: dict[str, Any] = {}
    for (where, key), value in answers.items():
        if value is None:
            continue
        table, number = one_of(where)
        if number is not None:
            listed = tables.setdefault(table, [])
            if number == len(listed):
                listed.append(dict(_DEFAULTS.get(table, {})))
            listed[number][key] = value
        else:
            within = tables
            for part in table.split(".") if table else ():
                within = within.setdefault(part, {})
            within[key] = value
    tables = _with_circling(tables) if _short_minimum(answers) else tables
    return Procedure.model_validate(as_written(tables, altitude_unit(tables)))


_DEFAULTS = {"holds": {"role": "missed-approach"}, "minimums": {"line": "circling", "kind": "mda"}}


def _with_circling(tables: dict[str, Any]) -> dict[str, Any]:
    """The tables with the straight-in minimum in the list of the circling one, where there is one."""
    if "minimums" not in tables:
        return tables
    legs = dict(tables.get("altitudes", {}))
    short = {"kind": "mda", "altitude_ft": legs.pop("final_ft")} if "final_ft" in legs else {}
    straight = {"line": "straight-in", **short, **tables.get("minimum", {})}
    others = {name: table for name, table in tables.items() if name not in ("minimum", "altitudes")}
    return {**others, "altitudes": legs, "minimums": [straight, *tables["minimums"]]}
