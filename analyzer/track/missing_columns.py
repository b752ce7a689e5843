"""The question for columns that no name identifies; for a table without a header, a guess from its first row, to be checked."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence

from analyzer.track.instants import is_date_and_time, is_time_of_day
from analyzer.track.open_questions import Question
from analyzer.track.raw_table import RawTable

__all__ = ["WITHOUT", "or_without", "question_of"]

WITHOUT = "--no-altitude"

_DEGREES = re.compile(r"[+-]?\d{1,3}\.\d{3,}", re.ASCII)  # so fine are positions written, and little else
_NUMBER = re.compile(r"[+-]?\d+(?:\.\d*)?", re.ASCII)
_POSITION = {"time", "latitude", "longitude"}
_SHOWN, _CELLS_SHOWN = 24, 8  # letters of a cell, and cells


def question_of(table: RawTable, unknown: Sequence[str], left: Sequence[str], unit_given: bool) -> Question:
    """The question for quantities that no column is known to hold.

    `left` are the columns that hold nothing else, and `unit_given` says whether the altitude's unit is given.
    """
    headless = _is_headless(table)
    if list(unknown) == ["altitude"] and not left and not headless:
        return Question(f"no column for altitude among {table.listing()}. Do without: {WITHOUT}", (WITHOUT,))
    guess = _suggested(table) if headless else {}
    options = [f"--column {quantity}={guess.get(quantity, 'NAME')}" for quantity in unknown]
    listed = " and ".join(filter(None, [", ".join(unknown[:-1]), unknown[-1]]))
    name_it = "Name it" if len(unknown) == 1 else "Name them"
    is_it = "; is it a position log?" if not headless and set(unknown) >= _POSITION else "."
    text = f"no column for {listed} among {table.listing()}{is_it} {name_it}: {' '.join(options)}"
    if headless:
        row = f"there is no header, so the columns are numbered, and the first row is {_first_row(table)}"
        text = f"{row}: {text}"
        if "altitude" in unknown and not unit_given:
            options.append("--unit altitude=ft")
            text = f"{text} --unit altitude=ft (or m)"
    return Question(text + or_without(unknown), tuple(options))


def or_without(quantities: Sequence[str]) -> str:
    """What to do where a log has no altitude, if that is among what is missing."""
    return f", or do without: {WITHOUT}" if "altitude" in quantities else ""


def _is_headless(table: RawTable) -> bool:
    """Whether the columns have numbers for names, as those of a file without a header do."""
    return table.names == tuple(str(place + 1) for place in range(len(table.names)))


def _first_row(table: RawTable) -> str:
    """The first row for a message, its cells shortened."""
    cells = [column[0][:_SHOWN] for column in table.cells[:_CELLS_SHOWN]]
    return ", ".join(cells) + (", ..." if len(table.cells) > _CELLS_SHOWN else "")


def _suggested(table: RawTable) -> Mapping[str, str]:
    """Which columns of the first row could be time, latitude, longitude and altitude: in the usual order, latitude first."""
    guesses: dict[str, str] = {}
    for name, column in zip(table.names, table.cells, strict=True):
        cell = column[0].strip()
        if "time" not in guesses and (is_date_and_time(cell) or is_time_of_day(cell)):
            guesses["time"] = name
        elif "longitude" not in guesses and _DEGREES.fullmatch(cell):
            guesses["longitude" if "latitude" in guesses else "latitude"] = name
        elif "longitude" in guesses and "altitude" not in guesses and _NUMBER.fullmatch(cell):
            guesses["altitude"] = name
    return guesses
