"""Whether the coded geometry closes: comparison of places and courses that the records give twice.

A fix is compared with its bearing and distance from the recommended navaid, and two fixes with the course and distance of the
leg between them.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator
from typing import Literal

from analyzer.frozen import dataclass
from analyzer.physics.geodesy import direct, inverse
from analyzer.physics.units import DEG, NM
from analyzer.procedure.coded.approach import CodedApproach, is_gap
from analyzer.procedure.coded.facilities import Facility
from analyzer.procedure.coded.guidance import CourseBy, declination, true_degrees
from analyzer.procedure.coded.leg import Leg
from analyzer.procedure.coded.lookup import Lookup

__all__ = ["Closure", "bearing_and_distance", "closures"]

_PLACE_NM, _SEGMENT_NM, _SEGMENT_DEG = 0.1, 0.2, 2.0
_SHORT_NM = 1.0  # between nearer fixes the course depends on rounding


@dataclass(frozen=True)
class Closure:
    """One comparison: of a fix with its bearing and distance, or of a leg's distance or course with the fixes it joins.

    `off` is the difference in NM, or in degrees for a course, and `most` the tolerance.
    """

    what: Literal["place", "distance", "course"]
    words: str
    off: float
    most: float

    @property
    def closes(self) -> bool:
        """Whether the difference is within tolerance."""
        return self.off <= self.most

    def __str__(self) -> str:
        unit = "°" if self.what == "course" else " NM"
        return f"{self.words}: {self.off:.2f}{unit} off"


def closures(approach: CodedApproach, at: Lookup, by: CourseBy) -> tuple[Closure, ...]:
    """All comparisons that the records of an approach allow."""
    runs = [*(route.legs for route in approach.routes), approach.missed]
    places = [closure for legs in runs for leg in legs for closure in _place(leg, at)]
    segments = [closure for legs in runs for pair in itertools.pairwise(legs) for closure in _segment(*pair, at, by)]
    return (*places, *segments)


def bearing_and_distance(one: Facility, other: Facility) -> tuple[float, float]:
    """True bearing from one facility to another, and their distance. [degrees, NM]"""
    distance, bearing = inverse(
        one.latitude_deg * DEG, one.longitude_deg * DEG, other.latitude_deg * DEG, other.longitude_deg * DEG
    )
    return float(bearing) / DEG % 360.0, float(distance) / NM


def _place(leg: Leg, at: Lookup) -> Iterator[Closure]:
    """Compare a fix with its bearing (theta) and distance (rho)."""
    if leg.fix is None or leg.navaid is None or leg.theta_deg is None or leg.rho_nm is None:
        return
    fix, station, variation = at.find(leg.fix), _antenna(leg, at), declination(leg, at, CourseBy("vor"))
    if fix is None or station is None or variation is None:
        return
    bearing = (leg.theta_deg + variation) * DEG
    laid = direct(station.latitude_deg * DEG, station.longitude_deg * DEG, bearing, leg.rho_nm * NM)
    distance, _ = inverse(fix.latitude_deg * DEG, fix.longitude_deg * DEG, float(laid[0]), float(laid[1]))
    words = f"{leg.fix.ident} at {leg.theta_deg:05.1f}° and {leg.rho_nm:g} NM from {leg.navaid.ident}"
    yield Closure("place", words, float(distance) / NM, _PLACE_NM)


def _antenna(leg: Leg, at: Lookup) -> Facility | None:
    """The station of a bearing; that of a localizer is its antenna, from which distances count, too."""
    if leg.navaid is None:
        return None
    if leg.navaid.section not in ("PI", "HI"):
        return at.find(leg.navaid)
    antenna = at.localizer(leg.navaid.ident)
    return None if antenna is None else Facility(antenna.ident, "waypoint", antenna.latitude_deg, antenna.longitude_deg)


def _segment(before: Leg, leg: Leg, at: Lookup, by: CourseBy) -> Iterator[Closure]:
    """Compare the course and distance of a leg with its fixes."""
    if before.fix is None or leg.fix is None or leg.path not in ("CF", "TF") or before.fix == leg.fix:
        return
    if before.path in ("PI", "HF", "HM", "HA") or leg.turn is not None or is_gap(before, leg):
        return  # the leg does not begin at the fix before: it follows a reversal or a turn, or a record is missing
    start, end = at.find(before.fix), at.find(leg.fix)
    if start is None or end is None:
        return
    bearing, distance = bearing_and_distance(start, end)
    words = f"{before.fix.ident} to {leg.fix.ident}"
    if leg.distance_nm is not None:
        yield Closure("distance", f"{words}, {leg.distance_nm:g} NM", abs(distance - leg.distance_nm), _SEGMENT_NM)
    course = None if leg.course is None else true_degrees(leg.course, declination(leg, at, by))
    if course is not None and leg.course is not None and distance >= _SHORT_NM:
        off = abs(math.remainder(bearing - course, 360.0))
        yield Closure("course", f"{words}, {leg.course.degrees:05.1f}°", off, _SEGMENT_DEG)
