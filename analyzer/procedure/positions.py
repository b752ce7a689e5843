"""Whether the positions in a procedure file fit together; a wrong sign or two swapped digits put one far away."""

import math
from collections.abc import Iterator, Sequence

from analyzer.physics.geodesy import inverse
from analyzer.physics.units import DEG, NM
from analyzer.procedure.approach import ChartedFix
from analyzer.procedure.schema import Procedure

__all__ = ["beside_runway_nm", "position_warnings"]

_FARTHEST_NM = 50.0  # beyond the service volume of a localizer, and any final approach
_OFF_COURSE_DEG = 5.0
_OFF_COURSE_NM = 0.3
_BEYOND_THRESHOLD_NM = 2.0  # a facility at the far end of the runway may be the missed approach point
_MISSED_POINT_BEYOND_NM, _MISSED_POINT_BEFORE_NM = 0.3, 0.8  # common practice, no source
# A final course to a runway is within 30° of it, and crosses its extended centreline no farther than about a mile before the
# threshold (FAA Order 8260.3 and ICAO Doc 8168 Volume II, from memory), so it passes the threshold aside by no more than that
# times the sine of the angle. Courses are in whole degrees, of a declination that may be old.
_ALIGNED_DEG, _CROSSES_NM, _ASIDE_NM, _COURSE_DEG = 30.0, 1.3, 0.15, 1.5
_NEAREST_NM, _FARTHEST_RUNWAY_NM = 0.5, 15.0  # nearer it is a station on the field, farther it belongs to another final


def position_warnings(procedure: Procedure, inbound_true_rad: float, fixes: Sequence[ChartedFix]) -> tuple[str, ...]:
    """What is odd about the positions, one sentence each."""
    return (
        *_far_from_fix(procedure),
        *_guidance_off_course(procedure, inbound_true_rad),
        *_fix_off_arc(procedure),
        *_fixes_off_course(procedure, inbound_true_rad, fixes),
        *_fixes_beyond_runway(procedure, inbound_true_rad, fixes),
        *_course_beside_runway(procedure, inbound_true_rad),
    )


def beside_runway_nm(procedure: Procedure, inbound_true_rad: float) -> float | None:
    """How far to the right of the threshold the final course passes, negative to the left, where it is farther than possible.

    None where it fits, or is charted for no straight-in landing: along another course, or across the runway.
    """
    runway = procedure.runway
    if runway is None or any(row.course_deg is not None for row in procedure.fixes):
        return None
    distance_nm, bearing = _from_fix(procedure, runway.threshold_latitude_deg, runway.threshold_longitude_deg)
    angle = math.remainder(inbound_true_rad - runway.true_heading_deg * DEG, math.tau)
    if abs(angle) > _ALIGNED_DEG * DEG or not _NEAREST_NM < distance_nm < _FARTHEST_RUNWAY_NM:
        return None
    aside_nm = distance_nm * math.sin(inbound_true_rad - bearing)
    possible_nm = _ASIDE_NM + _CROSSES_NM * math.sin(abs(angle)) + distance_nm * math.sin(_COURSE_DEG * DEG)
    return aside_nm if abs(aside_nm) > possible_nm else None


def _course_beside_runway(procedure: Procedure, inbound_true_rad: float) -> Iterator[str]:
    aside_nm, runway = beside_runway_nm(procedure, inbound_true_rad), procedure.runway
    if aside_nm is None or runway is None:
        return
    distance_nm, _ = _from_fix(procedure, runway.threshold_latitude_deg, runway.threshold_longitude_deg)
    yield (
        f"The inbound course, {math.degrees(inbound_true_rad) % 360.0:03.0f}° true, passes {abs(aside_nm):.1f} NM to the "
        f"{'right' if aside_nm > 0.0 else 'left'} of the threshold of runway {runway.name}, {distance_nm:.1f} NM from the fix: "
        "check inbound_course_deg, the variation, and the positions of the fix and of the threshold."
    )


def _from_fix(procedure: Procedure, latitude_deg: float, longitude_deg: float) -> tuple[float, float]:
    """Distance in NM and true bearing in radians from the fix."""
    fix = procedure.fix
    distance, bearing = inverse(fix.latitude_deg * DEG, fix.longitude_deg * DEG, latitude_deg * DEG, longitude_deg * DEG)
    return float(distance) / NM, float(bearing)


