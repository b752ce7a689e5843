"""A chart as far as it was typed: each field understood by itself, all of them together, and a picture of what there is."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

from analyzer.desk.asked import ChartField, ChartSeen
from analyzer.desk.chart_fields import SECTIONS, answers_of, field_name, fields_asked, place_of, section_of
from analyzer.desk.chart_words import understood_as
from analyzer.desk.flown_offers import flown_offers
from analyzer.desk.names import safe_name
from analyzer.desk.offers import offers
from analyzer.desk.store import Store
from analyzer.errors import DeskError, ProcedureError
from analyzer.procedure.ask import answered, procedure_of, what_is_wrong
from analyzer.procedure.charted import Charted, resolve
from analyzer.procedure.faults import accepted_text
from analyzer.procedure.questions import Question, one_of
from analyzer.procedure.read import read_procedure
from analyzer.procedure.schema import Procedure
from analyzer.procedure.write import procedure_toml
from analyzer.report.pictures.chart_plan import chart_plan, chart_profile
from analyzer.report.pictures.layout import NARROW
from analyzer.report.pictures.svg import inline_svg

__all__ = ["HEAD", "draw_saved", "save_chart", "see_chart", "texts_of"]

HEAD = "Typed from a chart. Training aid, never for navigation."
# without these nothing can be drawn, and what stands for them changes no line of the picture
_STAND_IN: Mapping[tuple[str, str], Any] = {("", "title"): "Untitled", ("fix", "name"): "fix", ("fix", "kind"): "waypoint"}
_MOST_LETTERS = 200
_Answers = dict[tuple[str, str], Any]


def see_chart(texts: Mapping[str, str], today: str, folder: str = "", log: str = "") -> ChartSeen:
    """A chart from the texts of its fields, on a day (ISO 8601) for the magnetic model.

    With a log of a folder, what was flown there is offered for empty fields, once the fix of the reversal is known.
    """
    answers, faults = _understood(texts)
    asked = list(fields_asked(answers))
    missing = [question for question in asked if question.needed and answers.get((question.table, question.key)) is None]
    contradicted = _contradicted(answers, asked) if not missing and not faults else {}
    day = dt.date.fromisoformat(today)
    procedure, charted, notes, odd = _drawn(answers, day)
    whole = not missing and not faults and not contradicted and charted is not None
    if charted is None and missing:
        supposed = _supposed(answers, missing)
        _, charted, notes, _ = _drawn({**answers, **{place: value for place, (value, _) in supposed.items()}}, day)
        notes = (*(words for _, words in supposed.values()), *notes) if charted is not None else ()
    offered = dict(offers(answers, None if charted is None else charted.variation.east_rad))
    if log:
        offered |= flown_offers(folder, log, answers)
    doubted = _doubted(notes, asked)
    fields = tuple(_field(question, texts, answers, {**contradicted, **faults}, doubted, offered) for question in asked)
    return ChartSeen(
        tuple(SECTIONS),
        fields,
        "" if charted is None else inline_svg(chart_plan(charted, NARROW), "chart-"),
        _profile(charted),
        _said(asked, missing, faults, contradicted, odd),
        notes,
        whole,
        procedure_toml(procedure, HEAD) if whole and procedure is not None else "",
    )


def save_chart(folder: str, texts: Mapping[str, str], today: str, file: str = "") -> str:
    """Write a chart into the procedures of a folder, over the one that it was made from if any. Returns its file's name.

    Raises
    ------
    DeskError
        The chart is not whole.
    """
    seen = see_chart(texts, today)
    if not seen.whole:
        raise DeskError(f"The chart is not whole yet: {seen.said}")
    store = Store(Path(folder))
    if file:
        texts_of(folder, file)  # raises where writing over it would lose something
        store.write(store.there("procedures", file), seen.toml.encode())
        return file
    title = safe_name(texts["title"].strip().lower().replace(" ", "_"), "procedure")
    return store.add("procedures", f"{title}.toml", seen.toml.encode())


def texts_of(folder: str, name: str) -> dict[str, str]:
    """The texts of a form for a chart of the folder.

    Raises
    ------
    DeskError
        The file holds more than the form has fields for, so that saving it from the form would lose that.
    """
    procedure = read_procedure(Store(Path(folder)).there("procedures", name))
    answers = answers_of(procedure)
    asked = {(question.table, question.key): question for question in fields_asked(answers)}
    held = {place: value for place, value in answers.items() if place in asked}
    if what_is_wrong(held) or procedure_of(held) != procedure:
        raise DeskError(f"{name}: holds more than the form has fields for; change it in a text editor")
    return {field_name(asked[place]): _as_typed(value) for place, value in held.items()}


def draw_saved(folder: str, name: str, today: str) -> ChartSeen:
    """A chart of the folder as it is."""
    procedure = read_procedure(Store(Path(folder)).there("procedures", name))
    charted = resolve(procedure, dt.date.fromisoformat(today))
    plan = inline_svg(chart_plan(charted, NARROW), "chart-")
    return ChartSeen((), (), plan, _profile(charted), procedure.title, charted.warnings, True)


def _as_typed(value: Any) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    return f"{value:.10g}" if isinstance(value, float) else str(value)


def _understood(texts: Mapping[str, str]) -> tuple[_Answers, dict[str, str]]:
    """The values of the fields, and for each that is none of its kind, why.

    Which fields apply depends on the values before them, so they are understood until nothing is added.
    """
    answers: _Answers = {}
    faults: dict[str, str] = {}
    seen: set[str] = set()
    while fresh := [question for question in fields_asked(answers) if field_name(question) not in seen]:
        for question in fresh:
            name = field_name(question)
            seen.add(name)
            said = texts.get(name, "").strip()[:_MOST_LETTERS]
            if not said:
                continue
            try:
                answers[question.table, question.key] = answered(question, said)
            except ProcedureError as error:
                faults[name] = str(error)
    applying = {(question.table, question.key) for question in fields_asked(answers)}
    kept = {place: value for place, value in answers.items() if place in applying}
    return kept, {name: text for name, text in faults.items() if place_of(name) in applying}


def _contradicted(answers: _Answers, asked: list[Question]) -> dict[str, str]:
    """What contradicts itself, by the field that it is marked at; the text has both values."""
    names = {field_name(question) for question in asked}
    found: dict[str, str] = {}
    for wrong in what_is_wrong(answers):
        name = f"{wrong.table}.{wrong.key}" if wrong.table else wrong.key
        found.setdefault(name if name in names else "title", wrong.words)
    return found


def _doubted(notes: tuple[str, ...], asked: list[Question]) -> dict[str, str]:
    """What is odd, by the fields that it names by table and key, ``[altitudes] final_ft``: the text has both values."""
    found: dict[str, str] = {}
    for question in asked:
        table, number = one_of(question.table)
        row = "" if number is None else f" {number + 1}"
        named = re.compile(rf"\[\[?{table}\]\]?{row}(?: \([^)]*\))?(?:[^\[.]*?\b)?{question.key}\b")
        text = next((note for note in notes if table and named.search(note)), "")
        if text:
            found[field_name(question)] = text
    return found


def _drawn(answers: _Answers, day: dt.date) -> tuple[Procedure | None, Charted | None, tuple[str, ...], str]:
    """What can be drawn of the answers: those at fault are left out one after the other, as far as a chart remains."""
    kept = {**_STAND_IN, **{place: value for place, value in answers.items() if value is not None}}
    while wrong := what_is_wrong(kept):
        at_fault = [(one.table, one.key) for one in wrong if (one.table, one.key) in kept]
        at_fault = [place for place in at_fault if place not in _STAND_IN] or _rows_of(wrong, kept)
        if not at_fault:
            return None, None, (), ""
        kept = {place: value for place, value in kept.items() if place not in at_fault}
    procedure = procedure_of(kept)
    try:
        charted = resolve(procedure, day)
    except ProcedureError as error:
        return procedure, None, procedure.warnings, str(error)
    return procedure, charted, charted.warnings, ""


def _supposed(answers: _Answers, missing: list[Question]) -> dict[tuple[str, str], tuple[Any, str]]:
    """What is offered for values that are missing, so that the chart can be drawn before they are typed, and that it is so."""
    offered = offers(answers, None)
    found = {}
    for question in missing:
        text, why = offered.get(field_name(question), ("", ""))
        if text:
            words = f"Drawn with {text} ({why}) for \u201c{question.words.partition(',')[0]}\u201d, until that is typed."
            found[question.table, question.key] = (answered(question, text), words)
    return found


def _rows_of(wrong: Any, kept: _Answers) -> list[tuple[str, str]]:
    """The whole tables in which a value is missing, where they are no part without which there is no chart."""
    tables = {one.table or one.key for one in wrong} - {"", "fix", "reversal", "altitudes"}
    return [place for place in kept if place[0] in tables or one_of(place[0])[0] in tables]


def _profile(charted: Charted | None) -> str:
    drawing = None if charted is None else chart_profile(charted, NARROW)
    return "" if drawing is None else inline_svg(drawing, "levels-")


def _field(
    question: Question, texts: Mapping[str, str], answers: _Answers, faults: Mapping[str, str],
    doubted: Mapping[str, str], offered: Mapping[str, tuple[str, str]],
) -> ChartField:  # fmt: skip
    name, place = field_name(question), (question.table, question.key)
    label, _, hint = question.words.partition(", like ")
    said, value = texts.get(name, "").strip(), answers.get(place)
    offer = offered.get(name, ("", "")) if not said else ("", "")
    return ChartField(
        name,
        label,
        f"like {hint}" if hint else "",
        section_of(question),
        question.needed,
        texts.get(name, ""),
        understood_as(question.key, value, said),
        faults.get(name, ""),
        doubted.get(name, ""),
        *offer,
        choices=tuple(_choices(question)),
    )


def _choices(question: Question) -> Iterator[str]:
    accepted = accepted_text(one_of(question.table)[0], question.key)
    if accepted.startswith('"') and question.key not in ("category",):
        yield from (part.strip().strip('"') for part in accepted.replace(" or ", ", ").split(","))


def _said(
    asked: list[Question], missing: list[Question], faults: Mapping[str, str], contradicted: Mapping[str, str], odd: str
) -> str:
    """How far the chart is, in a sentence."""
    if faults:
        return f"{len(faults)} {'field is' if len(faults) == 1 else 'fields are'} not understood."
    if missing:
        first = missing[0].words.partition(",")[0]
        return f"{len(missing)} more {'value is' if len(missing) == 1 else 'values are'} needed; next: {first}."
    if contradicted:
        return "Something contradicts itself: see the marked fields."
    if odd:
        return odd
    empty = sum(1 for question in asked if not question.needed)
    return f"Whole: it can be saved. {empty} values may be left out." if empty else "Whole: it can be saved."
