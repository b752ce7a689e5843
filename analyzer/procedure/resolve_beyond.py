"""The missed approach, the published holds, the arrivals and the DME station, resolved to SI and true courses."""

from __future__ import annotations

import math
from collections.abc import Sequence

from analyzer.physics.units import DEG, FT, KT, NM
from analyzer.procedure.approach import ChartedArrival, ChartedFix, Dme, MissedApproach, PublishedHold
from analyzer.procedure.approach_schema import HoldTable
from analyzer.procedure.schema import Procedure

__all__ = ["SIGN", "resolve_arrivals", "resolve_dme", "resolve_holds", "resolve_missed", "times", "true_course"]

SIGN = {"right": 1, "left": -1}


def times(value: float | None, factor: float) -> float | None:
    """A value in SI, None where none is given."""
    return None if value is None else value * factor


def true_course(magnetic_deg: float, variation_rad: float) -> float:
    """The true course of a magnetic one, from 0 to 2π. [rad]"""
    return (magnetic_deg * DEG + variation_rad) % math.tau


def resolve_missed(procedure: Procedure, variation_rad: float) -> MissedApproach | None:
    """The missed approach, None where none is charted."""
    table = procedure.missed_approach
    if table is None:
        return None
    return MissedApproach(
        time_s=table.time_s,
        time_at_mps=times(table.time_at_kt, KT),
        climb_m=times(table.climb_ft, FT),
        turn=SIGN[table.turn] if table.turn is not None else None,
        course_true_rad=None if table.course_deg is None else true_course(table.course_deg, variation_rad),
        to=table.to,
        altitude_m=times(table.altitude_ft, FT),
    )


def resolve_holds(procedure: Procedure, fixes: Sequence[ChartedFix], variation_rad: float) -> tuple[PublishedHold, ...]:
    """The published holds; a course is magnetic by the hold's own station where its variation is given."""
    return tuple(_hold(procedure, fixes, hold, variation_rad) for hold in procedure.holds)


def _hold(procedure: Procedure, fixes: Sequence[ChartedFix], hold: HoldTable, variation_rad: float) -> PublishedHold:
    own = hold.variation_deg_east
    latitude, longitude = _hold_place(procedure, fixes, hold)
    return PublishedHold(
        name=hold.name,
        role=hold.role,
        latitude_rad=latitude,
        longitude_rad=longitude,
        inbound_true_rad=true_course(hold.inbound_course_deg, variation_rad if own is None else own * DEG),
        turn=SIGN[hold.turn],
        leg_time_s=hold.leg_time_s,
        leg_length_m=times(hold.leg_length_nm, NM),
        leg_by=hold.leg_by,
        minimum_m=times(hold.minimum_ft, FT),
        maximum_m=times(hold.maximum_ft, FT),
        maximum_speed_mps=times(hold.maximum_speed_kias, KT),
        category=hold.category,
    )


def _hold_place(procedure: Procedure, fixes: Sequence[ChartedFix], hold: HoldTable) -> tuple[float, float]:
    """Where a hold is: as given, else at the fix of its name."""
    if hold.latitude_deg is not None and hold.longitude_deg is not None:
        return hold.latitude_deg * DEG, hold.longitude_deg * DEG
    if hold.name == procedure.fix.name:
        return procedure.fix.latitude_deg * DEG, procedure.fix.longitude_deg * DEG
    at = next(fix for fix in fixes if fix.name == hold.name)
    return at.latitude_rad, at.longitude_rad


def resolve_arrivals(procedure: Procedure, variation_rad: float) -> tuple[ChartedArrival, ...]:
    """The routes to the reversal fix, in the order of the file."""
    return tuple(
        ChartedArrival(route.name, true_course(route.course_deg, variation_rad), times(route.minimum_ft, FT), route.reversal)
        for route in procedure.arrivals
    )


def resolve_dme(procedure: Procedure) -> Dme | None:
    """The station that distances are read from: that of ``[dme]``, else the reversal fix where it is a VOR and is read."""
    table, fix, reversal = procedure.dme, procedure.fix, procedure.reversal
    if table is not None:
        return Dme(table.name, table.latitude_deg * DEG, table.longitude_deg * DEG, table.elevation_ft * FT)
    read = "dme" in (reversal.within_by, reversal.leg_by, *(hold.leg_by for hold in procedure.holds))
    if read or any(row.dme_nm is not None for row in procedure.fixes):
        return Dme(fix.name, fix.latitude_deg * DEG, fix.longitude_deg * DEG, fix.elevation_ft * FT)
    return None
