"""Selection from a file of coded records: the airport, the approach, and the route with the reversal."""

from __future__ import annotations

import difflib
from collections.abc import Iterator, Sequence
from pathlib import Path

from analyzer.errors import ProcedureError
from analyzer.frozen import dataclass
from analyzer.procedure.coded.approach import CodedApproach, approach_of, approach_records
from analyzer.procedure.coded.convert import Converted, converted
from analyzer.procedure.coded.file import CodedFile, read_coded
from analyzer.procedure.coded.lookup import lookup
from analyzer.procedure.coded.names import approach_name, matching, near
from analyzer.procedure.coded.reversals import CodedReversal, distinct, reversals
from analyzer.procedure.coded.words import enumeration, head_text, reversal_text, route_text

__all__ = ["Chosen", "airport_of", "all_chosen", "approaches_with_reversals", "choose", "chosen_of", "coded_reference"]

_FINAL = "final"
_SHOWN = 12


@dataclass(frozen=True)
class Chosen:
    """A procedure converted from coded records, with the comment for the head of its file and a file name."""

    made: Converted
    head: str
    stem: str


def airport_of(file: CodedFile, asked: str) -> str:
    """The airport asked for. Raises `ProcedureError`, which names similar ones."""
    asked = " ".join(asked.split())
    ident = asked.upper()
    if file.holds(ident):
        return ident
    close = difflib.get_close_matches(ident, file.airports, n=5, cutoff=0.5)
    there = f"did you mean {enumeration(close, 'or')}?" if close else f"it holds {_some(file.airports)}"
    raise ProcedureError(f"{file.name}: no airport {asked}; {there}")


def _some(names: Sequence[str]) -> str:
    return enumeration(list(names)) if len(names) <= _SHOWN else f"{', '.join(names[:_SHOWN])} and {len(names) - _SHOWN:,} more"


def approaches_with_reversals(file: CodedFile, airport: str) -> Iterator[tuple[str, CodedApproach | ProcedureError]]:
    """The approaches of an airport with a reversal, by ident; an error for one with damaged records."""
    for ident, records in sorted(approach_records(file, airport).items()):
        try:
            approach = approach_of(file, airport, ident, records)
        except ProcedureError as error:
            yield ident, error
            continue
        if reversals(approach):
            yield ident, approach


def choose(file: CodedFile, airport: str, asked: str, route: str | None) -> Chosen:
    """The procedure of an approach, by its name or ident, and of the route with the reversal.

    Raises
    ------
    ProcedureError
        There is no such approach or route, several match, or its records do not make a procedure.
    """
    ident = _ident(file, airport, " ".join(asked.split()))
    approach = approach_of(file, airport, ident, approach_records(file, airport)[ident])
    groups = distinct(reversals(approach))
    name = f"{file.name}: {airport} {approach_name(ident)}"
    if not groups:
        others = [f"{approach_name(other)} ({other})" for other, _ in approaches_with_reversals(file, airport)]
        there = f"{airport} has one in {_some(others)}" if others else f"no approach of {airport} has one"
        raise ProcedureError(f"{name}: no course reversal is coded in it; {there}")
    same = _of_route(approach, groups, route, name) if route is not None else _only(approach, groups, name)
    return _chosen(file, approach, same, groups)


def _chosen(file: CodedFile, approach: CodedApproach, same: list[CodedReversal], groups: list[list[CodedReversal]]) -> Chosen:
    several = len(groups) > 1
    at = lookup(file, approach.airport)
    made = converted(approach, at, same, named=several)
    words = [approach.airport, approach.ident, *([same[0].route or _FINAL] if several else [])]
    stem = "_".join("".join(letter if letter.isascii() and letter.isalnum() else "-" for letter in word) for word in words)
    damaged = [str(line) for line in file.damaged_of(approach.airport)]
    head = head_text(made, at)
    if damaged:
        head += f"\nCheck: lines of this airport that are no records, and were not read: {_some(damaged)}."
    return Chosen(made, head, stem)


