"""What the course is flown by, resolved: where its angles are measured, and how wide they are."""

import math

from analyzer.physics.geodesy import direct, inverse
from analyzer.physics.units import DEG, FT, NM
from analyzer.procedure.approach import Guidance, Runway
from analyzer.procedure.schema import GuidanceTable, Procedure

__all__ = ["LOCALIZER_HALF_WIDTH_M", "resolve_guidance"]

# Full deflection either side: VOR 10°; for NDB twice the 5° of "established".
_FULL_SCALE_DEG = {"vor": 10.0, "ndb": 10.0}
_GPS_FULL_SCALE_NM, _GPS_FINAL_FULL_SCALE_NM = 1.0, 0.3
_GUIDANCE_OF_FIX = {"vor": "vor", "ndb": "ndb", "marker": "gps", "waypoint": "gps"}

LOCALIZER_HALF_WIDTH_M = 350.0 * FT  # at the threshold: 700 ft from full scale left to full scale right (AIM 1-1-9 b.2)
_LOCALIZER_RAD = 2.5 * DEG  # to one side, normally (AIM 1-1-9 b.2)
_NARROWEST_RAD, _WIDEST_RAD = 1.5 * DEG, 3.0 * DEG  # 3° to 6° from full scale to full scale
_BEYOND_FAR_END_M = 1000.0 * FT  # where the antenna stands; common practice, no source


def resolve_guidance(procedure: Procedure, runway: Runway | None) -> Guidance:
    """The guidance of a procedure; without a table, that of the reversal fix."""
    table, fix = procedure.guidance, procedure.fix
    kind = table.kind if table is not None else _GUIDANCE_OF_FIX[fix.kind]
    given_position = _given_position(table)
    position = given_position if given_position is not None else (fix.latitude_deg * DEG, fix.longitude_deg * DEG)
    if kind == "gps":
        scale_nm = table.full_scale_nm if table is not None else None  # a scale that is given holds for all legs
        return Guidance(
            kind,
            *position,
            full_scale_m=(scale_nm or _GPS_FULL_SCALE_NM) * NM,
            full_scale_final_m=(scale_nm or _GPS_FINAL_FULL_SCALE_NM) * NM,
        )
    full_scale = table.full_scale_deg * DEG if table is not None and table.full_scale_deg is not None else None
    if kind != "localizer":
        return Guidance(kind, *position, full_scale_rad=full_scale if full_scale is not None else _FULL_SCALE_DEG[kind] * DEG)
    if runway is None:
        return Guidance(kind, *position, full_scale_rad=full_scale if full_scale is not None else _LOCALIZER_RAD)
    antenna = given_position if given_position is not None else _antenna(runway, full_scale)
    return Guidance(kind, *antenna, full_scale_rad=full_scale if full_scale is not None else _localizer_width(runway, antenna))


def _given_position(table: GuidanceTable | None) -> tuple[float, float] | None:
    if table is None or table.latitude_deg is None or table.longitude_deg is None:
        return None
    return table.latitude_deg * DEG, table.longitude_deg * DEG


def _antenna(runway: Runway, full_scale_rad: float | None) -> tuple[float, float]:
    """Where a localizer's antenna stands if the file gives no position: beyond the far end of the runway.

    Where the runway's length is not known, it is where 350 ft at the threshold are full scale: 8,016 ft beyond it for the
    usual 2.5° (350 ft / tan 2.5°).
    """
    if runway.length_m is not None:
        beyond = runway.length_m + _BEYOND_FAR_END_M
    else:
        beyond = LOCALIZER_HALF_WIDTH_M / math.tan(full_scale_rad if full_scale_rad is not None else _LOCALIZER_RAD)
    latitude, longitude = direct(runway.latitude_rad, runway.longitude_rad, runway.heading_rad, beyond)
    return float(latitude), float(longitude)


def _localizer_width(runway: Runway, antenna: tuple[float, float]) -> float:
    """Full scale to one side: the angle of 350 ft at the threshold, seen from the antenna, from 1.5° to 3°. [rad]

    References
    ----------
    .. [1] FAA Aeronautical Information Manual 1-1-9 b.2: the course is tailored to about 700 ft at the threshold.

    """
    distance, _ = inverse(*antenna, runway.latitude_rad, runway.longitude_rad)
    return min(max(math.atan2(LOCALIZER_HALF_WIDTH_M, float(distance)), _NARROWEST_RAD), _WIDEST_RAD)
