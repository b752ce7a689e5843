"""The procedure as charted, resolved for a date: in SI and true radians, with every default filled in.

All analysis works from a `Charted`; the file's own words and magnetic courses stay in its `procedure`.
"""

import datetime as dt
import math
from collections.abc import Mapping

from analyzer.frozen import dataclass
from analyzer.physics.geodesy import inverse
from analyzer.physics.magnetics import Variation
from analyzer.physics.units import DEG, FT, KT, NM
from analyzer.procedure.approach import (
    ChartedArrival,
    ChartedFix,
    Dme,
    Guidance,
    Minimum,
    MissedApproach,
    PublishedHold,
    Runway,
)
from analyzer.procedure.clearance import AS_CHARTED, Clearance
from analyzer.procedure.final_course_plausibility import final_course_warnings
from analyzer.procedure.positions import position_warnings
from analyzer.procedure.resolve_beyond import (
    SIGN,
    resolve_arrivals,
    resolve_dme,
    resolve_holds,
    resolve_missed,
    times,
    true_course,
)
from analyzer.procedure.resolve_fixes import along_inbound, resolve_fixes
from analyzer.procedure.resolve_guidance import resolve_guidance
from analyzer.procedure.resolve_minimums import resolve_minimum, resolve_minimums
from analyzer.procedure.schema import Procedure
from analyzer.procedure.values import AltitudeUnit, FixRole, LegBy, Line, ReversalKind
from analyzer.procedure.variations import course_variation, fix_variation
from analyzer.vocabulary import FLOWN_LEGS, Leg

__all__ = ["Charted", "Guidance", "Runway", "resolve"]

_ON_FIELD_M = 1.0 * NM  # a threshold so near the reversal fix has the facility on the field
_RECIPROCAL_DEG = 1.0
_WITH_LEGS = ("procedure-turn", "base-turn", "hold")  # kinds whose outbound leg has limits


@dataclass(frozen=True)
class Charted:
    """A charted procedure on a date. Angles in radians, true; the rest in SI; None where nothing is charted.

    `side` is the side of the outbound course, looking outbound, that the reversal lies on, and `turn` the direction of the long
    turn back (of an arc: round its centre): +1 right, -1 left. `offset_true_rad` is for procedure turns only: 45° off the
    outbound course where none is given; `offset_charted` says that the file gives it, or that the track is to be flown as
    drawn. The limit is measured from `limit_latitude_rad`, `limit_longitude_rad`, mostly the fix; `within_by_dme` says that it
    is that station's slant distance. `floors_m` and `ceilings_m` hold the legs before the final one that have a floor, and
    those that have a ceiling; the floor of the final leg is `minimum`. The leg limits are of the outbound leg. `on_field` says
    that the threshold lies before the reversal fix inbound, or within 1 NM of it. `altitude_unit` is for reports. `held` is the
    published hold where nothing else is charted. `cleared` is what air traffic control cleared, which
    `analyzer.procedure.cleared` has applied; altitudes that it assigned are among the floors and the minimum.

    `variation` is that of the station that gives the courses: the guidance's own where the file gives it, else the fix's.
    """

    procedure: Procedure
    variation: Variation
    fix_latitude_rad: float
    fix_longitude_rad: float
    fix_elevation_m: float
    kind: ReversalKind
    outbound_true_rad: float
    inbound_true_rad: float
    side: int | None
    turn: int | None
    offset_true_rad: float | None
    offset_charted: bool
    limit_m: float | None
    limit_latitude_rad: float
    limit_longitude_rad: float
    maximum_speed_mps: float | None
    floors_m: Mapping[Leg, float]
    guidance: Guidance
    arc_latitude_rad: float | None
    arc_longitude_rad: float | None
    arc_radius_m: float | None
    leg_time_s: float | None
    leg_length_m: float | None
    runway: Runway | None
    glide_path_rad: float | None
    threshold_crossing_height_m: float | None
    warnings: tuple[str, ...]
    fixes: tuple[ChartedFix, ...]
    minimum: Minimum | None
    minimums: tuple[Minimum, ...]
    missed: MissedApproach | None
    holds: tuple[PublishedHold, ...]
    dme: Dme | None
    arrivals: tuple[ChartedArrival, ...]
    ceilings_m: Mapping[Leg, float]
    target_speeds_mps: Mapping[Leg, float]
    leg_by: LegBy | None
    maximum_time_s: float | None
    entry_within_rad: float | None
    within_by_dme: bool
    on_field: bool
    altitude_unit: AltitudeUnit
    depicted_track: bool
    held: PublishedHold | None = None
    cleared: Clearance = AS_CHARTED

    @property
    def levels_m(self) -> dict[Leg, float]:
        """The lowest altitude of each leg that has one, by leg in the order flown: the floors, and the minimum as ``final``."""
        return {**self.floors_m, **({"final": self.minimum.altitude_m} if self.minimum is not None else {})}

    def fix_of(self, role: FixRole) -> ChartedFix | None:
        """The first fix along the final course with a role; None where it has none."""
        for fix in self.fixes:
            if fix.role == role:
                return fix
        return None

    def assigned(self, leg: Leg) -> bool:
        """Whether the lowest altitude of a leg is one that was assigned."""
        level_m = self.levels_m.get(leg)
        return level_m is not None and dict(self.cleared.assigned_m).get(leg) == level_m


