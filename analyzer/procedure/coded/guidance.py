"""The source of the final course of a coded approach, and the declination that courses are charted by.

Courses of a VOR or NDB use the declination of the station, those of a localizer the declination of its record or of the
airport, and those flown by satellite that of the airport. Without these records, the last two use that of a facility near by.
"""

from __future__ import annotations

from analyzer.frozen import dataclass
from analyzer.physics.geodesy import direct
from analyzer.physics.units import DEG, NM
from analyzer.procedure.coded.approach import CodedApproach
from analyzer.procedure.coded.borrowed import STATIONS, Borrowed, borrowed, recommended
from analyzer.procedure.coded.facilities import Facility, Localizer
from analyzer.procedure.coded.fields import Course
from analyzer.procedure.coded.leg import Leg, Reference
from analyzer.procedure.coded.lookup import Lookup
from analyzer.procedure.coded.names import runway_of
from analyzer.procedure.values import GuidanceKind

__all__ = ["CourseBy", "course_by", "declination", "true_degrees"]

_LOCALIZERS, _VORS, _NDBS = "ILBXUG", "DSVT", "NQ"  # route types by the source of the course (5.7)


@dataclass(frozen=True)
class CourseBy:
    """The source of the final course, and its declination.

    `localizer` is set if its record is in the file; `station` is a VOR or beacon, or the place of a localizer without a record.
    `borrowed` is set if the declination of a localizer or of the airport is not in the file, but that of a facility near by is.
    """

    kind: GuidanceKind
    localizer: Localizer | None = None
    station: Facility | None = None
    variation_deg_east: float | None = None
    borrowed: Borrowed | None = None


def course_by(approach: CodedApproach, at: Lookup, reversal_fix: Reference) -> CourseBy:
    """The source of the final course, by the kind of approach and the recommended navaid of its final legs."""
    airport = at.airport.variation_deg_east if at.airport is not None else None
    if approach.kind in _LOCALIZERS:
        antenna = _localizer(approach, at)
        own = antenna.variation_deg_east if antenna is not None and antenna.variation_deg_east is not None else airport
        near_by = borrowed(approach, at) if own is None else None
        laid = _laid_off(approach, at, near_by) if antenna is None else None
        return CourseBy("localizer", antenna, laid, own, near_by)
    if approach.kind in _VORS + _NDBS:
        named = [leg.navaid for leg in approach.final.legs if leg.navaid is not None]
        kind: GuidanceKind = "vor" if approach.kind in _VORS else "ndb"
        among = [*reversed(named), *recommended(approach), reversal_fix]
        stations = (at.find(one) for one in among if one.section in STATIONS)
        station = next((one for one in stations if one is not None and one.kind == kind), None)
        return CourseBy(kind, None, station, station.variation_deg_east if station is not None else airport)
    return CourseBy("gps", None, None, airport, borrowed(approach, at) if airport is None else None)


def _localizer(approach: CodedApproach, at: Lookup) -> Localizer | None:
    idents = [one.ident for one in recommended(approach) if one.section in ("PI", "HI")]
    antenna = next((one for ident in dict.fromkeys(idents) if (one := at.localizer(ident)) is not None), None)
    runway = runway_of(approach.ident)
    if antenna is None and not idents and runway is not None:
        antenna = at.localizer_of(runway)
    return antenna


def _laid_off(approach: CodedApproach, at: Lookup, near_by: Borrowed | None) -> Facility | None:
    """The antenna of a localizer without a record, placed by the bearing and distance of a fix from it."""
    for leg in (*approach.final.legs, *(leg for route in approach.transitions for leg in route.legs)):
        fix = at.find(leg.fix) if leg.fix is not None else None
        if (
            leg.navaid is None
            or leg.navaid.section not in ("PI", "HI")
            or fix is None
            or not leg.rho_nm
            or leg.theta_deg is None
        ):
            continue
        known = (
            at.airport.variation_deg_east if at.airport is not None else None,
            near_by.variation_deg_east if near_by is not None else None,
            fix.place_variation_deg_east,
        )
        variation = next((one for one in known if one is not None), None)
        if variation is not None:
            back = (leg.theta_deg + variation + 180.0) * DEG
            laid = direct(fix.latitude_deg * DEG, fix.longitude_deg * DEG, back, leg.rho_nm * NM)
            return Facility(leg.navaid.ident, "waypoint", float(laid[0]) / DEG, float(laid[1]) / DEG)
    return None


def declination(leg: Leg, at: Lookup, by: CourseBy) -> float | None:
    """The declination that the magnetic course of a leg is charted by. [degrees, east positive]

    It is that of the recommended navaid; else of the fix, if that is a station and the approach is not flown by satellite; else
    of the airport.
    """
    if leg.navaid is not None and leg.navaid.section in ("PI", "HI"):
        antenna = at.localizer(leg.navaid.ident)
        if antenna is not None and antenna.variation_deg_east is not None:
            return antenna.variation_deg_east
    named = [leg.navaid] if leg.navaid is not None else [leg.fix] if by.kind != "gps" else []
    for one in named:
        station = at.find(one) if one is not None and one.section in STATIONS else None
        if station is not None and station.variation_deg_east is not None:
            return station.variation_deg_east
    return at.airport.variation_deg_east if at.airport is not None else by.variation_deg_east


def true_degrees(course: Course, variation_deg_east: float | None) -> float | None:
    """A course in degrees true; None for a magnetic course if the declination is not known."""
    if course.true:
        return course.degrees
    return None if variation_deg_east is None else (course.degrees + variation_deg_east) % 360.0
