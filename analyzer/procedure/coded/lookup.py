"""Lookup of the records that an approach refers to: fixes by ident, region and section; runways and localizers."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import TypeVar

from analyzer.errors import ProcedureError
from analyzer.frozen import dataclass
from analyzer.procedure.coded.facilities import (
    Airport,
    Facility,
    Localizer,
    Runway,
    facility,
    is_primary,
    localizer,
    the_airport,
    the_runway,
)
from analyzer.procedure.coded.fields import FieldError, columns
from analyzer.procedure.coded.file import CodedFile
from analyzer.procedure.coded.leg import Reference

__all__ = ["Lookup", "lookup"]

_Made = TypeVar("_Made")
_Records = Sequence[tuple[int, str]]
_CONTINUED = {"D": 22, "G": 22, "I": 22, "C": 22, "N": 22, "A": 22, "E": 22}  # column of the continuation number
_OWN = ("PN", "PC", "PG", "PA", "HC", "HA", "HG")  # sections whose fixes belong to the airport


@dataclass(frozen=True, eq=False)
class Lookup:
    """The records of one airport by subsection and ident, and the fixes of the file."""

    file: CodedFile
    ident: str
    own: Mapping[tuple[str, str], _Records]

    @property
    def airport(self) -> Airport | None:
        """The airport, if its record is in the file."""
        return self._one(self.own.get(("A", self.ident), ()), the_airport)

    def find(self, reference: Reference) -> Facility | None:
        """The fix referred to; None if it is not in the file.

        Raises
        ------
        ProcedureError
            Its record is damaged, or two records of that name have different positions.
        """
        if reference.section in _OWN:
            subsection = reference.section[1]
            records = self.own.get((subsection, self.ident if subsection == "A" else reference.ident), ())
        else:
            there = self.file.of_ident(reference.section, reference.ident)
            records = [one for one in there if is_primary(one[1], 22) and self._meant(one[1], reference)]
            nearer = [one for one in records if columns(one[1], 7, 10).strip() in ("", self.ident, "ENRT")]
            records = nearer or records
        places = {
            (made.latitude_deg, made.longitude_deg) for one in records if (made := self._one([one], facility)) is not None
        }
        if len(places) > 1:
            lines = " and ".join(str(line) for line, _ in records)
            raise ProcedureError(f"{self.file.name}: lines {lines} hold different places of {reference}; keep the right one")
        return self._one(records, facility)

    def fix(self, reference: Reference, of: str) -> Facility:
        """The fix referred to; `of` says what it is. Raises `ProcedureError` if it is not in the file."""
        place = self.find(reference)
        if place is None:
            raise ProcedureError(
                f"{self.file.name}: {self.ident} {of} is {reference}, which the file does not hold; take the whole file of "
                "that cycle"
            )
        return place

    def runway(self, ident: str) -> Runway | None:
        """A runway by its name, such as ``RW22``."""
        return self._one(self.own.get(("G", ident), ()), the_runway)

    def localizer(self, ident: str) -> Localizer | None:
        """A localizer by its ident."""
        return self._one(self.own.get(("I", ident), ()), localizer)

    def localizer_of(self, runway: str) -> Localizer | None:
        """The localizer of a runway; None if there are several."""
        localizers = [self._one(records, localizer) for (section, _), records in self.own.items() if section == "I"]
        fitting = [one for one in localizers if one is not None and one.runway == runway]
        return fitting[0] if len(fitting) == 1 else None

    @staticmethod
    def _meant(record: str, reference: Reference) -> bool:
        """Whether a record is of the region referred to; a blank region on either side matches."""
        region = columns(record, 20, 21).strip()
        return not reference.region or not region or region == reference.region

    def _one(self, records: _Records, make: Callable[[str], _Made]) -> _Made | None:
        if not records:
            return None
        line, record = records[0]
        try:
            return make(record)
        except FieldError as error:
            raise ProcedureError(f"{self.file.name}: line {line}: {error}") from None


def lookup(file: CodedFile, airport: str) -> Lookup:
    """The records of one airport, by subsection and ident."""
    own: dict[tuple[str, str], list[tuple[int, str]]] = {}
    for line, record in file.of_airport(airport):
        subsection = columns(record, 6, 6).strip() or columns(record, 13, 13)
        if subsection in "CGNIA" and is_primary(record, _CONTINUED[subsection]):
            width = {"C": 18, "G": 18, "N": 17, "I": 17}.get(subsection)
            ident = airport if width is None else columns(record, 14, width).strip()
            own.setdefault((subsection, ident), []).append((line, record))
    return Lookup(file, airport, own)
