"""The procedure as charted, resolved for a date: in SI and true radians, with every default filled in.

All analysis works from a `Charted`; the file's own words and magnetic courses stay in its `procedure`.
"""

import datetime as dt
import math
from collections.abc import Mapping
from dataclasses import dataclass

from analyzer.errors import ProcedureError
from analyzer.physics.magnetics import Variation, declination
from analyzer.physics.units import DEG, FT, KT, NM
from analyzer.procedure.positions import position_warnings
from analyzer.procedure.schema import Procedure, ReversalKind

__all__ = ["Charted", "Guidance", "Runway", "resolve"]

_SIGN = {"right": 1, "left": -1}
# Full deflection either side [deg]: VOR 10; localizer 2.5, normally (AIM 1-1-9 b.2); for NDB twice the 5° of "established".
_FULL_SCALE_DEG = {"vor": 10.0, "localizer": 2.5, "ndb": 10.0}
_GPS_FULL_SCALE_NM, _GPS_FINAL_FULL_SCALE_NM = 1.0, 0.3
_GUIDANCE_OF_FIX = {"vor": "vor", "ndb": "ndb", "marker": "gps", "waypoint": "gps"}
_GIVEN_MODEL = "given in the procedure file"
_DISAGREEMENT_RAD = 2.0 * DEG


@dataclass(frozen=True)
class Guidance:
    """What the course is flown by.

    Angular kinds (``vor``, ``localizer``, ``ndb``) have `full_scale_rad`, measured at the position; ``gps`` has `full_scale_m`,
    and on the final leg `full_scale_final_m`. All are full deflection to one side.
    """

    kind: str
    latitude_rad: float
    longitude_rad: float
    full_scale_rad: float | None = None
    full_scale_m: float | None = None
    full_scale_final_m: float | None = None


@dataclass(frozen=True)
class Runway:
    """The landing runway; `heading_rad` is true."""

    name: str
    latitude_rad: float
    longitude_rad: float
    elevation_m: float
    heading_rad: float


