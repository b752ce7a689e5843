"""Charts from a file of coded procedures in the folder: airport, approach and route chosen, drawn, and saved as a chart."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from pathlib import Path

from analyzer.desk.asked import Choice, CodedSeen
from analyzer.desk.chart_pictures import pictures_of
from analyzer.desk.label_words import in_labels
from analyzer.desk.store import Store
from analyzer.errors import DeskError, ProcedureError
from analyzer.procedure.charted import resolve
from analyzer.procedure.coded.approach import CodedApproach, approach_of, approach_records
from analyzer.procedure.coded.file import CodedFile, read_coded
from analyzer.procedure.coded.names import approach_name
from analyzer.procedure.coded.reversals import distinct, reversals
from analyzer.procedure.coded.select import Chosen, airport_of, approaches_with_reversals, choose
from analyzer.procedure.coded.words import reversal_text
from analyzer.procedure.write import procedure_toml

__all__ = ["save_coded", "see_coded"]

_FINAL = "final"
_MOST_AIRPORTS = 60


def see_coded(folder: str, file: str, airport: str, approach: str, route: str, today: str) -> CodedSeen:
    """What can be chosen next in a file of coded procedures, or the procedure drawn once it is chosen.

    `airport` is as typed, `approach` a coded ident, `route` the first fix of a route or ``final``; each may be empty.
    """
    coded = read_coded(Store(Path(folder)).there("procedures", file))
    try:
        if not airport:
            idents = [ident for ident, _ in coded.with_reversals()]
            choices = tuple(Choice(ident, ident) for ident in idents[:_MOST_AIRPORTS])
            return CodedSeen(file, "", "", "", choices, "airport")
        ident = airport_of(coded, airport)
        if not approach:
            return CodedSeen(file, ident, "", "", tuple(_approaches(coded, ident)), "approach")
        routes = tuple(_routes(coded, ident, approach))
        if not route and len(routes) > 1:
            return CodedSeen(file, ident, approach, "", routes, "route")
        return _seen(file, ident, approach, route, _chosen(coded, ident, approach, route), today)
    except ProcedureError as error:
        return CodedSeen(file, airport, approach, route, fault=str(error))


def save_coded(folder: str, file: str, airport: str, approach: str, route: str) -> str:
    """Write a coded procedure as a chart of the folder. Returns the name of its file. Raises `ProcedureError`."""
    store = Store(Path(folder))
    coded = read_coded(store.there("procedures", file))
    chosen = _chosen(coded, airport_of(coded, airport), approach, route)
    return store.add("procedures", f"{chosen.stem}.toml", procedure_toml(chosen.made.procedure, chosen.head).encode())


def _approaches(coded: CodedFile, airport: str) -> Iterator[Choice]:
    for ident, approach in approaches_with_reversals(coded, airport):
        if isinstance(approach, CodedApproach):
            yield Choice(ident, approach_name(ident), ident)


def _routes(coded: CodedFile, airport: str, approach: str) -> Iterator[Choice]:
    records = approach_records(coded, airport).get(approach)
    if records is None:
        raise ProcedureError(f"{coded.name}: {airport}: no approach {approach}; choose it from the list")
    found = approach_of(coded, airport, approach, records)
    for group in distinct(reversals(found)):
        yield Choice(group[0].route or _FINAL, group[0].route or "No transition", reversal_text(found, group[0]))


def _chosen(coded: CodedFile, airport: str, approach: str, route: str) -> Chosen:
    if not approach:
        raise DeskError("choose an approach first")
    return choose(coded, airport, approach, route or None)


def _seen(file: str, airport: str, approach: str, route: str, chosen: Chosen, today: str) -> CodedSeen:
    procedure = chosen.made.procedure
    charted = resolve(procedure, dt.date.fromisoformat(today))
    return CodedSeen(
        file, airport, approach, route, (), "",
        pictures_of(charted),
        procedure.title,
        tuple(dict.fromkeys(map(in_labels, (*chosen.made.odd, *charted.warnings)))),
    )  # fmt: skip
