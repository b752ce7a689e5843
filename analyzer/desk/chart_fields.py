"""The fields of the chart form for what was typed so far, and the answers that a procedure makes."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from typing import Any

from analyzer.desk.chart_questions import ROWS, SECTIONS, FormField, RowsOf
from analyzer.frozen import dataclass
from analyzer.procedure.questions import Answers, Question, one_of
from analyzer.procedure.schema import Procedure

__all__ = ["Asked", "answers_of", "field_name", "fields_asked", "last_row", "place_of", "row_names"]

_MOST_ROWS = 50  # as the schema takes


@dataclass(frozen=True)
class Asked:
    """A field that is asked for, its section, and its group in it: a row, ``fixes 2``, and whether it stands under *more*."""

    question: Question
    section: str
    row: str
    more: bool


def field_name(question: Question) -> str:
    """The name of a question's field: ``fix.latitude_deg``, ``fixes 2.name``, ``title``."""
    return f"{question.table}.{question.key}" if question.table else question.key


def place_of(name: str) -> tuple[str, str]:
    """The table and key of a field."""
    table, _, key = name.rpartition(".")
    return table, key


def answers_of(procedure: Procedure) -> dict[tuple[str, str], Any]:
    """The answers that make a procedure, by table and key; tables of a list have their number.

    What is the schema's default is left out, but for tables of a list, whose kinds are always said.
    """
    answers: dict[tuple[str, str], Any] = {}
    for key, value in procedure.model_dump(mode="python", exclude_none=True, exclude_defaults=True).items():
        if isinstance(value, dict):
            answers |= dict(_flat(key, value))
        elif not isinstance(value, tuple | list):
            answers["", key] = value
    for table in ROWS:
        for number, row in enumerate(getattr(procedure, table), 1):
            answers |= dict(_flat(f"{table} {number}", row.model_dump(mode="python", exclude_none=True)))
    return answers


def _flat(table: str, values: Mapping[str, Any]) -> Iterator[tuple[tuple[str, str], Any]]:
    for key, value in values.items():
        if isinstance(value, dict):
            yield from _flat(f"{table}.{key}", value)
        else:
            yield (table, key), value


def fields_asked(answers: Answers, typed: Collection[str]) -> Iterator[Asked]:
    """The fields that apply to some answers or in which something is typed, in the order of the form."""
    for section in SECTIONS:
        for part in section.parts:
            if isinstance(part, RowsOf):
                yield from (Asked(question, section.heading, question.table, more)
                            for question, more in _rows(part, answers, typed))  # fmt: skip
            elif (question := _asked(part, part.table, answers, typed)) is not None:
                yield Asked(question, section.heading, "", part.more)


def last_row(table: str, typed: Collection[str]) -> int:
    """The number of the last row of a table in which something is typed; nought for none."""
    numbers = [_row_number(name) for name in typed if one_of(place_of(name)[0])[0] == table]
    return min(max(numbers, default=0), _MOST_ROWS)


def _row_number(name: str) -> int:
    """The number of the row that a field is in."""
    return (one_of(place_of(name)[0])[1] or 0) + 1


def row_names(answers: Answers) -> dict[str, str]:
    """The tables of the rows that are filled in, each with what it is called when the empty rows before it are left out."""
    names: dict[str, str] = {}
    for table, rows in ROWS.items():
        filled = sorted(
            {number for name, _ in answers for one, number in (one_of(name),) if one == table and number is not None}
        )
        named = [number for number in filled if answers.get((f"{table} {number + 1}", rows.first)) is not None]
        names |= {f"{table} {number + 1}": f"{table} {k}" for k, number in enumerate(named, 1)}
    return names


def _rows(rows: RowsOf, answers: Answers, typed: Collection[str]) -> Iterator[tuple[Question, bool]]:
    last = last_row(rows.table, typed)
    for number in range(1, last + 1):
        table = f"{rows.table} {number}"
        for field in rows.fields:
            if (question := _asked(field, table, answers, typed)) is not None:
                yield question, field.more
    if last < _MOST_ROWS and (last == 0 or answers.get((f"{rows.table} {last}", rows.first)) is not None):
        first = rows.fields[0]
        yield Question(f"{rows.table} {last + 1}", first.key, first.words, needed=False), False


def _asked(field: FormField, table: str, answers: Answers, typed: Collection[str]) -> Question | None:
    question = Question(table, field.key, field.words, field.needed(answers, table))
    return question if question.needed or field.when(answers, table) or field_name(question) in typed else None
