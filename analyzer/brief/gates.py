"""Gates, the points passed once established inbound: the reversal fix, the fixes charted inbound, and the threshold.

Places are in metres north and east of the reversal fix.
"""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Literal, TypeAlias

from analyzer.frozen import dataclass
from analyzer.physics import geodesy
from analyzer.physics.units import NM
from analyzer.procedure.charted import Charted
from analyzer.procedure.values import FixRole

__all__ = ["Gate", "final_begins_at", "final_leg", "gates", "missed_point", "threshold_place"]

_ASIDE_M = 1.0 * NM  # a course that passes the runway by more does not lead to it
_SAME_PLACE_M = 0.1 * NM  # a fix this near another one is at the same place

GateRole: TypeAlias = FixRole | Literal["reversal-fix", "threshold"]


@dataclass(frozen=True)
class Gate:
    """A point on the way in.

    Attributes
    ----------
    name, role
        As charted.
    north_m, east_m : float
        Its place.
    along_m : float
        Its place along the inbound course, positive beyond the reversal fix.
    least_m : float, optional
        Altitude to stay at or above until the gate is passed: the highest minimum of this fix and those beyond it.
    most_m : float, optional
        Altitude to pass the gate at or below.
    """

    name: str
    role: GateRole
    north_m: float
    east_m: float
    along_m: float
    least_m: float | None = None
    most_m: float | None = None

    def apart_m(self, other: Gate) -> float:
        """Distance from another gate. [m]"""
        return math.hypot(self.north_m - other.north_m, self.east_m - other.east_m)

    def course_from(self, other: Gate) -> float:
        """True course from another gate to this one. [rad]"""
        return math.atan2(self.east_m - other.east_m, self.north_m - other.north_m)


def _gate(charted: Charted, name: str, role: GateRole, latitude_rad: float, longitude_rad: float) -> Gate:
    distance, bearing = geodesy.inverse(charted.fix_latitude_rad, charted.fix_longitude_rad, latitude_rad, longitude_rad)
    metres, angle = float(distance), float(bearing)
    along = metres * math.cos(angle - charted.inbound_true_rad)
    return Gate(name, role, metres * math.cos(angle), metres * math.sin(angle), along)


def threshold_place(charted: Charted) -> Gate | None:
    """The threshold of the landing runway; None if none is charted."""
    runway = charted.runway
    if runway is None:
        return None
    return _gate(charted, "threshold", "threshold", runway.latitude_rad, runway.longitude_rad)


def final_leg(charted: Charted) -> bool:
    """Whether the final course leads to the runway: ahead of the fix, or past it if the facility is on the field.

    It does, too, if a missed approach point is charted within a mile of the threshold.
    """
    threshold = threshold_place(charted)
    if threshold is None:
        return False
    if any(fix.role == "missed-approach-point" and fix.apart_m(threshold) <= _ASIDE_M for fix in _fixes(charted)):
        return True
    metres = math.hypot(threshold.north_m, threshold.east_m)
    aside = math.sqrt(max(0.0, metres**2 - threshold.along_m**2))
    return aside <= _ASIDE_M if charted.on_field else threshold.along_m > 0.5 * metres


def _fixes(charted: Charted) -> list[Gate]:
    """The charted fixes; the minimum of each is the highest of it and those beyond."""
    fixes: list[Gate] = []
    least: float | None = None
    for fix in reversed(charted.fixes):
        own = fix.minimum_m if fix.role != "missed-approach-point" else None
        if own is not None:
            least = own if least is None else max(least, own)
        gate = _gate(charted, fix.name, fix.role, fix.latitude_rad, fix.longitude_rad)
        fixes.append(replace(gate, along_m=fix.along_m, least_m=least, most_m=fix.maximum_m))
    return fixes[::-1]


def gates(charted: Charted) -> tuple[Gate, ...]:
    """The gates in the order passed, up to the threshold if the final course leads there, else to the last fix."""
    fixes = _fixes(charted)
    here = Gate(charted.procedure.fix.name, "reversal-fix", 0.0, 0.0, 0.0)
    here = replace(here, least_m=next((fix.least_m for fix in fixes if fix.along_m > 0.0), None))
    passed_by = not charted.on_field or final_begins_at(charted) == 0.0
    if passed_by and all(abs(fix.along_m) > _SAME_PLACE_M for fix in fixes):
        fixes.append(here)
    threshold = threshold_place(charted)
    if threshold is None or not final_leg(charted):
        return tuple(sorted(fixes, key=lambda gate: gate.along_m))
    before = [gate for gate in fixes if gate.along_m < threshold.along_m - _SAME_PLACE_M]
    return (*sorted(before, key=lambda gate: gate.along_m), threshold)


def final_begins_at(charted: Charted) -> float | None:
    """Where along the inbound course the final leg begins; None if it begins when established. [m]"""
    faf = charted.fix_of("final-approach-fix")
    if faf is not None:
        return faf.along_m
    leads_on = final_leg(charted) or any(fix.along_m < 0.0 for fix in charted.fixes)
    return None if charted.on_field and leads_on else 0.0


def missed_point(charted: Charted) -> Gate | None:
    """The missed approach point, if it is charted as a fix."""
    return next((fix for fix in _fixes(charted) if fix.role == "missed-approach-point"), None)