def _far_from_fix(procedure: Procedure) -> Iterator[str]:
    guidance, limit, runway = procedure.guidance, procedure.reversal.within_from, procedure.runway
    places: list[tuple[str, float, float]] = []
    if guidance and guidance.latitude_deg is not None and guidance.longitude_deg is not None:
        places.append(("[guidance]", guidance.latitude_deg, guidance.longitude_deg))
    if limit:
        places.append(("[reversal] within_from", limit.latitude_deg, limit.longitude_deg))
    if runway:
        places.append(("[runway]", runway.threshold_latitude_deg, runway.threshold_longitude_deg))
    if procedure.dme:
        places.append(("[dme]", procedure.dme.latitude_deg, procedure.dme.longitude_deg))
    for i, hold in enumerate(procedure.holds):
        if hold.latitude_deg is not None and hold.longitude_deg is not None:
            places.append((f"[[holds]] {i + 1} ({hold.name})", hold.latitude_deg, hold.longitude_deg))
    for name, latitude_deg, longitude_deg in places:
        distance_nm, _ = _from_fix(procedure, latitude_deg, longitude_deg)
        if distance_nm > _FARTHEST_NM:
            yield f"{name} lies {distance_nm:.0f} NM from the fix: check its latitude and longitude, and the fix's."


def _guidance_off_course(procedure: Procedure, inbound_true_rad: float) -> Iterator[str]:
    """Guidance stands on the line of the inbound course, before the fix or beyond it."""
    guidance = procedure.guidance
    if guidance is None or guidance.kind == "gps" or guidance.latitude_deg is None or guidance.longitude_deg is None:
        return
    distance_nm, bearing = _from_fix(procedure, guidance.latitude_deg, guidance.longitude_deg)
    off_deg = abs(math.remainder(bearing - inbound_true_rad, math.pi)) / DEG
    if 0.1 < distance_nm <= _FARTHEST_NM and off_deg > _OFF_COURSE_DEG:
        yield (
            f"[guidance] lies {distance_nm:.1f} NM from the fix, {off_deg:.0f}° off the line of the inbound course: "
            "check its position, inbound_course_deg and the variation."
        )


def _fix_off_arc(procedure: Procedure) -> Iterator[str]:
    """An arc leads to a course through its centre or past it, so the fix lies within it or not far outside."""
    arc = procedure.arc
    if arc is None or procedure.reversal.kind != "arc":
        return
    distance_nm, _ = _from_fix(procedure, arc.latitude_deg, arc.longitude_deg)
    if distance_nm > 2.0 * arc.radius_nm:
        yield f"[arc] has its centre {distance_nm:.0f} NM from the fix, but radius_nm = {arc.radius_nm:g}: check both."


def _fixes_off_course(procedure: Procedure, inbound_true_rad: float, fixes: Sequence[ChartedFix]) -> Iterator[str]:
    """Fixes given by their position lie on the line of the inbound course, unless a segment is charted on another one."""
    if any(row.course_deg is not None for row in procedure.fixes):
        return
    for i, (row, fix) in enumerate(zip(procedure.fixes, fixes, strict=True)):
        if row.latitude_deg is None:
            continue
        distance_nm, bearing = _from_fix(procedure, fix.latitude_rad / DEG, fix.longitude_rad / DEG)
        off_nm = abs(distance_nm * math.sin(bearing - inbound_true_rad))
        if off_nm > max(_OFF_COURSE_NM, distance_nm * math.sin(_OFF_COURSE_DEG * DEG)):
            yield (
                f"[[fixes]] {i + 1} ({fix.name}) lies {off_nm:.1f} NM off the line of the inbound course: check its latitude "
                "and longitude, or give course_deg of the segment that leads to it."
            )


def _fixes_beyond_runway(procedure: Procedure, inbound_true_rad: float, fixes: Sequence[ChartedFix]) -> Iterator[str]:
    """No fix of the final course lies beyond the runway; a distance with the wrong sign puts one there."""
    runway = procedure.runway
    if runway is None:
        return
    distance_nm, bearing = _from_fix(procedure, runway.threshold_latitude_deg, runway.threshold_longitude_deg)
    threshold_nm = distance_nm * math.cos(bearing - inbound_true_rad)
    for i, (row, fix) in enumerate(zip(procedure.fixes, fixes, strict=True)):
        beyond_nm = fix.along_m / NM - threshold_nm
        name = f"[[fixes]] {i + 1} ({fix.name})"
        if beyond_nm > _BEYOND_THRESHOLD_NM:
            yield (
                f"{name} lies {beyond_nm:.1f} NM beyond the threshold: check its place; distance_nm is negative before the "
                "reversal fix."
            )
        elif row.distance_nm and fix.role == "missed-approach-point":  # at 0 it is the station of the fix itself
            yield from _missed_point_off_threshold(name, beyond_nm)


def _missed_point_off_threshold(name: str, beyond_nm: float) -> Iterator[str]:
    """A missed approach point that is no facility lies at the threshold or a little before it; else the fix is misplaced."""
    if beyond_nm > _MISSED_POINT_BEYOND_NM or beyond_nm < -_MISSED_POINT_BEFORE_NM:
        yield (
            f"{name}, the missed approach point, lies {abs(beyond_nm):.1f} NM {'beyond' if beyond_nm > 0.0 else 'before'} the "
            "threshold: check its distance_nm and the positions of the fix and of the threshold."
        )
