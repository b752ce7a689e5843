"""The lines that the inbound and the final leg are charted along, one after the other where the course bends at a fix.

The course of a fix is that of the segment that leads to it, so a segment begins at the fix before it, or at the reversal fix.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import pairwise

import numpy as np

from analyzer.frozen import dataclass
from analyzer.legs.final_leg import passed_at
from analyzer.motion.states import States
from analyzer.physics.geodesy import inverse
from analyzer.physics.units import DEG, NM, BoolArray, wrap
from analyzer.procedure.charted import Charted
from analyzer.vocabulary import Leg

__all__ = ["CourseLine", "course_lines", "final_course_rad", "flown_lines"]

_SAME_RAD = 0.1 * DEG  # courses are charted to the whole degree, and so bend by a degree or not at all
_ROUNDED_RAD, _PLACED_M = 1.0 * DEG, 0.1 * NM  # how far off a line a station that it leads through may seem, as charts round


@dataclass(frozen=True)
class CourseLine:
    """A straight course, true, and the fixes that it leads from and to.

    `begins` is where it begins, None where it is joined on the way; `through` is a point on it apart from the guidance, None
    where it leads through the guidance. Latitudes and longitudes are in radians.
    """

    course_rad: float
    begins: tuple[float, float] | None = None
    through: tuple[float, float] | None = None
    to: str = ""


def course_lines(charted: Charted, leg: Leg) -> tuple[CourseLine, ...]:
    """The lines of the inbound or the final leg in the order flown, one where it does not bend.

    The final leg begins at the final approach fix; without one at the reversal fix, or on the field when the course is joined.
    """
    lines, final = _all_lines(charted)
    return lines[final:] if leg == "final" else lines[: max(final, 1)]


def final_course_rad(charted: Charted) -> float:
    """True course at the end of the final leg, to the missed approach point. [rad]"""
    return course_lines(charted, "final")[-1].course_rad


def _all_lines(charted: Charted) -> tuple[tuple[CourseLine, ...], int]:
    """All lines inbound, and the number of the first of the final leg."""
    reversal_fix = charted.procedure.fix.name, charted.fix_latitude_rad, charted.fix_longitude_rad
    before = [fix for fix in charted.fixes if fix.along_m < 0.0]
    beyond = charted.fixes[len(before) :]
    points = [(fix.name, fix.latitude_rad, fix.longitude_rad) for fix in before]
    points += [reversal_fix, *((fix.name, fix.latitude_rad, fix.longitude_rad) for fix in beyond)]
    # to the reversal fix leads the inbound course, and so it does to the first of the fixes before it
    courses = [charted.inbound_true_rad, *(fix.course_true_rad for fix in before[1:])]
    courses += [charted.inbound_true_rad] if before else []
    courses += [fix.course_true_rad for fix in beyond]
    goes_on = ("", courses[-1])  # beyond the last fix
    faf = charted.fix_of("final-approach-fix")
    last_inbound = faf.name if faf is not None else None if charted.on_field else reversal_fix[0]
    lines, final = [CourseLine(courses[0], to=points[0][0])], 0
    nexts = [*zip((name for name, *_ in points[1:]), courses[1:], strict=True), goes_on]
    for (name, latitude, longitude), (to, course) in zip(points, nexts, strict=True):
        begins = (latitude, longitude)
        bent = abs(float(wrap(course - lines[-1].course_rad))) > _SAME_RAD
        through = _through(charted, begins, course) if bent else lines[-1].through
        if bent or name == last_inbound:
            lines.append(CourseLine(course, begins, through, to))
        if name == last_inbound:
            final = len(lines) - 1
    return tuple(lines), final


def _through(charted: Charted, place: tuple[float, float], course_rad: float) -> tuple[float, float] | None:
    """A point on a course that begins at a place; None where it leads through the station that gives guidance."""
    guidance = charted.guidance
    station = guidance.latitude_rad, guidance.longitude_rad
    if guidance.full_scale_rad is None:
        return place
    distance, bearing = (float(value) for value in inverse(*place, *station))
    across = abs(distance * math.sin(bearing - course_rad))
    return None if across <= max(distance * math.sin(_ROUNDED_RAD), _PLACED_M) else place


def flown_lines(states: States, charted: Charted, leg: Leg) -> Iterator[tuple[CourseLine, BoolArray]]:
    """Each line of the inbound or the final leg, and which of the leg's states are flown along it: from fix to fix."""
    lines = course_lines(charted, leg)
    starts = [-math.inf]
    for before, line in pairwise(lines):
        later = states.between(starts[-1], math.inf)
        passed = passed_at(later, *line.begins, before.course_rad) if line.begins is not None else None
        starts.append(passed if passed is not None else math.inf)
    for line, start, end in zip(lines, starts, [*starts[1:], math.inf], strict=True):
        yield line, np.asarray((states.time_s >= start) & (states.time_s < end))
