"""Facilities that legs refer to: navaids, waypoints, runways, localizers and the airport, from their primary records.

Columns are those of ARINC 424-18, 4.1.2 to 4.1.11, checked against an open-source reader of the standard.
"""

from __future__ import annotations

from analyzer.frozen import dataclass
from analyzer.procedure.coded.fields import (
    FieldError,
    columns,
    course,
    hundredths,
    latitude,
    longitude,
    variation,
    whole,
)
from analyzer.procedure.values import FixKind

__all__ = ["Airport", "Facility", "Localizer", "Runway", "facility", "is_primary", "localizer", "the_airport", "the_runway"]


@dataclass(frozen=True)
class Facility:
    """A fix that a leg can name, with its position.

    `variation_deg_east` is the declination of a station's radials or of a beacon. It is None for a waypoint, as no course is
    charted by the variation of its record, which comes from a model; that is `place_variation_deg_east`, for want of a better
    one.
    """

    ident: str
    kind: FixKind
    latitude_deg: float
    longitude_deg: float
    variation_deg_east: float | None = None
    place_variation_deg_east: float | None = None
    elevation_ft: float = 0.0


@dataclass(frozen=True)
class Runway:
    """One end of a runway, by its landing threshold."""

    ident: str
    latitude_deg: float
    longitude_deg: float
    elevation_ft: float | None
    bearing_deg: float | None
    bearing_is_true: bool
    length_ft: float | None
    crossing_height_ft: float | None


@dataclass(frozen=True)
class Localizer:
    """A localizer by its antenna, with its glide slope if it has one. `width_deg` is from full scale to full scale."""

    ident: str
    runway: str
    latitude_deg: float
    longitude_deg: float
    bearing_deg: float | None
    width_deg: float | None
    slope_deg: float | None
    variation_deg_east: float | None
    crossing_height_ft: float | None


@dataclass(frozen=True)
class Airport:
    """An airport."""

    ident: str
    name: str
    variation_deg_east: float | None


def is_primary(record: str, column: int) -> bool:
    """Whether a record is primary, by its continuation number: 0 without further records, 1 with some (5.16)."""
    return columns(record, column, column) in ("0", "1", " ")


def facility(record: str) -> Facility:
    """Decode a navaid, waypoint, runway or airport as a fix. Raises `FieldError`."""
    section = columns(record, 5, 6)
    if section == "D ":
        return _vhf_navaid(record)
    ident = columns(record, 14, 18).strip()
    if section in ("DB", "PN"):
        own = variation(record, "the declination", 75)
        return Facility(columns(record, 14, 17).strip(), "ndb", *_position(record, 33), own)
    model = variation(record, "the variation", 75) if columns(record, 5, 6) == "EA" or columns(record, 13, 13) == "C" else None
    if columns(record, 13, 13) == "A":
        ident = columns(record, 7, 10).strip()
        return Facility(ident, "waypoint", *_position(record, 33), None, variation(record, "the variation", 52))
    return Facility(ident, "waypoint", *_position(record, 33), None, model)


def _vhf_navaid(record: str) -> Facility:
    """Decode a VOR, VOR/DME, VORTAC, TACAN or DME, at the VOR if it has one (columns 29 to 33: class, 5.35).

    A TACAN gives a course like a VOR. A DME alone, or that of an ILS, gives none.
    """
    bearing, ranging = columns(record, 28, 28), columns(record, 29, 29)
    gives_course = bearing == "V" or ranging in "TM"
    alone = not columns(record, 33, 41).strip()
    own = variation(record, "the declination", 75)
    return Facility(
        columns(record, 14, 17).strip(),
        "vor" if gives_course else "waypoint",
        *_position(record, 56 if alone else 33),
        own if gives_course else None,
        own,
        float(whole(record, "the elevation", 80, 84) or 0),
    )


def _position(record: str, first: int) -> tuple[float, float]:
    place = latitude(record, first), longitude(record, first + 9)
    if place[0] is None or place[1] is None:
        raise FieldError("the position", first, columns(record, first, first + 18), "given")
    return place[0], place[1]


def the_runway(record: str) -> Runway:
    """Decode a runway. Raises `FieldError`."""
    bearing = course(record, "the bearing", 28, 31)
    elevation, length = whole(record, "the elevation", 67, 71), whole(record, "the length", 23, 27)
    crossing = whole(record, "the crossing height", 76, 77)
    return Runway(
        ident=columns(record, 14, 18).strip(),
        latitude_deg=_position(record, 33)[0],
        longitude_deg=_position(record, 33)[1],
        elevation_ft=None if elevation is None else float(elevation),
        bearing_deg=None if bearing is None else bearing.degrees,
        bearing_is_true=bearing is not None and bearing.true,
        length_ft=float(length) if length else None,
        crossing_height_ft=float(crossing) if crossing else None,
    )


def localizer(record: str) -> Localizer:
    """Decode a localizer. Raises `FieldError`."""
    bearing = course(record, "the bearing", 52, 55)
    crossing = whole(record, "the crossing height", 96, 97)
    return Localizer(
        ident=columns(record, 14, 17).strip(),
        runway=columns(record, 28, 32).strip(),
        latitude_deg=_position(record, 33)[0],
        longitude_deg=_position(record, 33)[1],
        bearing_deg=None if bearing is None else bearing.degrees,
        width_deg=hundredths(record, "the width", 84, 87),
        slope_deg=hundredths(record, "the glide slope", 88, 90),
        variation_deg_east=variation(record, "the declination", 91),
        crossing_height_ft=float(crossing) if crossing else None,
    )


def the_airport(record: str) -> Airport:
    """Decode an airport. Raises `FieldError`."""
    return Airport(columns(record, 7, 10).strip(), columns(record, 94, 123).strip(), variation(record, "the variation", 52))
