"""The page of a dropped log: its columns and first rows, the open questions about it, and a picture of its track.

The questions come from `read_track`, and each names the options that settle it; here each becomes a field of one form. The
picture is drawn as far as the track can be read without the answers, so that the user can see which answers are right.
"""

from __future__ import annotations

import datetime as dt
import math
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from pathlib import Path

import numpy as np

from analyzer.desk.asked import Ask, Choice, Look
from analyzer.desk.field_words import in_fields
from analyzer.desk.reading_fields import NO_COLUMN, also_fields, with_also, zone_ask
from analyzer.errors import LogError, printable
from analyzer.physics.units import FT
from analyzer.report.pictures.layout import NARROW
from analyzer.report.pictures.svg import inline_svg
from analyzer.report.pictures.track_sketch import track_sketch
from analyzer.report.words.log_sentences import span_text
from analyzer.track.column_names import read_name
from analyzer.track.columns import match_columns
from analyzer.track.dates import DAY_ORDERS, read_date
from analyzer.track.formats import read_table
from analyzer.track.missing_columns import WITHOUT
from analyzer.track.open_questions import OpenError, Question
from analyzer.track.options import ReadOptions
from analyzer.track.quantities import KINDS, parse_unit, suits
from analyzer.track.raw_table import RawTable, numbers
from analyzer.track.read import read_track
from analyzer.track.source import read_source
from analyzer.track.timestamps import NO_ZONE
from analyzer.track.track import Track

__all__ = ["header_of", "look", "look_anyway", "options_from"]

_ROWS, _LETTERS, _COLUMNS = 6, 28, 40
_UNIT = re.compile(r"--unit (\w+)=([^\s,.?]+(?: s)?)")
_COLUMN = re.compile(r"--column (\w+)=")
_TIME_DIGITS = 6
_TYPED = Choice("", "None: it is typed below")
# how sentences of advice begin, which name options
_ADVICE = "Choose one|Say which|Name it|Name them|Give the instant|If it will do|Say how far|Name the date|Do without"
_SOME_DAY = dt.datetime(2000, 1, 1, tzinfo=dt.UTC)  # so that the track of a log without a date can be drawn


def look(path: Path, options: ReadOptions) -> Look:
    """How a log is understood with given options, and what these leave open. Raises `LogError` if it is not a log."""
    table = read_table(read_source(path, path.name, options.limits), path.name, options)
    head, also = _head(table), also_fields(options, table.names)
    try:
        track = read_track(path, options)
    except OpenError as error:
        asks = tuple(_asks(error.questions, table, options))
        if asks:
            drawn, said, zone = _drawn_as_far_as_known(path, options, asks, table)
            asked = {ask.field for ask in asks}
            also = tuple(ask for ask in also if ask.field not in asked)
            return Look(path.name, table.format, *head, (*asks, *zone), drawn, said, also=also)
        raise
    except LogError as error:
        several = _which_aircraft(str(error), table)
        if several is None:
            raise
        return Look(path.name, table.format, *head, (several,), "", "", also=also)
    zone = _zone(track, options)
    notes = tuple(in_fields(note.text, "") for note in track.notes if not (zone and note.text == NO_ZONE))
    return Look(
        path.name, table.format, *head, zone, _sketch(track), f"{span_text(track)}; {len(track):,} samples", notes, also=also
    )


def look_anyway(path: Path, options: ReadOptions) -> Look:
    """The same of a log that cannot be read as it stands, with the fault; raises `LogError` where it is no table at all."""
    try:
        return look(path, options)
    except LogError as error:
        table = read_table(read_source(path, path.name, options.limits), path.name, options)
        fault = in_fields(str(error).replace(f"{path}, ", "").replace(f"{path}: ", ""), "")
        return Look(path.name, table.format, *_head(table), (), "", "", fault=fault, also=also_fields(options, table.names))


def _zone(track: Track, options: ReadOptions) -> tuple[Ask, ...]:
    return tuple(filter(None, (zone_ask(track, options),)))


def header_of(path: Path, options: ReadOptions) -> tuple[str, ...]:
    """The names of a log's columns, which identify logs of the same kind. Raises `LogError`."""
    return read_table(read_source(path, path.name, options.limits), path.name, options).names