def resolve(procedure: Procedure, date: dt.date, line: Line = "straight-in") -> Charted:
    """The procedure for a flight on `date`, with the minimum for a landing straight in or by circling.

    The station's declination is what the file gives; else the magnetic model's at the fix, on the file's `variation_date` or
    the flight's `date`. The inbound course and its reciprocal are magnetic by the station of ``[guidance]`` where that has a
    `variation_deg_east` of its own, and so are the courses of the fixes and of the missed approach; arrivals, holds and an
    outbound course that is not the reciprocal are magnetic by the reversal fix.

    Raises
    ------
    ProcedureError
        If the file gives no declination and no model can: the date is beyond them, or the fix too near a magnetic pole; if the
        fixes are not in the order passed inbound; if no line of minimums holds for the category.

    References
    ----------
    .. [1] FAA Aeronautical Information Manual 1-1-17: charted courses of ground stations use the declination of record.

    """
    reversal, fix = procedure.reversal, procedure.fix
    latitude, longitude = fix.latitude_deg * DEG, fix.longitude_deg * DEG
    at_fix, odd = fix_variation(procedure, date)
    variation = course_variation(procedure, at_fix)
    inbound = true_course(reversal.inbound_course_deg, variation.east_rad)
    outbound_deg = reversal.inbound_course_deg + 180.0 if reversal.outbound_course_deg is None else reversal.outbound_course_deg
    divergence_deg = math.remainder(outbound_deg - reversal.inbound_course_deg - 180.0, 360.0)
    outward = variation if abs(divergence_deg) <= _RECIPROCAL_DEG else at_fix
    side, turn = _side_and_turn(procedure)
    offset_deg = reversal.offset_course_deg
    if reversal.kind == "procedure-turn" and offset_deg is None and side is not None:
        offset_deg = outbound_deg + 45.0 * side
    arc, glide_path = procedure.arc if reversal.kind == "arc" else None, procedure.glide_path
    runway, dme = _runway(procedure), resolve_dme(procedure)
    on_field = runway is not None and _on_field(procedure, runway, inbound)
    fixes = resolve_fixes(procedure, inbound, variation.east_rad, dme, before=on_field)
    minimum, picked = resolve_minimum(procedure, line)
    floors: dict[Leg, float] = {leg: floor * FT for leg, floor in procedure.altitudes.by_leg().items() if leg != "final"}
    if minimum is None and on_field and "inbound" in floors and all(row.role != "final-approach-fix" for row in fixes):
        # inbound there is nothing but the final leg, so its minimum is the one to descend to
        minimum = Minimum("mda", floors.pop("inbound"), "straight-in", None, None)
    limit_latitude, limit_longitude = _limit_place(procedure, dme)
    threshold = along_inbound(procedure, inbound, runway.latitude_rad, runway.longitude_rad) if runway is not None else None
    misplaced = position_warnings(procedure, inbound, fixes), final_course_warnings(procedure, fixes, inbound, threshold)
    return Charted(
        procedure=procedure,
        variation=variation,
        fix_latitude_rad=latitude,
        fix_longitude_rad=longitude,
        fix_elevation_m=fix.elevation_ft * FT,
        kind=reversal.kind,
        outbound_true_rad=true_course(outbound_deg, outward.east_rad),
        inbound_true_rad=inbound,
        side=side,
        turn=turn,
        offset_true_rad=None
        if reversal.kind != "procedure-turn" or offset_deg is None
        else true_course(offset_deg, outward.east_rad),
        offset_charted=reversal.offset_course_deg is not None or reversal.depicted_track,
        limit_m=times(reversal.within_nm, NM),
        limit_latitude_rad=limit_latitude,
        limit_longitude_rad=limit_longitude,
        maximum_speed_mps=times(reversal.maximum_speed_kias, KT),
        floors_m=floors,
        guidance=resolve_guidance(procedure, runway),
        arc_latitude_rad=arc.latitude_deg * DEG if arc else None,
        arc_longitude_rad=arc.longitude_deg * DEG if arc else None,
        arc_radius_m=arc.radius_nm * NM if arc else None,
        leg_time_s=reversal.leg_time_s if reversal.kind in _WITH_LEGS else None,
        leg_length_m=times(reversal.leg_length_nm, NM) if reversal.kind in _WITH_LEGS else None,
        runway=runway,
        glide_path_rad=glide_path.angle_deg * DEG if glide_path else None,
        threshold_crossing_height_m=glide_path.threshold_crossing_height_ft * FT if glide_path else None,
        warnings=(*procedure.warnings, *odd, *picked, *misplaced[0], *misplaced[1]),
        fixes=fixes,
        minimum=minimum,
        minimums=resolve_minimums(procedure),
        missed=resolve_missed(procedure, variation.east_rad),
        holds=resolve_holds(procedure, fixes, at_fix.east_rad),
        dme=dme,
        arrivals=resolve_arrivals(procedure, at_fix.east_rad),
        ceilings_m={leg: ceiling * FT for leg, ceiling in procedure.altitudes.ceilings_by_leg().items()},
        target_speeds_mps=_target_speeds(procedure),
        leg_by=reversal.leg_by if reversal.kind in _WITH_LEGS else None,
        maximum_time_s=reversal.maximum_time_s if reversal.kind in _WITH_LEGS else None,
        entry_within_rad=times(reversal.entry_within_deg, DEG),
        within_by_dme=reversal.within_by == "dme",
        on_field=on_field,
        altitude_unit=procedure.altitude_unit,
        depicted_track=reversal.depicted_track,
    )


