"""Where the fixes of the final course are: by their distances, their positions, or the readings of a DME station.

Distances are counted along the inbound course from the reversal fix, on the geodesic that leaves it on that course. A segment
charted on a course of its own (`course_deg`) bends the line: the fix that it leads to, and those beyond, are laid off from the
fix before it. Seen from the reversal fix outwards that holds both ways, so fixes before a facility on the field are laid off
backwards, each along the course of the segment that leaves it.

A DME reading is a slant distance, at the minimum altitude of the fix where one is charted; without one, the reading is taken as
the distance over the ground. It is met twice on a line that passes the station, before it and beyond it; the fixes are
passed in the order of the file, which usually leaves one choice. Among several, the one with all fixes on the final leg's side
of the reversal fix is preferred, then the one with each fix before the station.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from analyzer.errors import ProcedureError
from analyzer.frozen import dataclass
from analyzer.physics.geodesy import direct, inverse
from analyzer.physics.units import DEG, FT, NM
from analyzer.procedure.approach import ChartedFix, Dme
from analyzer.procedure.approach_schema import FixTable
from analyzer.procedure.resolve_beyond import times, true_course
from analyzer.procedure.schema import Procedure

__all__ = ["along_inbound", "resolve_fixes"]

_SAME_COURSE_DEG = 0.05  # a course charted to the whole degree is either the inbound course or at least a degree off it
_ON_COURSE_M = 1.0  # tolerance of a DME reading
_STEPS = 50


@dataclass(frozen=True)
class _Line:
    """A course line through a point whose distance along the inbound course is known."""

    latitude_rad: float
    longitude_rad: float
    along_m: float
    course_rad: float

    def at(self, along_m: float) -> tuple[float, float]:
        """The point of the line so far along. [rad]"""
        ahead = along_m - self.along_m
        bearing = self.course_rad if ahead >= 0.0 else self.course_rad + math.pi
        latitude, longitude = direct(self.latitude_rad, self.longitude_rad, bearing, abs(ahead))
        return float(latitude), float(longitude)


def along_inbound(procedure: Procedure, inbound_rad: float, latitude_rad: float, longitude_rad: float) -> float:
    """How far along the inbound course from the reversal fix a point lies, negative before it. [m]"""
    fix = procedure.fix
    distance, bearing = inverse(fix.latitude_deg * DEG, fix.longitude_deg * DEG, latitude_rad, longitude_rad)
    return float(distance) * math.cos(float(bearing) - inbound_rad)


def resolve_fixes(
    procedure: Procedure, inbound_rad: float, variation_rad: float, dme: Dme | None, *, before: bool
) -> tuple[ChartedFix, ...]:
    """The fixes with their positions, in the order passed inbound.

    Parameters
    ----------
    procedure : Procedure
        The procedure as it is written.
    inbound_rad, variation_rad : float
        The inbound course, true, and the variation that `course_deg` is charted with. [rad]
    dme : Dme or None
        The station that `dme_nm` is read from.
    before : bool
        Whether the final leg lies before the reversal fix: the facility is on the field.

    Raises
    ------
    ProcedureError
        If the fixes are not in the order passed inbound, or a DME reading is met nowhere on the course.
    """
    fix = procedure.fix
    straight = _Line(fix.latitude_deg * DEG, fix.longitude_deg * DEG, 0.0, inbound_rad)
    courses = [
        inbound_rad if _unbent(procedure, row) or row.course_deg is None else true_course(row.course_deg, variation_rad)
        for row in procedure.fixes
    ]
    distances = _in_order(procedure, straight, dme, before=before)
    places = _places(procedure.fixes, courses, distances, straight)
    return tuple(
        ChartedFix(
            name=row.name,
            role=row.role,
            latitude_rad=place[0],
            longitude_rad=place[1],
            along_m=distance if _unbent_all(procedure) else along_inbound(procedure, inbound_rad, *place),
            course_true_rad=course,
            minimum_m=times(row.minimum_ft, FT),
            maximum_m=times(row.maximum_ft, FT),
        )
        for row, place, distance, course in zip(procedure.fixes, places, distances, courses, strict=True)
    )


def _unbent(procedure: Procedure, row: FixTable) -> bool:
    """Whether the segment to a fix is on the inbound course."""
    inbound = procedure.reversal.inbound_course_deg
    return row.course_deg is None or abs(math.remainder(row.course_deg - inbound, 360.0)) <= _SAME_COURSE_DEG


def _unbent_all(procedure: Procedure) -> bool:
    return all(_unbent(procedure, row) for row in procedure.fixes)


def _in_order(procedure: Procedure, line: _Line, dme: Dme | None, *, before: bool) -> list[float]:
    """The distance of each fix along the inbound course, as given or from its position or DME reading. [m]"""
    choices = [_choices(procedure, i, line, dme) for i in range(len(procedure.fixes))]
    wrong = 1.0 if before else -1.0
    # the best order so far by its last distance: no fix on the wrong side, then the smaller distance of each pair, which is the
    # one before the station
    best: dict[float, tuple[bool, tuple[float, ...]]] = {-math.inf: (False, ())}
    for choice in choices:
        longer = {}
        for along in choice:
            shorter = [order for last, order in best.items() if last < along]
            if shorter:
                astray, order = min(shorter)
                longer[along] = (astray or along * wrong > 0.0, (*order, along))
        best = longer
    if not best:
        raise ProcedureError(_disorder(procedure, choices))
    return list(min(best.values())[1])


def _choices(procedure: Procedure, i: int, line: _Line, dme: Dme | None) -> tuple[float, ...]:
    row = procedure.fixes[i]
    if row.distance_nm is not None:
        return (row.distance_nm * NM,)
    if row.latitude_deg is not None and row.longitude_deg is not None:
        return (along_inbound(procedure, line.course_rad, row.latitude_deg * DEG, row.longitude_deg * DEG),)
    if row.dme_nm is None or dme is None:
        raise ValueError("a fix without a place")  # which no procedure has
    bent = next((k for k, other in enumerate(procedure.fixes) if not _unbent(procedure, other)), None)
    if bent is not None:
        raise ProcedureError(
            f"[[fixes]] {i + 1} ({row.name}) dme_nm = {row.dme_nm:g}: cannot be placed, since [[fixes]] {bent + 1} "
            f"({procedure.fixes[bent].name}) course_deg = {procedure.fixes[bent].course_deg:g} bends the course; give "
            "latitude_deg and longitude_deg"
        )
    return _readings(row, i, row.dme_nm * NM, line, dme)


def _readings(row: FixTable, i: int, slant_m: float, line: _Line, dme: Dme) -> tuple[float, ...]:
    """Where on a course line a DME reads a distance, at the fix's minimum altitude where it has one.

    By Newton's method on the distance from the station, starting from the two solutions in the plane.
    """
    where = f"[[fixes]] {i + 1} ({row.name}) dme_nm = {slant_m / NM:g}"
    height = row.minimum_ft * FT - dme.elevation_m if row.minimum_ft is not None else 0.0
    if slant_m <= abs(height):
        raise ProcedureError(
            f"{where}: less than the height of its minimum above {dme.name}, {abs(height) / NM:.1f} NM; correct one"
        )
    ground = math.sqrt(slant_m**2 - height**2)
    distance, bearing = inverse(line.latitude_rad, line.longitude_rad, dme.latitude_rad, dme.longitude_rad)
    abeam = float(distance) * math.cos(float(bearing) - line.course_rad)
    nearest = _from_station(line, abeam, dme)[0]
    if ground < nearest - _ON_COURSE_M:
        raise ProcedureError(
            f"{where}: the course comes no nearer to {dme.name} than {math.hypot(nearest, height) / NM:.1f} NM; correct "
            "dme_nm, or the station's position"
        )
    half = math.sqrt(max(ground**2 - nearest**2, 0.0))
    return tuple(sorted({_met(line, abeam + way * half, ground, dme) for way in (-1.0, 1.0)}))


def _from_station(line: _Line, along_m: float, dme: Dme) -> tuple[float, float]:
    """Distance of a point of the line from the station, and how that grows along the line."""
    point = line.at(along_m)
    distance, bearing = inverse(*point, dme.latitude_rad, dme.longitude_rad)
    _, back = inverse(*point, line.latitude_rad, line.longitude_rad)
    ahead = along_m - line.along_m
    course = line.course_rad if abs(ahead) < _ON_COURSE_M else float(back) + (math.pi if ahead > 0.0 else 0.0)
    return float(distance), -math.cos(float(bearing) - course)


def _met(line: _Line, guess_m: float, ground_m: float, dme: Dme) -> float:
    along = guess_m
    for _ in range(_STEPS):
        distance, rate = _from_station(line, along, dme)
        if abs(distance - ground_m) < 1e-3 or abs(rate) < 1e-3:
            break
        along -= (distance - ground_m) / rate
    return along


def _disorder(procedure: Procedure, choices: Sequence[tuple[float, ...]]) -> str:
    """The first two fixes that are not in the order passed inbound, with what the file gives for them.

    For a DME reading that is met twice, the place before the station is reported; the order is wrong with either place.
    """
    first = [min(places) for places in choices]
    i = next(k for k in range(1, len(first)) if first[k] <= first[k - 1])
    one, two = (f"[[fixes]] {k + 1} ({procedure.fixes[k].name}) {_said(procedure.fixes[k])}" for k in (i - 1, i))
    return (
        f"{two}: not beyond {one}, but {first[i] / NM:.2f} NM along the inbound course after {first[i - 1] / NM:.2f}; list "
        "the fixes in the order passed inbound, at distances that grow (negative before the reversal fix)"
    )


def _said(row: FixTable) -> str:
    if row.distance_nm is not None:
        return f"distance_nm = {row.distance_nm:g}"
    if row.dme_nm is not None:
        return f"dme_nm = {row.dme_nm:g}"
    return f"latitude_deg = {row.latitude_deg}, longitude_deg = {row.longitude_deg}"


def _places(
    rows: Sequence[FixTable], courses: Sequence[float], distances: Sequence[float], straight: _Line
) -> list[tuple[float, float]]:
    """The position of each fix: as given, else laid off along the segments from the reversal fix outwards. [rad]"""
    placed: dict[int, tuple[float, float]] = {}
    first_beyond = next((i for i, along in enumerate(distances) if along >= 0.0), len(rows))
    for i, line in _lines(first_beyond, courses, distances, straight, placed):
        row = rows[i]
        if row.latitude_deg is not None and row.longitude_deg is not None:
            placed[i] = (row.latitude_deg * DEG, row.longitude_deg * DEG)
        else:
            placed[i] = line.at(distances[i])
    return [placed[i] for i in range(len(rows))]


def _lines(
    first_beyond: int,
    courses: Sequence[float],
    distances: Sequence[float],
    straight: _Line,
    placed: dict[int, tuple[float, float]],
) -> Iterator[tuple[int, _Line]]:
    """Each fix with the line it lies on: those beyond the reversal fix outwards, then those before it backwards.

    A line goes on for as long as the course stays the same; a new course begins at the fix last placed, which is in `placed`.
    """
    line = straight
    for i in range(first_beyond, len(distances)):
        if courses[i] != line.course_rad:
            line = _Line(*placed[i - 1], distances[i - 1], courses[i]) if i > first_beyond else _turned(straight, courses[i])
        yield i, line
    line = straight
    for i in range(first_beyond - 1, -1, -1):
        leaves = courses[i + 1] if i + 1 < first_beyond else straight.course_rad
        if leaves != line.course_rad:
            line = _Line(*placed[i + 1], distances[i + 1], leaves)
        yield i, line


def _turned(line: _Line, course_rad: float) -> _Line:
    return _Line(line.latitude_rad, line.longitude_rad, line.along_m, course_rad)