def options_from(answers: Mapping[str, str], base: ReadOptions) -> ReadOptions:
    """The options with the answers of a form: fields ``unit altitude``, ``column time``, ``start``, ``only COLUMN``.

    Those of `reading_fields` come with them. Raises `LogError` for an answer that is none.
    """
    said_too = with_also(answers, base)
    columns, units, start, only = dict(said_too.columns), dict(said_too.units), base.start, base.only
    required = base.altitude_required or answers.get("column altitude") == ""
    for field, text in answers.items():
        kind, _, what = field.partition(" ")
        said = text.strip()
        if not said:
            continue
        if kind == "unit" and what in KINDS:
            units[what] = said
        elif kind == "column" and what == "altitude" and said == NO_COLUMN:
            required = False
        elif kind == "column" and what in KINDS:
            columns[what] = said
        elif field == "start":
            start = _instant(said)
        elif kind == "only":
            only = (what, said)
    return replace(said_too, columns=columns, units=units, start=start, only=only, altitude_required=required)


def _instant(text: str) -> dt.datetime:
    try:
        instant = dt.datetime.fromisoformat(text.replace("Z", "+00:00"))
    except ValueError as error:
        raise LogError(f"{printable(text)[:40]}: not a date or an instant like 2026-06-14T09:00") from error
    return instant if instant.tzinfo else instant.replace(tzinfo=dt.UTC)


def _head(table: RawTable) -> tuple[tuple[str, ...], tuple[tuple[str, ...], ...]]:
    """The names of the columns and the first rows, cut to fit."""
    cells = [[cell[:_LETTERS] for cell in column[:_ROWS]] for column in table.cells[:_COLUMNS]]
    rows = tuple(tuple(printable(column[row]) for column in cells) for row in range(min(_ROWS, len(table))))
    return table.names[:_COLUMNS], rows


def _asks(questions: Sequence[Question], table: RawTable, options: ReadOptions) -> Iterator[Ask]:
    """The form fields that settle the questions, each once, and what is said of several of them with the first."""
    asked: set[str] = set()
    said: set[str] = set()
    for question in questions:
        for ask in _of_question(question, table, options):
            if ask.field not in asked:
                asked.add(ask.field)
                yield replace(ask, words="") if ask.kind == "column" and ask.words in said else ask
                said.add(ask.words)


def _of_question(question: Question, table: RawTable, options: ReadOptions) -> Iterator[Ask]:
    words = _without_options(question.text)
    for option in question.options:
        if unit := _UNIT.match(option):
            yield _unit_ask(unit[1], question, table, options)
        elif column := _COLUMN.match(option):
            yield from _column_asks(column[1], option.partition("=")[2].strip('"'), words, table, options)
        elif option == WITHOUT:
            yield from _column_asks("altitude", NO_COLUMN, words, table, options)
        elif option.startswith("--start"):
            of_day = "without a date" in question.text
            dates = _date_columns(table) if of_day else ()
            if dates:
                yield Ask("column date", "Column of the date", words, "column", (*dates, _TYPED), needed=False)
            label = "Date of the flight (UTC)" if of_day else "Date and time of the first row (UTC)"
            label = f"{label}, where no column has it" if dates else label
            yield Ask("start", label, "" if dates else words, "date" if of_day else "datetime-local", (), needed=not dates)


def _unit_ask(quantity: str, question: Question, table: RawTable, options: ReadOptions) -> Ask:
    units = list(dict.fromkeys(unit for asked, unit in _UNIT.findall(question.text) if asked == quantity))
    if quantity == "altitude":
        matched = match_columns(table, replace(options, altitude_required=False, units={"altitude": "ft"}), table.format)
        found = matched.by_quantity.get("altitude")
        return _altitude_unit(found.name if found is not None else None, table)
    return Ask(
        f"unit {quantity}", f"How the {quantity} is written", _without_options(question.text), "choice",
        tuple(Choice(unit, unit) for unit in units),
    )  # fmt: skip


def _altitude_unit(column: str | None, table: RawTable) -> Ask:
    """The choice of feet or metres, each with the altitudes of the log in that unit."""
    seen = {"ft": "", "m": ""}
    words = "The log does not say whether its altitudes are in feet or metres. Choose the one whose heights are those you flew."
    if column is not None:
        values = numbers(table.column(column), table.decimal)
        values = values[np.isfinite(values)]
        if len(values):
            low, high = float(values.min()), float(values.max())
            seen = {
                "ft": f"from {low:,.0f} to {high:,.0f} ft",
                "m": f"from {low:,.0f} to {high:,.0f} m, which is {low / FT:,.0f} to {high / FT:,.0f} ft",
            }
    return Ask("unit altitude", "Unit of the altitudes", words, "choice",
               (Choice("ft", "Feet", seen["ft"]), Choice("m", "Metres", seen["m"])))  # fmt: skip


