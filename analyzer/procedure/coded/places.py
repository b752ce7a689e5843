"""Navaids and waypoints of a file of coded records by ident, in place of typed positions."""

from __future__ import annotations

import re

from analyzer.errors import ProcedureError
from analyzer.procedure.coded.facilities import Facility, facility, is_primary
from analyzer.procedure.coded.fields import FieldError, columns
from analyzer.procedure.coded.file import CodedFile
from analyzer.procedure.coded.words import enumeration

__all__ = ["is_ident", "place_of"]

_SECTIONS = {"D": "VHF navaid", "DB": "NDB", "EA": "waypoint"}
_OWN = {"C": "waypoint", "N": "NDB", "G": "runway"}
_IDENT = re.compile(r"(?:([A-Z0-9]{2,4})/)?([A-Z][A-Z0-9]{0,4}|[A-Z0-9]{2,5})", re.IGNORECASE)
_MOST = 12


def is_ident(text: str) -> bool:
    """Whether a text may be an ident, alone or as ``REGION/IDENT`` or ``AIRPORT/IDENT``; a plain number is not."""
    return _IDENT.fullmatch(text.strip()) is not None and not text.strip().isdigit()


def place_of(file: CodedFile, asked: str) -> Facility:
    """The navaid or waypoint asked for: en route by ``IDENT`` or ``REGION/IDENT``; of an airport by ``AIRPORT/IDENT``.

    Raises
    ------
    ProcedureError
        There is none, its record is damaged, or several places have that ident; the message lists them.
    """
    text = asked.strip().upper()
    where, _, ident = text.rpartition("/")
    matches = _of_airport(file, where, ident) if where else []
    matches = matches or [one for one in _enroute(file, ident) if where in ("", one[0])]
    places = {(one.latitude_deg, one.longitude_deg, one.kind): name for name, one in matches}
    if len(places) == 1:
        return matches[0][1]
    if places:
        names = sorted({f"{region}/{ident} ({_words(one)})" for region, one in matches})
        more = "" if len(names) <= _MOST else f" and {len(names) - _MOST} more"
        raise ProcedureError(
            f"{file.name}: {asked}: several places have that ident; give {enumeration(names[:_MOST], 'or')}{more}"
        )
    raise ProcedureError(
        f"{file.name}: {asked}: no navaid or waypoint of that ident; those of an airport are given like KXYZ/{ident or 'FIXES'}"
    )


def _words(one: Facility) -> str:
    north, east = "N" if one.latitude_deg >= 0.0 else "S", "E" if one.longitude_deg >= 0.0 else "W"
    return f"{one.kind}, {abs(one.latitude_deg):.2f} {north} {abs(one.longitude_deg):.2f} {east}"


def _enroute(file: CodedFile, ident: str) -> list[tuple[str, Facility]]:
    records = [(line, record) for section in _SECTIONS for line, record in file.of_ident(section, ident)]
    primary = [(line, record) for line, record in records if is_primary(record, 22)]
    return [(columns(record, 20, 21).strip(), _made(file, line, record)) for line, record in primary]


def _of_airport(file: CodedFile, airport: str, ident: str) -> list[tuple[str, Facility]]:
    matches = []
    for line, record in file.of_airport(airport):
        subsection = columns(record, 6, 6).strip() or columns(record, 13, 13)
        if subsection in _OWN and columns(record, 14, 18).strip() == ident and is_primary(record, 22):
            matches.append((airport, _made(file, line, record)))
    return matches


def _made(file: CodedFile, line: int, record: str) -> Facility:
    try:
        return facility(record)
    except FieldError as error:
        raise ProcedureError(f"{file.name}: line {line}: {error}") from None