def _side_and_turn(procedure: Procedure) -> tuple[int | None, int | None]:
    """Side of the outbound course and direction of the turn back, which is always opposite."""
    reversal = procedure.reversal
    if reversal.kind == "none":
        return None, None
    if reversal.kind == "arc":
        return None, SIGN[reversal.turn] if reversal.turn else None
    if reversal.kind == "procedure-turn" and reversal.side:
        return SIGN[reversal.side], -SIGN[reversal.side]
    return (-SIGN[reversal.turn], SIGN[reversal.turn]) if reversal.turn else (None, None)


def _limit_place(procedure: Procedure, dme: Dme | None) -> tuple[float, float]:
    """Where the distance limit is measured from: the point or station given for it, else the fix. [rad]"""
    point = procedure.reversal.within_from
    if point is not None:
        return point.latitude_deg * DEG, point.longitude_deg * DEG
    if procedure.reversal.within_by == "dme" and dme is not None:
        return dme.latitude_rad, dme.longitude_rad
    return procedure.fix.latitude_deg * DEG, procedure.fix.longitude_deg * DEG


def _on_field(procedure: Procedure, runway: Runway, inbound_rad: float) -> bool:
    """Whether the facility is on the field: the threshold comes before it inbound, or lies within 1 NM of it."""
    fix = procedure.fix
    distance, _ = inverse(fix.latitude_deg * DEG, fix.longitude_deg * DEG, runway.latitude_rad, runway.longitude_rad)
    return (
        float(distance) <= _ON_FIELD_M or along_inbound(procedure, inbound_rad, runway.latitude_rad, runway.longitude_rad) < 0.0
    )


def _target_speeds(procedure: Procedure) -> dict[Leg, float]:
    """Target speeds by leg, indicated. [m/s]"""
    given = procedure.speeds.model_dump(exclude_none=True) if procedure.speeds is not None else {}
    return {leg: given[leg] * KT for leg in FLOWN_LEGS if leg in given}


def _runway(procedure: Procedure) -> Runway | None:
    table = procedure.runway
    if table is None:
        return None
    return Runway(
        name=table.name,
        latitude_rad=table.threshold_latitude_deg * DEG,
        longitude_rad=table.threshold_longitude_deg * DEG,
        elevation_m=table.threshold_elevation_ft * FT,
        heading_rad=table.true_heading_deg * DEG,
        length_m=times(table.length_ft, FT),
    )
