"""The fields of the chart form: the questions of a procedure in the order in which a chart is read, under its headings."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from analyzer.procedure.questions import Answers, Question, one_of, questions
from analyzer.procedure.schema import Procedure

__all__ = ["SECTIONS", "answers_of", "field_name", "fields_asked", "place_of", "section_of"]

# Heading -> the tables and keys that stand below it. A table alone stands for all its keys.
SECTIONS: Mapping[str, tuple[str, ...]] = {
    "Title": ("title", "category"),
    "Fix of the reversal": ("fix",),
    "Course reversal": ("reversal", "arc"),
    "Course guidance": ("guidance",),
    "Altitudes": (
        "altitudes.arrival_ft",
        "altitudes.outbound_ft",
        "altitudes.reversal_ft",
        "altitudes.inbound_ft",
        "glide_path",
    ),
    "Fixes of the final course": ("fixes",),
    "Minimums": ("altitudes.final_ft", "minimum", "minimums"),
    "Runway": ("runway",),
    "Missed approach": ("missed_approach",),
    "Hold of the missed approach": ("holds",),
    "Arrivals": ("arrivals",),
    "DME station": ("dme",),
    "Speeds to fly": ("speeds",),
}


def field_name(question: Question) -> str:
    """The name of a question's field: ``fix.latitude_deg``, ``fixes 2.name``, ``title``."""
    return f"{question.table}.{question.key}" if question.table else question.key


def place_of(name: str) -> tuple[str, str]:
    """The table and key of a field."""
    table, _, key = name.rpartition(".")
    return table, key


def answers_of(procedure: Procedure) -> dict[tuple[str, str], Any]:
    """The answers that make a procedure, by table and key; tables of a list have their number."""
    answers: dict[tuple[str, str], Any] = {}
    for key, value in procedure.model_dump(mode="python", exclude_none=True, exclude_defaults=True).items():
        if isinstance(value, dict):
            answers |= {(key, name): inner for name, inner in value.items()}
        elif isinstance(value, tuple | list):
            for number, row in enumerate(value, 1):
                answers |= {(f"{key} {number}", name): inner for name, inner in row.items()}
        else:
            answers["", key] = value
    return answers


def section_of(question: Question) -> str:
    """The heading that a question stands under."""
    table, _ = one_of(question.table)
    full = f"{table}.{question.key}" if table else question.key
    return next(heading for heading, places in SECTIONS.items() if full in places or (table and table in places))


def fields_asked(answers: Answers) -> Iterator[Question]:
    """The questions that apply to some answers, in the order of the form."""
    asked = list(questions(answers))
    for heading in SECTIONS:
        yield from (question for question in asked if section_of(question) == heading)
