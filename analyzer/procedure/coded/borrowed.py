"""The declination of a facility near by, for courses whose own declination is not in the file.

A localizer and a procedure by satellite are charted by the airport's declination, which is kept for years, while the variation
in the record of a waypoint is the magnetic field's of the day. Without the records of the airport and the localizer, that
of a locator beacon or of the recommended navaid is nearer to it. By the published headings of their runways, true courses were
off by up to 0.5° with the declination of a beacon (3 airports), by up to 2.0° with that of a recommended VOR (3 airports), and
by up to 5.8°, half of them by 2° or more, with the variation of a fix (37 approaches).
"""

from __future__ import annotations

from collections.abc import Iterator

from analyzer.errors import ProcedureError
from analyzer.frozen import dataclass
from analyzer.physics.geodesy import inverse
from analyzer.physics.units import DEG, NM
from analyzer.procedure.coded.approach import CodedApproach
from analyzer.procedure.coded.facilities import Facility
from analyzer.procedure.coded.leg import Reference
from analyzer.procedure.coded.lookup import Lookup

__all__ = ["FIX_OFF_DEG", "STATIONS", "VOR_OFF_DEG", "Borrowed", "borrowed", "recommended"]

STATIONS = ("D", "DB", "PN")  # sections of records of navaids
# How far true courses may be off, as above.
_BEACON_OFF_DEG = 0.5
VOR_OFF_DEG = 2.0
FIX_OFF_DEG = 6.0
_AT_FIX_NM = 1.0  # a locator stands by the outer marker, the final approach fix; those compared are within 0.2 NM of it


@dataclass(frozen=True)
class Borrowed:
    """A declination, the facility whose own it is, and how far true courses by it may be off. [degrees]"""

    variation_deg_east: float
    source: str
    off_deg: float


def borrowed(approach: CodedApproach, at: Lookup) -> Borrowed | None:
    """The declination of the nearest beacon at the final approach fix, else of the recommended navaid; None without either."""
    finals = [at.find(leg.fix) for leg in approach.final.legs if leg.role == "F" and leg.fix is not None]
    near = [
        (distance_nm, beacon.ident, beacon.variation_deg_east)
        for final in finals
        if final is not None
        for beacon in (final, *_beacons(at))
        if beacon.kind == "ndb" and beacon.variation_deg_east is not None
        if (distance_nm := _distance_nm(final, beacon)) <= _AT_FIX_NM
    ]
    if near:
        _, ident, own = min(near)
        return Borrowed(own, f"the beacon {ident}", _BEACON_OFF_DEG)
    for one in recommended(approach):
        station = at.find(one) if one.section in STATIONS else None
        if station is not None and station.variation_deg_east is not None:
            return Borrowed(station.variation_deg_east, f"the {one}", VOR_OFF_DEG)
    return None


def recommended(approach: CodedApproach) -> list[Reference]:
    """The recommended navaids of an approach: those of its final legs, then those of its transitions."""
    inbound = (leg for route in approach.transitions for leg in route.legs if leg.path in ("PI", "HF", "CF"))
    return [leg.navaid for leg in (*approach.final.legs, *inbound) if leg.navaid is not None]


def _beacons(at: Lookup) -> Iterator[Facility]:
    """The beacons of the airport. One with a damaged record is skipped, as the approach does not name it."""
    for section, ident in at.own:
        if section == "N":
            try:
                beacon = at.find(Reference(ident, "", "PN"))
            except ProcedureError:
                continue
            if beacon is not None:
                yield beacon


def _distance_nm(one: Facility, other: Facility) -> float:
    distance, _ = inverse(one.latitude_deg * DEG, one.longitude_deg * DEG, other.latitude_deg * DEG, other.longitude_deg * DEG)
    return float(distance) / NM
