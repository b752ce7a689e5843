"""The questions that make a procedure file, one value after the other, each checked as it is answered."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Annotated, Any

from pydantic import BaseModel, TypeAdapter, ValidationError

from analyzer.errors import ProcedureError
from analyzer.procedure.faults import accepted_text, fault_text
from analyzer.procedure.schema import Altitudes, Arc, Fix, GlidePath, GuidanceTable, Procedure, Reversal, RunwayTable

__all__ = ["QUESTIONS", "Answers", "Question", "answered", "procedure_of"]

Answers = Mapping[tuple[str, str], Any]  # by table (``""`` for the top) and key


@dataclass(frozen=True)
class Question:
    """One value to ask for: its table and key, the words, and when it is asked; what is not `needed` may be left out."""

    table: str
    key: str
    words: str
    needed: bool = True
    when: Callable[[Answers], bool] = lambda _: True

    @property
    def prompt(self) -> str:
        """The words with the choices, where there are some, and whether it may be left out."""
        accepted = accepted_text(self.table, self.key)
        choices = f" ({accepted.replace(chr(34), '')})" if accepted.startswith('"') else ""
        return f"{self.words}{choices}{'' if self.needed else ', or Enter to leave it out'}"


def _kind(*kinds: str) -> Callable[[Answers], bool]:
    return lambda answers: answers.get(("reversal", "kind")) in kinds


def _given(table: str, key: str) -> Callable[[Answers], bool]:
    return lambda answers: answers.get((table, key)) is not None


def _localizer(answers: Answers) -> bool:
    return answers.get(("guidance", "kind")) == "localizer"


def _leg_untimed(answers: Answers) -> bool:
    return answers.get(("reversal", "kind")) == "hold" and answers.get(("reversal", "leg_time_s")) is None


QUESTIONS = (
    Question("", "title", "Title of the procedure"),
    Question("", "category", "Approach category", needed=False),
    Question("fix", "name", "Name of the fix that the reversal starts from"),
    Question("fix", "kind", "What the fix is"),
    Question("fix", "latitude_deg", "Latitude of the fix, decimal degrees, south negative"),
    Question("fix", "longitude_deg", "Longitude of the fix, decimal degrees, west negative"),
    Question("fix", "elevation_ft", "Elevation of the fix, ft", needed=False),
    Question("fix", "variation_deg_east", "Declination of the station, degrees, west negative; else of a model",
             needed=False),
    Question("reversal", "kind", "Kind of reversal"),
    Question("reversal", "inbound_course_deg", "Inbound course, magnetic"),
    Question("reversal", "outbound_course_deg", "Outbound course, magnetic", when=_kind("procedure-turn", "base-turn")),
    Question("reversal", "side", "Side of the outbound course to manoeuvre on, looking outbound", when=_kind("procedure-turn")),
    Question("reversal", "turn", "Direction of the turns", when=_kind("base-turn", "hold", "arc")),
    Question("reversal", "offset_course_deg", "Charted offset course, magnetic", needed=False, when=_kind("procedure-turn")),
    Question("reversal", "leg_time_s", "Time of the hold's legs, s; leave out where a length is charted", needed=False,
             when=_kind("hold")),
    Question("reversal", "leg_length_nm", "Length of the hold's outbound leg, NM", when=_leg_untimed),
    Question("reversal", "within_nm", "Remain within, NM", when=_kind("procedure-turn")),
    Question("reversal", "within_nm", "Remain within, NM", needed=False, when=_kind("base-turn", "hold", "arc")),
    Question("reversal", "maximum_speed_kias", "Greatest indicated airspeed, kt", needed=False,
             when=_kind("procedure-turn", "base-turn", "hold")),
    Question("arc", "latitude_deg", "Latitude of the arc's centre", when=_kind("arc")),
    Question("arc", "longitude_deg", "Longitude of the arc's centre", when=_kind("arc")),
    Question("arc", "radius_nm", "Radius of the arc, NM", when=_kind("arc")),
    Question("guidance", "kind", "What the course is flown by, where it is not the fix itself", needed=False),
    Question("guidance", "latitude_deg", "Latitude of the localizer's antenna", when=_localizer),
    Question("guidance", "longitude_deg", "Longitude of the localizer's antenna", when=_localizer),
    Question("altitudes", "arrival_ft", "Minimum altitude on arrival, ft", needed=False),
    Question("altitudes", "outbound_ft", "Minimum altitude outbound, ft", needed=False),
    Question("altitudes", "reversal_ft", "Minimum altitude in the reversal, ft", needed=False),
    Question("altitudes", "inbound_ft", "Minimum altitude inbound, ft", needed=False),
    Question("altitudes", "final_ft", "Minimum descent altitude, ft", needed=False),
    Question("glide_path", "angle_deg", "Angle of the published glide path, degrees", needed=False),
    Question("runway", "name", "Name of the runway", needed=False),
    Question("runway", "threshold_latitude_deg", "Latitude of its threshold", when=_given("runway", "name")),
    Question("runway", "threshold_longitude_deg", "Longitude of its threshold", when=_given("runway", "name")),
    Question("runway", "threshold_elevation_ft", "Elevation of its threshold, ft", when=_given("runway", "name")),
    Question("runway", "true_heading_deg", "True heading of the runway", when=_given("runway", "name")),
)  # fmt: skip

_TABLES: Mapping[str, type[BaseModel]] = {
    "": Procedure,
    "fix": Fix,
    "reversal": Reversal,
    "arc": Arc,
    "guidance": GuidanceTable,
    "altitudes": Altitudes,
    "glide_path": GlidePath,
    "runway": RunwayTable,
}


def answered(question: Question, text: str) -> Any:
    """The value that an answer gives; None where it is empty and need not be given.

    Raises
    ------
    ProcedureError
        The answer is none; the message says what is.
    """
    field = _TABLES[question.table].model_fields[question.key]
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
    raise ProcedureError(f"{said or 'nothing given'}: accepted: {accepted_text(question.table, question.key)}")


def procedure_of(answers: Answers) -> Procedure:
    """The procedure that answers make.

    Raises
    ------
    ProcedureError
        Taken together they make none.
    """
    tables: dict[str, Any] = {}
    for (table, key), value in answers.items():
        if value is not None:
            (tables.setdefault(table, {}) if table else tables)[key] = value
    try:
        return Procedure.model_validate(tables)
    except ValidationError as error:
        raise ProcedureError("; ".join(fault_text(fault) for fault in error.errors(include_url=False))) from None
