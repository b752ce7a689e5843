"""The length of an outbound leg as it is read: along the course, by a DME, or from the fix."""

from __future__ import annotations

import math

from analyzer.checks.outbound_legs import length_read_by
from analyzer.physics import geodesy
from analyzer.physics.units import NM
from analyzer.procedure.charted import Charted

__all__ = ["leg_read", "read_words"]

_AT_FIX_M = 0.1 * NM  # a station this near the fix is at the fix


def leg_read(charted: Charted, north_m: float, east_m: float, altitude_m: float) -> float:
    """Length of a leg outbound from the fix, as it is read at a place. [m]

    By a DME away from the fix, it is the difference from the reading over the fix.

    References
    ----------
    .. [1] FAA Aeronautical Information Manual 5-3-8 j.5 and j.7(a)(4), figures 5-3-5 and 5-3-6.
    """
    by, out = length_read_by(charted), charted.outbound_true_rad
    if by == "along-track":
        return north_m * math.cos(out) + east_m * math.sin(out)
    distance = math.hypot(north_m, east_m)
    if by == "from-fix":
        return distance
    if charted.dme is None:
        return math.hypot(distance, altitude_m - charted.fix_elevation_m)
    apart, bearing = geodesy.inverse(
        charted.fix_latitude_rad, charted.fix_longitude_rad, charted.dme.latitude_rad, charted.dme.longitude_rad
    )
    north, east = float(apart * math.cos(bearing)), float(apart * math.sin(bearing))
    height = altitude_m - charted.dme.elevation_m
    reading = math.hypot(north_m - north, east_m - east, height)
    return reading if float(apart) < _AT_FIX_M else abs(reading - math.hypot(north, east, height))


def read_words(charted: Charted) -> str:
    """How the length of the leg is read, in words: ``along the course from the fix``."""
    by = length_read_by(charted)
    if by == "along-track":
        return "along the course from the fix"
    if by == "from-fix":
        return "from the fix"
    at = charted.dme.name if charted.dme is not None else charted.procedure.fix.name
    return f"by the DME of {at}"
