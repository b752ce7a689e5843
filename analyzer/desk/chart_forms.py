"""What the chart form sends: the texts of its fields, and what was pressed besides typing."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from analyzer.desk.asked import ChartSeen
from analyzer.desk.chart_fields import place_of
from analyzer.desk.chart_questions import ROWS
from analyzer.desk.charting import flown_texts, see_chart
from analyzer.errors import DeskError
from analyzer.frozen import dataclass
from analyzer.procedure.questions import one_of

__all__ = ["ChartForm", "form_of", "see_form"]

_ABOUT = ("for", "file", "was", "drafted", "change")
_FILL, _OUT, _BEFORE = "fill", "out", "before"


@dataclass(frozen=True)
class ChartForm:
    """A form as it was sent.

    `log` is the flight that the chart is made for, `file` the chart that was opened and `was` its version, `drafted` the fields
    whose text is from a flight. `change` is what was pressed: ``fill`` the empty fields with what was flown, or take a row
    ``out`` or put an empty one ``before`` it: ``out fixes 2``.
    """

    texts: Mapping[str, str]
    log: str = ""
    file: str = ""
    was: str = ""
    drafted: tuple[str, ...] = ()
    change: str = ""


def form_of(sent: Mapping[str, str]) -> ChartForm:
    """A form from the fields that a browser sent."""
    texts = {name: text for name, text in sent.items() if name not in _ABOUT}
    drafted = tuple(name for name in sent.get("drafted", "").split(",") if name)
    log, file, was, change = (sent.get(name, "") for name in ("for", "file", "was", "change"))
    return ChartForm(texts, log, file, was, drafted, change)


def see_form(folder: str, sent: Mapping[str, str], today: str) -> ChartSeen:
    """The chart of a form, after what was pressed."""
    form = form_of(sent)
    texts, drafted = dict(form.texts), form.drafted
    what, _, row = form.change.partition(" ")
    if what == _FILL and form.log:
        flown = flown_texts(texts, folder, form.log)
        texts, drafted = {**texts, **flown}, (*drafted, *flown)
    elif what in (_OUT, _BEFORE):
        moved = _moves(what, row, texts)
        texts = {moved.get(name, name): text for name, text in texts.items() if moved.get(name, name)}
        drafted = tuple(moved.get(name, name) for name in drafted if moved.get(name, name))
    return see_chart(texts, today, folder, form.log, drafted)


def _moves(what: str, row: str, texts: Iterable[str]) -> dict[str, str]:
    """The fields of a table's rows, each with the name that it has afterwards, empty where it is taken out."""
    table, number = one_of(row) if row.rpartition(" ")[2].isascii() and row.rpartition(" ")[2].isdigit() else (row, None)
    if table not in ROWS or number is None:
        raise DeskError(f"{row!r}: no row of a chart; load the page again")
    moves = {}
    for name in texts:
        place, key = place_of(name)
        own, position = one_of(place) if place else ("", None)
        if own != table or position is None or position < number:
            continue
        to = position + (1 if what == _BEFORE else -1)
        moves[name] = "" if what == _OUT and position == number else f"{table} {to + 1}.{key}"
    return moves
