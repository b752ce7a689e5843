"""A chart as far as it was typed: each field understood by itself, all of them together, and a picture of what there is."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

from analyzer.desk.asked import ChartField, ChartSeen
from analyzer.desk.chart_fields import SECTIONS, field_name, fields_asked, place_of, section_of
from analyzer.desk.names import safe_name
from analyzer.desk.offers import offers
from analyzer.desk.store import Store
from analyzer.errors import DeskError, ProcedureError
from analyzer.procedure.ask import answered, procedure_of, what_is_wrong
from analyzer.procedure.charted import Charted, resolve
from analyzer.procedure.faults import accepted_text
from analyzer.procedure.questions import Question, one_of
from analyzer.procedure.schema import Procedure
from analyzer.procedure.write import procedure_toml
from analyzer.report.pictures.chart_plan import chart_plan, chart_profile
from analyzer.report.pictures.layout import NARROW
from analyzer.report.pictures.svg import inline_svg

__all__ = ["HEAD", "save_chart", "see_chart"]

HEAD = "Typed from a chart. Training aid, never for navigation."
# without these nothing can be drawn, and what stands for them changes no line of the picture
_STAND_IN: Mapping[tuple[str, str], Any] = {("", "title"): "Untitled", ("fix", "name"): "fix", ("fix", "kind"): "waypoint"}
_MOST_LETTERS = 200
_Answers = dict[tuple[str, str], Any]


def see_chart(texts: Mapping[str, str], today: str) -> ChartSeen:
    """A chart from the texts of its fields, on a day (ISO 8601) for the magnetic model."""
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
    offered = offers(answers, None if charted is None else charted.variation.east_rad)
    fields = tuple(_field(question, texts, answers, {**contradicted, **faults}, offered) for question in asked)
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


def save_chart(folder: str, texts: Mapping[str, str], today: str) -> str:
    """Write a chart into the procedures of a folder. Returns the name of its file. Raises `DeskError` where it is not whole."""
    seen = see_chart(texts, today)
    if not seen.whole:
        raise DeskError(f"The chart is not whole yet: {seen.said}")
    title = safe_name(texts["title"].strip().lower().replace(" ", "_"), "procedure")
    return Store(Path(folder)).add("procedures", f"{title}.toml", seen.toml.encode())


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
    offered: Mapping[str, tuple[str, str]],
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
        _understood_as(question.key, value, said),
        faults.get(name, ""),
        *offer,
        choices=tuple(_choices(question)),
    )


def _choices(question: Question) -> Iterator[str]:
    accepted = accepted_text(one_of(question.table)[0], question.key)
    if accepted.startswith('"') and question.key not in ("category",):
        yield from (part.strip().strip('"') for part in accepted.replace(" or ", ", ").split(","))


def _understood_as(key: str, value: Any, said: str) -> str:
    """How a value was understood, where that is not what was typed."""
    if value is None or not said:
        return ""
    words = _in_words(key, value)
    return words if words.replace(",", "").lower() != said.replace(",", "").lower() else ""


def _in_words(key: str, value: Any) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    if not isinstance(value, float | int):
        return str(value)
    if "latitude" in key or "longitude" in key:
        letters = "NS" if "latitude" in key else "EW"
        whole, minutes = divmod(round(abs(value) * 60.0, 3), 60.0)
        return f"{letters[value < 0.0]}{whole:02.0f}°{minutes:06.3f}′"
    if key == "variation_deg_east":
        return f"{abs(value):g}° {'west' if value < 0.0 else 'east'}"
    if key.endswith("course_deg"):
        return f"{value:03.0f}°"
    unit = key.rsplit("_", 1)[-1]
    return f"{value:,g} {({'deg': '°', 'nm': 'NM', 'kias': 'kt indicated'}).get(unit, unit)}" if "_" in key else f"{value:g} kt"


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
