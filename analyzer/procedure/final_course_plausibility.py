"""Whether what is charted along the final course fits its distances: time, visual descent point, glide path, runway, names."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from analyzer.physics.geodesy import inverse
from analyzer.physics.units import DEG, FT, NM
from analyzer.procedure.altitude_unit import said
from analyzer.procedure.approach import ChartedFix
from analyzer.procedure.approach_schema import MinimumTable
from analyzer.procedure.schema import Procedure

__all__ = ["final_course_warnings"]

_TIMED_NM = 0.2  # a time to the whole second and a distance to a tenth of a mile agree better than this below 150 kt
_TIMED_TO_RUNWAY_NM = 2.0  # a point that is charted by its time alone lies about as near the threshold as this
_SAME_PLACE_NM = 0.1
_BELOW_M = 100.0 * FT  # charts round the altitudes of a glide path, and draw it above a curved earth
_OPPOSITE_DEG = 90.0


def final_course_warnings(
    procedure: Procedure, fixes: Sequence[ChartedFix], inbound_rad: float, threshold_m: float | None
) -> tuple[str, ...]:
    """What is odd, in one sentence each.

    `fixes` are those of the procedure with their places, `inbound_rad` the true inbound course, and `threshold_m` the place of
    the threshold along it, None without a runway.
    """
    return (
        *_timing(procedure, fixes, threshold_m),
        *_visual_descent_points(procedure, fixes, threshold_m),
        *_glide_path(procedure, fixes, threshold_m),
        *_runway_heading(procedure, inbound_rad),
        *_names(procedure, fixes),
    )


def _timing(procedure: Procedure, fixes: Sequence[ChartedFix], threshold_m: float | None) -> Iterator[str]:
    """The time to the missed approach point, at its speed, is the distance to it."""
    missed = procedure.missed_approach
    if missed is None or missed.time_s is None or missed.time_at_kt is None:
        return
    timed_nm = missed.time_s * missed.time_at_kt / 3600.0
    words = f"[missed_approach] time_s = {missed.time_s:g} at time_at_kt = {missed.time_at_kt:g} is {timed_nm:.1f} NM"
    begin = next((fix for fix in fixes if fix.role == "final-approach-fix"), None)
    point = next((fix for fix in fixes if fix.role == "missed-approach-point"), None)
    begin_m, begin_name = (begin.along_m, begin.name) if begin is not None else (0.0, procedure.fix.name)
    if point is not None:
        charted_nm = (point.along_m - begin_m) / NM
        if abs(charted_nm - timed_nm) > _TIMED_NM:
            yield (
                f"{words}, but {point.name} lies {charted_nm:.1f} NM beyond {begin_name}: correct the time, the speed or the "
                "place."
            )
    elif threshold_m is not None:
        charted_nm = (threshold_m - begin_m) / NM
        if abs(charted_nm - timed_nm) > _TIMED_TO_RUNWAY_NM:
            yield (
                f"{words}, but the threshold of [runway] lies {charted_nm:.1f} NM beyond {begin_name}: correct the time, the "
                "speed or the place."
            )


def _visual_descent_points(procedure: Procedure, fixes: Sequence[ChartedFix], threshold_m: float | None) -> Iterator[str]:
    """A visual descent point lies beyond the fixes whose minimum is above its own, and before the missed approach point."""
    if threshold_m is None:
        return
    lines: list[tuple[str, MinimumTable]] = [("[minimum]", procedure.minimum)] if procedure.minimum is not None else []
    lines += [(f"[[minimums]] {i + 1}", line) for i, line in enumerate(procedure.minimums)]
    for place, line in lines:
        if line.kind == "da" or line.visual_descent_point_nm is None:
            continue
        words = f"{place} visual_descent_point_nm = {line.visual_descent_point_nm:g}"
        for i, fix in enumerate(fixes):
            to_go_nm = (threshold_m - fix.along_m) / NM
            where = f"[[fixes]] {i + 1} ({fix.name}, {fix.role}), {to_go_nm:.1f} NM before the threshold"
            if fix.role == "missed-approach-point" and line.visual_descent_point_nm < to_go_nm:
                yield f"{words} lies beyond {where}: it is before that point; correct one."
            if fix.role in ("final-approach-fix", "step-down") and line.visual_descent_point_nm > to_go_nm:
                yield f"{words} lies before {where}: the minimum is not reached until beyond it; correct one."


def _glide_path(procedure: Procedure, fixes: Sequence[ChartedFix], threshold_m: float | None) -> Iterator[str]:
    """A glide path is not below the minimum of a fix of the final leg where it passes it."""
    path, runway, unit = procedure.glide_path, procedure.runway, procedure.altitude_unit
    if path is None or runway is None or threshold_m is None:
        return
    for i, fix in enumerate(fixes):
        if fix.minimum_m is None or fix.role not in ("final-approach-fix", "step-down"):
            continue
        height_ft = runway.threshold_elevation_ft + path.threshold_crossing_height_ft
        height_ft += (threshold_m - fix.along_m) * math.tan(path.angle_deg * DEG) / FT
        if height_ft * FT < fix.minimum_m - _BELOW_M:
            yield (
                f"[glide_path] angle_deg = {path.angle_deg:g} passes {fix.name} at {_altitude(unit, height_ft)}, below "
                f"[[fixes]] {i + 1} {said(unit, 'minimum_ft', procedure.fixes[i].minimum_ft or 0.0)}: correct one, or "
                "the place."
            )


def _altitude(unit: str, feet: float) -> str:
    return f"{feet:.0f} ft" if unit == "ft" else f"{feet * FT:.0f} m"


def _runway_heading(procedure: Procedure, inbound_rad: float) -> Iterator[str]:
    """The landing runway points roughly along the inbound course."""
    runway = procedure.runway
    if runway is None or (procedure.minimums and all(line.line == "circling" for line in procedure.minimums)):
        return
    off = abs(math.remainder(runway.true_heading_deg - inbound_rad / DEG, 360.0))
    if off > _OPPOSITE_DEG:
        yield (
            f"[runway] true_heading_deg = {runway.true_heading_deg:g} is {off:.0f}° off [reversal] inbound_course_deg = "
            f"{procedure.reversal.inbound_course_deg:g}, {inbound_rad / DEG % 360.0:.0f}° true: is it the other end of "
            "the runway?"
        )


def _names(procedure: Procedure, fixes: Sequence[ChartedFix]) -> Iterator[str]:
    """One name is one place."""
    named = {procedure.fix.name: ("[fix]", procedure.fix.latitude_deg * DEG, procedure.fix.longitude_deg * DEG)}
    places = [(f"[[fixes]] {i + 1}", fix.name, fix.latitude_rad, fix.longitude_rad) for i, fix in enumerate(fixes)]
    places += [
        (f"[[holds]] {i + 1}", hold.name, hold.latitude_deg * DEG, hold.longitude_deg * DEG)
        for i, hold in enumerate(procedure.holds)
        if hold.latitude_deg is not None and hold.longitude_deg is not None
    ]
    for where, name, latitude, longitude in places:
        first, first_latitude, first_longitude = named.setdefault(name, (where, latitude, longitude))
        distance_nm = float(inverse(first_latitude, first_longitude, latitude, longitude)[0]) / NM
        if distance_nm > _SAME_PLACE_NM:
            words = f'{where} name = "{name}" lies {distance_nm:.1f} NM from {first} of that name'
            yield f"{words}: correct one name, or one place."
