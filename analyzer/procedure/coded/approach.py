"""A coded approach: the legs of its transitions, of its final route and of its missed approach, in order."""

from __future__ import annotations

import itertools
import re
from collections.abc import Iterator, Mapping, Sequence

from analyzer.errors import ProcedureError
from analyzer.frozen import dataclass
from analyzer.procedure.coded.facilities import is_primary
from analyzer.procedure.coded.fields import FieldError, columns
from analyzer.procedure.coded.file import CodedFile
from analyzer.procedure.coded.leg import Leg, leg_of

__all__ = ["CodedApproach", "Route", "approach_of", "approach_records", "is_gap"]

# Legs that can begin a route: at a fix, or from one (attachment 5 of the standard, from memory).
_BEGINNINGS = ("IF", "FA", "FC", "FD", "FM", "HA", "HF", "HM", "PI")
# All path terminators (5.21, attachment 5).
_FLOWN = ("IF", "TF", "CF", "DF", "RF", "AF", "FA", "FC", "FD", "FM", "PI", "HA", "HF", "HM")
_PATHS = frozenset((*_FLOWN, "CA", "CD", "CI", "CR", "VA", "VD", "VI", "VM", "VR"))
_NUMBERED = 123  # columns before the file record number and the cycle
_TRANSITION, _MISSED = "A", "Z"  # route types of approaches (5.7); any other one is a final route


@dataclass(frozen=True)
class Route:
    """A transition by its name, or the final route, whose name is empty."""

    name: str
    legs: tuple[Leg, ...]


@dataclass(frozen=True)
class CodedApproach:
    """An approach of an airport.

    `kind` is the route type of its final route, such as I for an ILS (5.7). `odd` lists what is missing or unusual in its
    records.
    """

    airport: str
    ident: str
    kind: str
    transitions: tuple[Route, ...]
    final: Route
    missed: tuple[Leg, ...]
    odd: tuple[str, ...]

    @property
    def routes(self) -> tuple[Route, ...]:
        """All routes: the transitions, then the final route."""
        return (*self.transitions, self.final)

    @property
    def cycles(self) -> tuple[str, ...]:
        """The cycles in which its records were last changed, the oldest first."""
        legs = itertools.chain(self.missed, *(route.legs for route in self.routes))
        return tuple(sorted({leg.cycle for leg in legs if leg.cycle.isdigit()}, key=_age))


def _age(cycle: str) -> tuple[int, str]:
    """Sort key of a cycle, which has two digits of the year: those from 50 on are of the last century."""
    return (0 if cycle >= "50" else 1), cycle


def approach_records(file: CodedFile, airport: str) -> dict[str, list[tuple[int, str]]]:
    """The primary records of each approach of an airport, by the approach's ident, each with its line."""
    records: dict[str, list[tuple[int, str]]] = {}
    for line, record in file.of_airport(airport):
        if columns(record, 13, 13) == "F" and columns(record, 6, 6) == " " and is_primary(record, 39):
            records.setdefault(columns(record, 14, 19).strip(), []).append((line, record))
    return records


def approach_of(file: CodedFile, airport: str, ident: str, records: Sequence[tuple[int, str]]) -> CodedApproach:
    """Decode an approach from its records.

    Raises
    ------
    ProcedureError
        A field is invalid, or two records differ for the same leg.
    """
    routes: dict[tuple[str, str], dict[str, Leg]] = {}
    texts: dict[int, str] = {}
    for line, record in records:
        try:
            leg = leg_of(record, line)
        except FieldError as error:
            raise ProcedureError(f"{file.name}: line {line}, {airport} {ident}: {error}") from None
        texts[line] = record[:_NUMBERED]
        legs = routes.setdefault((columns(record, 20, 20), columns(record, 21, 25).strip()), {})
        other = legs.setdefault(leg.sequence, leg)
        if texts[other.line] != texts[line]:
            raise ProcedureError(
                f"{file.name}: lines {other.line} and {line}, {airport} {ident}: two records are leg {leg.sequence} of one "
                "route; keep the right one"
            )
    return _assembled(airport, ident, {key: tuple(legs[number] for number in sorted(legs)) for key, legs in routes.items()})


def _assembled(airport: str, ident: str, routes: Mapping[tuple[str, str], tuple[Leg, ...]]) -> CodedApproach:
    transitions = tuple(Route(name, legs) for (kind, name), legs in routes.items() if kind == _TRANSITION)
    finals = [(kind, legs) for (kind, _), legs in routes.items() if kind not in (_TRANSITION, _MISSED)]
    kind, legs = finals[0] if finals else (ident[:1], ())
    beyond = next((i for i, leg in enumerate(legs) if leg.begins_missed), _after_point(legs))
    missed = (*legs[beyond:], *itertools.chain.from_iterable(legs for (of, _), legs in routes.items() if of == _MISSED))
    final = Route("", legs[:beyond])
    odd = [
        *itertools.chain.from_iterable(_gaps(route) for route in (*transitions, Route("", legs)) if route.legs),
        *(["there is no record of the final route"] if not legs else []),
    ]
    if legs and all(leg.role != "M" for leg in final.legs):
        odd.append("the final route has no missed approach point")
    odd += itertools.chain.from_iterable(_unknown(route) for route in (*transitions, Route("", legs)))
    if len(finals) > 1:
        odd.append(f"there are {len(finals)} final routes, of which the first is read")
    return CodedApproach(airport, ident, kind, transitions, final, missed, tuple(odd))


def _after_point(legs: Sequence[Leg]) -> int:
    """Where the missed approach begins if no leg is marked so: after the missed approach point."""
    return next((i + 1 for i, leg in enumerate(legs) if leg.role == "M"), len(legs))


def _gaps(route: Route) -> Iterator[str]:
    """Missing records, by the sequence numbers of the others."""
    where = f"transition {route.name}" if route.name else "the final route"
    first = route.legs[0]
    if first.path not in _BEGINNINGS:
        yield f"{where} has no beginning: its first record, {first.sequence}, is of a leg {first.path or 'without a path'}"
    for before, after in itertools.pairwise(route.legs):
        if is_gap(before, after):
            yield f"{where} has no record between {before.sequence} and {after.sequence}"


def _unknown(route: Route) -> Iterator[str]:
    """Codes that version 18 does not define; records of a later version may have them."""
    where = f"transition {route.name}" if route.name else "the final route"
    for leg in route.legs:
        if leg.path not in _PATHS:
            yield f"leg {leg.sequence} of {where} has a path {leg.path or 'of blanks'}, which is not known"
        if leg.levels.unknown is not None:
            yield f"the altitude of leg {leg.sequence} of {where} is described as {leg.levels.unknown}, which is not known"


def is_gap(before: Leg, after: Leg) -> bool:
    """Whether a record is missing between two legs, which are numbered by tens, with inserted ones between."""
    numbers = [leg.sequence for leg in (before, after)]
    if any(re.fullmatch(r"\d{3}", number, re.ASCII) is None for number in numbers):
        return False
    return int(numbers[1]) // 10 - int(numbers[0]) // 10 > 1