@dataclass(frozen=True)
class Charted:
    """A charted procedure on a date. Angles in radians, true; the rest in SI; None where nothing is charted.

    `side` is the side of the outbound course, looking outbound, that the reversal lies on, and `turn` the direction of the
    long turn back (of an arc: round its centre): +1 right, -1 left. `offset_true_rad` is for procedure turns only. The limit is
    measured from `limit_latitude_rad`, `limit_longitude_rad`, mostly the fix. `floors_m` holds the legs that have a floor.
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
    limit_m: float | None
    limit_latitude_rad: float
    limit_longitude_rad: float
    maximum_speed_mps: float | None
    floors_m: Mapping[str, float]
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


def resolve(procedure: Procedure, date: dt.date) -> Charted:
    """The procedure for a flight on `date`.

    The station's declination is what the file gives; else the magnetic model's at the fix, on the file's `variation_date` or
    the flight's `date`.

    Raises
    ------
    ProcedureError
        If the file gives no declination and no model can: the date is beyond them, or the fix too near a magnetic pole.

    References
    ----------
    .. [1] FAA Aeronautical Information Manual 1-1-17: charted courses of ground stations use the declination of record.

    """
    reversal, fix = procedure.reversal, procedure.fix
    latitude, longitude = fix.latitude_deg * DEG, fix.longitude_deg * DEG
    variation, odd = _variation(procedure, date)

    def true(magnetic_deg: float) -> float:
        return (magnetic_deg * DEG + variation.east_rad) % math.tau

    inbound_deg = reversal.inbound_course_deg
    outbound_deg = inbound_deg + 180.0 if reversal.outbound_course_deg is None else reversal.outbound_course_deg
    side, turn = _side_and_turn(procedure)
    offset_deg = reversal.offset_course_deg
    if reversal.kind == "procedure-turn" and offset_deg is None and side is not None:
        offset_deg = outbound_deg + 45.0 * side
    limit, arc, glide_path = reversal.within_from, procedure.arc if reversal.kind == "arc" else None, procedure.glide_path
    return Charted(
        procedure=procedure,
        variation=variation,
        fix_latitude_rad=latitude,
        fix_longitude_rad=longitude,
        fix_elevation_m=fix.elevation_ft * FT,
        kind=reversal.kind,
        outbound_true_rad=true(outbound_deg),
        inbound_true_rad=true(inbound_deg),
        side=side,
        turn=turn,
        offset_true_rad=true(offset_deg) if reversal.kind == "procedure-turn" and offset_deg is not None else None,
        limit_m=_times(reversal.within_nm, NM),
        limit_latitude_rad=limit.latitude_deg * DEG if limit else latitude,
        limit_longitude_rad=limit.longitude_deg * DEG if limit else longitude,
        maximum_speed_mps=_times(reversal.maximum_speed_kias, KT),
        floors_m={leg: floor * FT for leg, floor in procedure.altitudes.by_leg().items()},
        guidance=_guidance(procedure),
        arc_latitude_rad=arc.latitude_deg * DEG if arc else None,
        arc_longitude_rad=arc.longitude_deg * DEG if arc else None,
        arc_radius_m=arc.radius_nm * NM if arc else None,
        leg_time_s=reversal.leg_time_s if reversal.kind == "hold" else None,
        leg_length_m=_times(reversal.leg_length_nm, NM) if reversal.kind == "hold" else None,
        runway=_runway(procedure),
        glide_path_rad=glide_path.angle_deg * DEG if glide_path else None,
        threshold_crossing_height_m=glide_path.threshold_crossing_height_ft * FT if glide_path else None,
        warnings=(*procedure.warnings, *odd, *position_warnings(procedure, true(inbound_deg))),
    )


def _times(value: float | None, factor: float) -> float | None:
    return None if value is None else value * factor


def _side_and_turn(procedure: Procedure) -> tuple[int | None, int | None]:
    """Side of the outbound course and direction of the turn back; the one is always opposite to the other."""
    reversal = procedure.reversal
    if reversal.kind == "none":
        return None, None
    if reversal.kind == "arc":
        return None, _SIGN[reversal.turn] if reversal.turn else None
    if reversal.kind == "procedure-turn" and reversal.side:
        return _SIGN[reversal.side], -_SIGN[reversal.side]
    return (-_SIGN[reversal.turn], _SIGN[reversal.turn]) if reversal.turn else (None, None)


def _variation(procedure: Procedure, date: dt.date) -> tuple[Variation, tuple[str, ...]]:
    """The declination to use, and what is odd about it."""
    fix = procedure.fix
    place = (fix.latitude_deg * DEG, fix.longitude_deg * DEG, fix.elevation_ft * FT)
    on = fix.variation_date or date
    if fix.variation_deg_east is None:
        variation = declination(*place, on)
        return variation, (variation.caution,) if variation.caution else ()
    given = Variation(fix.variation_deg_east * DEG, _GIVEN_MODEL, 0.0)
    try:
        model = declination(*place, on)
    except ProcedureError:  # no model to compare with; what is given needs none
        return given, ()
    if abs(math.remainder(model.east_rad - given.east_rad, math.tau)) <= _DISAGREEMENT_RAD:
        return given, ()
    warning = (
        f"[fix] variation_deg_east = {fix.variation_deg_east:g} is used, since a station's radials are aligned to its own "
        f"declination (AIM 1-1-17), but {model.model} gives {model.east_rad / DEG:.1f} there on {on.isoformat()}."
    )
    return given, (warning,)


def _guidance(procedure: Procedure) -> Guidance:
    table, fix = procedure.guidance, procedure.fix
    kind = table.kind if table else _GUIDANCE_OF_FIX[fix.kind]
    latitude_deg, longitude_deg = fix.latitude_deg, fix.longitude_deg
    if table and table.latitude_deg is not None and table.longitude_deg is not None:
        latitude_deg, longitude_deg = table.latitude_deg, table.longitude_deg
    position = (latitude_deg * DEG, longitude_deg * DEG)
    if kind == "gps":
        given = table.full_scale_nm if table else None  # a scale that is given holds for all legs
        return Guidance(
            kind,
            *position,
            full_scale_m=(given or _GPS_FULL_SCALE_NM) * NM,
            full_scale_final_m=(given or _GPS_FINAL_FULL_SCALE_NM) * NM,
        )
    full_scale_deg = table.full_scale_deg if table and table.full_scale_deg is not None else _FULL_SCALE_DEG[kind]
    return Guidance(kind, *position, full_scale_rad=full_scale_deg * DEG)


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
    )
