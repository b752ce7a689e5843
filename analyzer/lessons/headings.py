"""The heading that holds a course in the wind of the flight, and its wording."""

from __future__ import annotations

import math

from analyzer.checks.finding import Context
from analyzer.checks.phrases import degrees
from analyzer.frozen import dataclass
from analyzer.motion.wind import Wind
from analyzer.physics import wind_triangle
from analyzer.physics.units import DEG, bearing_text

__all__ = ["Steered", "course_words", "steered"]

_SAME_RAD = 0.5 * DEG  # a smaller correction is not reported


@dataclass(frozen=True)
class Steered:
    """A true course, the heading that holds it, and the wind correction, positive to the right. [rad]"""

    course_rad: float
    heading_rad: float
    correction_rad: float


def steered(course_rad: float, true_airspeed_mps: float, wind: Wind | None) -> Steered | None:
    """The heading that holds a course; None if the wind is unknown or too strong."""
    if wind is None:
        return None
    needed = wind_triangle.heading_needed(course_rad, true_airspeed_mps, wind.from_true_rad, wind.speed_mps)
    if not math.isfinite(float(needed.heading_rad)):
        return None
    return Steered(course_rad, float(needed.heading_rad), float(needed.correction_rad))


def course_words(context: Context, course_rad: float, needed: Steered | None) -> str:
    """A magnetic course, with its heading if known: ``heading 035° for course 031° (4° into the wind)``."""
    east = context.motion.charted.variation.east_rad
    course = f"course {bearing_text(course_rad - east)}"
    if needed is None or abs(needed.correction_rad) < _SAME_RAD:
        return course
    into = degrees(abs(needed.correction_rad), 0)
    return f"heading {bearing_text(needed.heading_rad - east)} for {course} ({into} into the wind)"
