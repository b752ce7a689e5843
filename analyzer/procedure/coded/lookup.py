"""The records that an approach refers to: fixes by ident, region and section; runways and localizers of its airport."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import TypeVar

from analyzer.errors import ProcedureError
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
_Found = Sequence[tuple[int, str]]
_CONTINUED = {"D": 22, "G": 22, "I": 22, "C": 22, "N": 22, "A": 22, "E": 22}  # column of the continuation number
_OWN = ("PN", "PC", "PG", "PA", "HC", "HA", "HG")  # sections whose fixes belong to the airport


@dataclass(frozen=True, eq=False)
class Lookup:
    """What the records of a file hold about one airport: its own records by subsection and ident, and the file's fixes."""

    file: CodedFile
    ident: str
    own: Mapping[tuple[str, str], _Found]

    @property
    def airport(self) -> Airport | None:
        """The airport's own record."""
        return self._one(self.own.get(("A", self.ident), ()), the_airport)

    def find(self, reference: Reference) -> Facility | None:
        """The fix that is referred to, None where the file does not hold it.

        Raises
        ------
        ProcedureError
            If its record is damaged, or two records of that name are of different places.
        """
        if reference.section in _OWN:
            subsection = reference.section[1]
            found = self.own.get((subsection, self.ident if subsection == "A" else reference.ident), ())
        else:
            there = self.file.of_ident(reference.section, reference.ident)
            found = [one for one in there if is_primary(one[1], 22) and self._meant(one[1], reference)]
            nearer = [one for one in found if columns(one[1], 7, 10).strip() in ("", self.ident, "ENRT")]
            found = nearer or found
        places = {(made.latitude_deg, made.longitude_deg) for one in found if (made := self._one([one], facility)) is not None}
        if len(places) > 1:
            lines = " and ".join(str(line) for line, _ in found)
            raise ProcedureError(f"{self.file.name}: lines {lines} hold different places of {reference}; keep the right one")
        return self._one(found, facility)

    def fix(self, reference: Reference, of: str) -> Facility:
        """The fix that is referred to; `of` says what it is. Raises `ProcedureError` where the file does not hold it."""
        found = self.find(reference)
        if found is None:
            raise ProcedureError(
                f"{self.file.name}: {self.ident} {of} is {reference}, which the file does not hold; take the whole file of "
                "that cycle"
            )
        return found

    def runway(self, ident: str) -> Runway | None:
        """A runway by its name, such as ``RW22``."""
        return self._one(self.own.get(("G", ident), ()), the_runway)

    def localizer(self, ident: str) -> Localizer | None:
        """A localizer by its ident."""
        return self._one(self.own.get(("I", ident), ()), localizer)

    def localizer_of(self, runway: str) -> Localizer | None:
        """The localizer of a runway; None where there are several."""
        made = [self._one(found, localizer) for (section, _), found in self.own.items() if section == "I"]
        fitting = [one for one in made if one is not None and one.runway == runway]
        return fitting[0] if len(fitting) == 1 else None

    @staticmethod
    def _meant(record: str, reference: Reference) -> bool:
        """Whether a record is of the region that is referred to; a blank one, on either side, leaves it open."""
        region = columns(record, 20, 21).strip()
        return not reference.region or not region or region == reference.region

    def _one(self, found: _Found, make: Callable[[str], _Made]) -> _Made | None:
        if not found:
            return None
        line, record = found[0]
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
