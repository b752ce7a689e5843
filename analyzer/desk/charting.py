"""A chart as typed so far: each field checked by itself, all of them together, and pictures of what can be drawn."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import replace
from typing import Any

from analyzer.desk.asked import ChartField, ChartPictures, ChartSeen
from analyzer.desk.chart_fields import Asked, field_name, fields_asked, row_names
from analyzer.desk.chart_pictures import pictures_of
from analyzer.desk.chart_questions import ROWS, SECTIONS
from analyzer.desk.chart_words import choice_words, understood_as
from analyzer.desk.flown_offers import FLOWN, flown_offers
from analyzer.desk.label_words import in_labels
from analyzer.desk.offers import offers
from analyzer.errors import ProcedureError
from analyzer.frozen import dataclass
from analyzer.procedure.altitude_unit import feet_of_metres
from analyzer.procedure.ask import Wrong, answered, procedure_of, what_is_wrong
from analyzer.procedure.charted import Charted, resolve
from analyzer.procedure.faults import accepted_text
from analyzer.procedure.questions import Question, one_of
from analyzer.procedure.schema import Procedure
from analyzer.procedure.spoken import left_out
from analyzer.procedure.values import AltitudeUnit
from analyzer.procedure.write import procedure_toml

__all__ = ["flown_texts", "see_chart"]

_HEAD = "Typed from a chart. Training aid, never for navigation."
# stand-ins for values without which nothing can be drawn; they change no line of the picture
_STAND_IN: Mapping[tuple[str, str], Any] = {("", "title"): "Untitled", ("fix", "name"): "fix", ("fix", "kind"): "waypoint"}
_MOST_LETTERS = 200
_YES_OR_NO = ("depicted_track", "reversal")
_Answers = dict[tuple[str, str], Any]


def see_chart(
    texts: Mapping[str, str], today: str, folder: str = "", log: str = "", drafted: Collection[str] = ()
) -> ChartSeen:
    """Return the chart that the texts of the fields make; `today` (ISO 8601) is the day for the magnetic model.

    With a `log` in `folder`, values from that flight are offered for empty fields once the fix of the reversal is known.
    `drafted` names the fields whose text came from a flight.
    """
    typed = [name for name, text in texts.items() if text.strip()]
    answers, faults = _understood(texts, typed)
    asked = list(fields_asked(answers, typed))
    questions = [one.question for one in asked]
    missing = [question for question in questions if question.needed and answers.get((question.table, question.key)) is None]
    rows = row_names(answers)
    before = {new: old for old, new in rows.items()}
    drawn = _drawn(answers, dt.date.fromisoformat(today))
    wrong = what_is_wrong(_numbered_anew(answers, rows)) if not missing and not faults else drawn.left_out
    contradicted = _contradicted(wrong, questions, rows)
    procedure, charted, notes = drawn.procedure, drawn.charted, drawn.notes
    whole = not missing and not faults and not contradicted and charted is not None
    if charted is None and missing:
        supposed = _supposed(answers, missing)
        again = _drawn({**answers, **{place: value for place, (value, _) in supposed.items()}}, dt.date.fromisoformat(today))
        charted = again.charted
        notes = (*(words for _, words in supposed.values()), *again.notes) if charted is not None else ()
    flown = flown_offers(folder, log, answers) if log else {}
    offered = {**offers(answers, None if charted is None else charted.variation.east_rad), **flown}
    marks = _Marks({**contradicted, **faults}, _doubted(notes, questions, rows), offered, drafted)
    fields = tuple(_field(one, texts, answers, marks) for one in asked)
    return ChartSeen(
        {section.heading: section.picture for section in SECTIONS},
        fields,
        ChartPictures() if charted is None else pictures_of(charted),
        _row_titles(answers, asked),
        _said(missing, faults, contradicted, in_labels(drawn.odd, before)),
        tuple(in_labels(note, before) for note in notes),
        whole,
        procedure_toml(procedure, _HEAD, _remarks(drafted, rows)) if whole and procedure is not None else "",
        sum(1 for name in flown if name not in typed),
    )


def flown_texts(texts: Mapping[str, str], folder: str, log: str) -> dict[str, str]:
    """Texts from the flight for the fields that are empty."""
    typed = [name for name, text in texts.items() if text.strip()]
    answers, _ = _understood(texts, typed)
    return {name: text for name, (text, _) in flown_offers(folder, log, answers).items() if name not in typed}


def _understood(texts: Mapping[str, str], typed: Collection[str]) -> tuple[_Answers, dict[str, str]]:
    """The values of the fields, and for each text that is not a valid value, why."""
    answers: _Answers = {}
    faults: dict[str, str] = {}
    for one in fields_asked({}, typed):
        question, name = replace(one.question, needed=True), field_name(one.question)
        said = texts.get(name, "").strip()[:_MOST_LETTERS]
        if not said:
            continue
        try:
            answers[question.table, question.key] = _value(question, said, answers)
        except ProcedureError as error:
            if not left_out(said):
                faults[name] = str(error)
    return answers, faults


def _value(question: Question, said: str, answers: _Answers) -> Any:
    """The value of a text; an altitude without a unit is in the unit of the chart."""
    value = answered(question, said)
    metric = answers.get(("units", "altitude")) == "m"
    if metric and question.key.endswith("_ft") and isinstance(value, float) and re.fullmatch(r"[-+\d\s.,]+", said):
        return answered(question, f"{feet_of_metres(value):.9f}")  # not of three decimals, which are thousands
    return value


def _numbered_anew(answers: _Answers, rows: Mapping[str, str]) -> _Answers:
    """The answers without rows that have no name; the remaining rows are renumbered."""
    return {
        (rows.get(table, table), key): value
        for (table, key), value in answers.items()
        if one_of(table)[1] is None or table in rows
    }


def _contradicted(faults: Iterable[Wrong], asked: Collection[Question], rows: Mapping[str, str]) -> dict[str, str]:
    """Contradictions, by the field at which each is shown; the text names both values."""
    names, before = {field_name(question) for question in asked}, {new: old for old, new in rows.items()}
    found: dict[str, str] = {}
    for wrong in faults:
        table = before.get(wrong.table, wrong.table)
        name = f"{table}.{wrong.key}" if table else wrong.key
        found.setdefault(name if name in names else "title", in_labels(wrong.words, before))
    return found


def _doubted(notes: tuple[str, ...], asked: Collection[Question], rows: Mapping[str, str]) -> dict[str, str]:
    """Oddities, by every field that the sentence names as ``[altitudes] final_ft``; the text has both values."""
    found: dict[str, str] = {}
    for question in asked:
        table, number = one_of(rows.get(question.table, question.table))
        row = "" if number is None else f" {number + 1}"
        key = question.key.removesuffix("_ft") + "_(?:ft|m)" if question.key.endswith("_ft") else question.key
        named = re.compile(rf"\[\[?{table}\]\]?{row}(?: \([^)]*\))?(?:[^\[.]*?\b)?{key}\b")
        text = next((note for note in notes if table and named.search(note)), "")
        if text:
            found[field_name(question)] = in_labels(text, {new: old for old, new in rows.items()})
    return found


@dataclass(frozen=True)
class _Drawn:
    """What can be drawn from some answers, what is odd about it, and the answers left out as contradicting the rest."""

    procedure: Procedure | None = None
    charted: Charted | None = None
    notes: tuple[str, ...] = ()
    odd: str = ""
    left_out: tuple[Wrong, ...] = ()


def _drawn(answers: _Answers, day: dt.date) -> _Drawn:
    """Draw what can be drawn: answers at fault are left out one by one, as long as a chart remains."""
    kept = {**_STAND_IN, **_numbered_anew(answers, row_names(answers))}
    left_out: list[Wrong] = []
    while wrong := what_is_wrong(kept):
        at_fault = [one for one in wrong if (one.table, one.key) in kept and (one.table, one.key) not in _STAND_IN]
        places = [(one.table, one.key) for one in at_fault] or _rows_of(wrong, kept)
        if not left_out:  # afterwards rows may have other numbers
            left_out = at_fault
        if not places:
            return _Drawn(left_out=tuple(left_out))
        kept = {place: value for place, value in kept.items() if place not in places}
        kept = _numbered_anew(kept, row_names(kept))
    procedure = procedure_of(kept)
    try:
        charted = resolve(procedure, day)
    except ProcedureError as error:
        return _Drawn(procedure, None, procedure.warnings, str(error), tuple(left_out))
    return _Drawn(procedure, charted, charted.warnings, "", tuple(left_out))


def _supposed(answers: _Answers, missing: list[Question]) -> dict[tuple[str, str], tuple[Any, str]]:
    """Suggested values for missing answers, so that the chart can be drawn before they are typed, each with a sentence."""
    offered = offers(answers, None)
    found = {}
    for question in missing:
        text, why = offered.get(field_name(question), ("", ""))
        if text:
            words = f"Drawn with {text} ({why}) for \u201c{question.words.partition(',')[0]}\u201d, until that is typed."
            found[question.table, question.key] = (answered(question, text), words)
    return found


def _rows_of(wrong: Iterable[Wrong], kept: _Answers) -> list[tuple[str, str]]:
    """The answers of tables in which a value is missing, except for tables that every chart needs."""
    tables = {one.table or one.key for one in wrong} - {"", "fix", "reversal", "altitudes"}
    return [place for place in kept if place[0] in tables or one_of(place[0])[0] in tables]


def _row_titles(answers: _Answers, asked: Collection[Asked]) -> dict[str, str]:
    """The title of each row: its word, number and name."""
    titles = {}
    for table in dict.fromkeys(one.row for one in asked if one.row):
        rows, number = ROWS[one_of(table)[0]], (one_of(table)[1] or 0) + 1
        name = answers.get((table, "name"), "")
        begun = any(place[0] == table for place in answers)
        titles[table] = f"{rows.word.capitalize()} {number}{f': {name}' if name else ''}" if begun else ""
    return titles


def _remarks(drafted: Collection[str], rows: Mapping[str, str]) -> dict[str, str]:
    """The remarks on drafted values, by table and key; for tables of a list only if the list has a single one."""
    counts = [one_of(name)[0] for name in rows]
    places = [name.rpartition(".") for name in drafted]
    return {f"{one_of(table)[0]}.{key}": FLOWN for table, _, key in places if table and counts.count(one_of(table)[0]) < 2}


@dataclass(frozen=True)
class _Marks:
    """What is shown at fields besides their text."""

    faults: Mapping[str, str]
    doubts: Mapping[str, str]
    offered: Mapping[str, tuple[str, str]]
    drafted: Collection[str]


def _field(one: Asked, texts: Mapping[str, str], answers: _Answers, marks: _Marks) -> ChartField:
    question, name = one.question, field_name(one.question)
    label, _, hint = question.words.partition(", like ")
    text = texts.get(name, "")
    said, value = text.strip(), answers.get((question.table, question.key))
    unit: AltitudeUnit = "m" if answers.get(("units", "altitude")) == "m" else "ft"
    offer = marks.offered.get(name, ("", "")) if not said else ("", "")
    choices = tuple(_choices(question))
    return ChartField(
        name,
        re.sub(r", ft\b", f", {unit}", label),
        f"like {hint}" if hint else "",
        one.section,
        question.needed,
        one.row,
        one.more,
        text,
        understood_as(question.key, value, said, unit),
        marks.faults.get(name, ""),
        marks.doubts.get(name, ""),
        *offer,
        drafted=bool(said) and name in marks.drafted,
        choices=choices,
        choice_words=tuple(map(choice_words, choices)),
    )


def _choices(question: Question) -> Iterator[str]:
    accepted = accepted_text(one_of(question.table)[0], question.key)
    if question.key in _YES_OR_NO:
        yield from ("yes", "no")
    if accepted.startswith('"') and question.key not in ("category",):
        yield from (part.strip().strip('"') for part in accepted.replace(" or ", ", ").split(","))


def _said(missing: list[Question], faults: Mapping[str, str], contradicted: Mapping[str, str], odd: str) -> str:
    """How complete the chart is, in a sentence."""
    if faults:
        return f"{len(faults)} {'field is' if len(faults) == 1 else 'fields are'} not understood."
    if missing:
        first = missing[0].words.partition(",")[0]
        return f"{len(missing)} more {'value is' if len(missing) == 1 else 'values are'} needed; next: {first}."
    if contradicted:
        return "Something contradicts itself: see the marked fields."
    return odd or "Complete: it can be saved."
