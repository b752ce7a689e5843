"""From one place to another near it, in metres north and east: 1 % within 100 km away from the poles."""

from __future__ import annotations

import math

import numpy as np

from analyzer.physics.geodesy import MEAN_RADIUS_M
from analyzer.physics.units import FloatArray, wrap

__all__ = ["offset_m"]


def offset_m(
    latitude0: FloatArray, longitude0: FloatArray, latitude1: FloatArray, longitude1: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """North and east from the first points to the second [m], on a sphere. Angles in radians, across 180° too."""
    apart = longitude1 - longitude0
    if np.abs(apart).max(initial=0.0) >= math.pi:
        apart = wrap(apart)
    north: FloatArray = MEAN_RADIUS_M * (latitude1 - latitude0)
    east: FloatArray = MEAN_RADIUS_M * np.cos(0.5 * (latitude0 + latitude1)) * apart
    return north, east
