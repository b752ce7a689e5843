"""The wind triangle: heading and true airspeed, wind, course and ground speed.

All functions take floats or arrays of any shape that broadcast together; NaN in gives NaN out. Angles are true; the wind's
direction is the one it blows from.

References
----------
.. [1] FAA-H-8083-25C, "Pilot's Handbook of Aeronautical Knowledge", chapter 16, "Wind Triangle or Vector Analysis".

"""

from typing import NamedTuple

import numpy as np

from analyzer.physics.units import FloatArray, wrap_positive

__all__ = ["HeadingNeeded", "heading_needed"]


class HeadingNeeded(NamedTuple):
    """Heading that holds a course, its correction from the course (positive to the right), and the ground speed."""

    heading_rad: FloatArray
    correction_rad: FloatArray
    ground_speed_mps: FloatArray


def heading_needed(
    course_rad: FloatArray | float,
    true_airspeed_mps: FloatArray | float,
    wind_from_rad: FloatArray | float,
    wind_speed_mps: FloatArray | float,
) -> HeadingNeeded:
    """Heading that holds a course in a wind.

    All three values are NaN where no heading does: the crosswind is stronger than the airspeed, or the headwind stops all
    progress along the course.

    >>> from analyzer.physics.units import DEG, KT
    >>> needed = heading_needed(360 * DEG, 100 * KT, 300 * DEG, 20 * KT)
    >>> print(f"heading {needed.heading_rad / DEG:.0f}°, ground speed {needed.ground_speed_mps / KT:.0f} kt")
    heading 350°, ground speed 88 kt
    """
    airspeed = np.asarray(true_airspeed_mps, dtype=np.float64)
    across = wind_speed_mps * np.sin(np.asarray(wind_from_rad) - course_rad)
    against = wind_speed_mps * np.cos(np.asarray(wind_from_rad) - course_rad)
    with np.errstate(invalid="ignore", divide="ignore"):
        correction = np.arcsin(across / airspeed)
        ground_speed = airspeed * np.cos(correction) - against
    possible = ground_speed > 0.0
    correction, ground_speed = np.where(possible, correction, np.nan), np.where(possible, ground_speed, np.nan)
    return HeadingNeeded(wrap_positive(course_rad + correction), correction, ground_speed)