def _column_asks(quantity: str, suggested: str, words: str, table: RawTable, options: ReadOptions) -> Iterator[Ask]:
    """The choice of the column of a quantity; for the altitude with its unit, if the names of no column state one.

    A unit that the chosen column states is taken from it; if it states none, the unit is asked for next.
    """
    choices = [Choice(name, name, _example(table, name), chosen=name == suggested) for name in table.names[:_COLUMNS]]
    if quantity == "altitude":
        choices.append(Choice(NO_COLUMN, "None: the log has no altitude", chosen=suggested == NO_COLUMN))
    label = f"Column of the {'date' if quantity == 'date' else quantity.replace('_', ' ')}"
    yield Ask(f"column {quantity}", label, words, "column", tuple(choices))
    if suggested == NO_COLUMN:
        return
    if quantity == "altitude" and "altitude" not in options.units and not _states_a_unit(table):
        yield _altitude_unit(suggested if suggested in table.names else None, table)


def _states_a_unit(table: RawTable) -> bool:
    """Whether the name of a column, or the row below it, states a unit that altitudes come in."""
    units = (*(read_name(name).unit for name in table.names), *map(parse_unit, table.units or ()))
    return any(unit is not None and suits(unit, "altitude") for unit in units)


def _date_columns(table: RawTable) -> tuple[Choice, ...]:
    """The columns whose cells are dates, the first of them suggested."""
    examples = ((name, _example(table, name)) for name in table.names[:_COLUMNS])
    dates = [(name, cell) for name, cell in examples if _is_date(cell)]
    return tuple(Choice(name, name, cell, chosen=place == 0) for place, (name, cell) in enumerate(dates))


def _is_date(cell: str) -> bool:
    """Whether a cell is a date; six digits are as likely a time of day or a number, so they are not taken for one."""
    return not (cell.isdigit() and len(cell) == _TIME_DIGITS) and any(math.isfinite(read_date(cell, one)) for one in DAY_ORDERS)


def _example(table: RawTable, name: str) -> str:
    return next((cell.strip()[:_LETTERS] for cell in table.column(name)[:200] if cell.strip()), "empty")


def _which_aircraft(message: str, table: RawTable) -> Ask | None:
    """The choice of one of several aircraft, if a message asks for it."""
    match = re.search(r"column '(.+?)' tells several aircraft apart", message)
    if match is None or match[1] not in table.names:
        return None
    cells = [cell.strip() for cell in table.column(match[1])]
    values = sorted({cell for cell in cells if cell}, key=lambda value: (-cells.count(value), value))[:20]
    choices = tuple(Choice(value, printable(value), f"{cells.count(value):,} rows") for value in values)
    return Ask(f"only {match[1]}", "Aircraft", "The log holds several aircraft. Choose one.", "choice", choices)


def _drawn_as_far_as_known(
    path: Path, options: ReadOptions, asks: Sequence[Ask], table: RawTable
) -> tuple[str, str, tuple[Ask, ...]]:
    """The picture of the track with some answer to each question but the altitude, what is said of it, and the zone's field."""
    guessed = {ask.field: chosen for ask in asks if (chosen := _first(ask))}
    guessed["column altitude"] = guessed.get("column altitude", NO_COLUMN)
    try:
        track = read_track(path, replace(options_from(guessed, options), start=options.start or _SOME_DAY))
    except LogError:
        many = f"{len(table):,} {'row' if len(table) == 1 else 'rows'}"
        return "", f"{many}; the track can be drawn once these are answered.", ()
    said = "The track as far as it is known."
    if any(ask.field == "unit altitude" for ask in asks) and track.has_altitude:
        said = "The track, with its altitudes drawn as if they were in feet."
    return _sketch(track), said, _zone(track, options)


def _first(ask: Ask) -> str:
    """The provisional answer to a question."""
    chosen = next((choice.value for choice in ask.choices if choice.chosen), "")
    return chosen or (ask.choices[0].value if ask.kind == "choice" and ask.choices else "")


def _sketch(track: Track) -> str:
    return inline_svg(track_sketch(track, NARROW), "look-")


def _without_options(text: str) -> str:
    """A question without the sentence that names command-line options."""
    kept = re.split(rf"(?:\. |: |, or )?(?:{_ADVICE})", text)
    said = kept[0].strip().rstrip(":,.")
    return f"{said[:1].upper()}{said[1:]}{'' if said.endswith('?') else '.'}" if said else ""