def _ident(file: CodedFile, airport: str, asked: str) -> str:
    idents = sorted(approach_records(file, airport))
    matches = matching(asked, idents)
    if len(matches) == 1:
        return matches[0]
    with_reversal = [ident for ident, _ in approaches_with_reversals(file, airport)]
    if len(both := [ident for ident in matches if ident in with_reversal]) == 1:
        return both[0]
    if matches:
        choice = enumeration([f"{ident} ({approach_name(ident)})" for ident in both or matches], "or")
        raise ProcedureError(f"{file.name}: {airport} {asked}: several approaches match; give {choice}")
    close = near(asked, idents)
    if close:
        there = f"did you mean {enumeration([f'{ident} ({approach_name(ident)})' for ident in close], 'or')}?"
    else:
        listed = [f"{ident} ({approach_name(ident)})" for ident in with_reversal]
        there = f"with a course reversal there are {_some(listed)}" if listed else "none there has a course reversal"
    raise ProcedureError(f"{file.name}: {airport}: no approach {asked}; {there}")


def _of_route(approach: CodedApproach, groups: list[list[CodedReversal]], asked: str, name: str) -> list[CodedReversal]:
    """The reversal of a route by its name; that route comes first."""
    asked = " ".join(asked.split())
    wanted = "" if asked.lower() == _FINAL else asked.upper()
    for group in groups:
        for one in group:
            if one.route == wanted:
                return [one, *(other for other in group if other is not one)]
    known = [route.name for route in approach.transitions]
    with_one = [one.route or _FINAL for group in groups for one in group]
    what = "that route has no course reversal" if wanted in known else "no such route"
    raise ProcedureError(f"{name}: --from {asked}: {what}; those with one are from {enumeration(with_one)}")


def _only(approach: CodedApproach, groups: list[list[CodedReversal]], name: str) -> list[CodedReversal]:
    """The only reversal; arcs are ignored if there is another, since they bypass it."""
    turns = [group for group in groups if group[0].kind != "arc"] or groups
    if len(turns) == 1:
        return turns[0]
    choices = "; ".join(
        f"--from {enumeration([one.route or _FINAL for one in group], 'or')} for the {reversal_text(approach, group[0])}"
        for group in turns
    )
    raise ProcedureError(f"{name}: its routes have different reversals; give {choices}")


def all_chosen(file: CodedFile, airports: Sequence[str]) -> Iterator[tuple[str, Chosen | ProcedureError]]:
    """All procedures of some airports by name; an error for one that cannot be converted."""
    for airport in airports:
        for ident, approach in approaches_with_reversals(file, airport):
            if isinstance(approach, ProcedureError):
                yield f"{airport} {ident}", approach
            else:
                yield from _of_approach(file, approach)


def chosen_of(file: CodedFile, airport: str, ident: str) -> Iterator[Chosen]:
    """The procedures of one approach, one for each different reversal of its routes; those that cannot be made are left out."""
    try:
        approach = approach_of(file, airport, ident, approach_records(file, airport).get(ident, []))
    except ProcedureError:
        return
    yield from (one for _, one in _of_approach(file, approach) if isinstance(one, Chosen))


def _of_approach(file: CodedFile, approach: CodedApproach) -> Iterator[tuple[str, Chosen | ProcedureError]]:
    groups = distinct(reversals(approach))
    for same in groups:
        from_where = f" from {route_text(same[0].route)}" if len(groups) > 1 else ""
        what = f"{approach.airport} {approach.ident}{from_where}"
        try:
            yield what, _chosen(file, approach, same, groups)
        except ProcedureError as error:
            yield what, error


def coded_reference(text: str) -> Chosen | None:
    """The procedure at ``FILE:AIRPORT:APPROACH[:ROUTE]``; None if the text is not of that form, or there is no such file.

    Raises
    ------
    ProcedureError
        The file does not contain it.
    """
    parts = text.split(":")
    for count in (2, 3):
        path = Path(":".join(parts[:-count]))
        if len(parts) > count and "\x00" not in text and path.is_file():
            file = read_coded(path)
            airport, approach, *route = parts[-count:]
            return choose(file, airport_of(file, airport), approach, route[0] if route else None)
    return None
