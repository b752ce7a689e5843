"""Short distances between samples, near enough for telling a fault from a flight: 1 % within 100 km away from the poles."""

from __future__ import annotations

from typing import TypeAlias

import numpy as np
import numpy.typing as npt

from analyzer.physics.units import FloatArray, wrap
from analyzer.track.samples import Samples

__all__ = ["Places", "offset_m", "path_m", "plane_m", "separation_m", "step_m"]

Places: TypeAlias = npt.NDArray[np.intp] | slice | int

_EARTH_RADIUS_M = 6_371_008.8  # mean radius of WGS 84


def offset_m(
    latitude0: FloatArray, longitude0: FloatArray, latitude1: FloatArray, longitude1: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """North and east from the first points to the second [m], on a sphere. Angles in radians, across 180° too."""
    middle = 0.5 * (latitude0 + latitude1)
    north: FloatArray = _EARTH_RADIUS_M * (latitude1 - latitude0)
    east: FloatArray = _EARTH_RADIUS_M * np.cos(middle) * wrap(longitude1 - longitude0)
    return north, east


def separation_m(samples: Samples, first: Places, second: Places) -> FloatArray:
    """Distance from the samples at places `first` to those at places `second`. [m]"""
    latitude, longitude = samples.latitude_rad, samples.longitude_rad
    north, east = offset_m(latitude[first], longitude[first], latitude[second], longitude[second])
    distance: FloatArray = np.hypot(north, east)
    return distance


def step_m(samples: Samples) -> FloatArray:
    """Distance from each sample to the next. [m] One value less than samples."""
    return separation_m(samples, slice(None, -1), slice(1, None))


def path_m(samples: Samples) -> float:
    """Length of the path through the samples as they stand. [m]"""
    return float(step_m(samples).sum())


def plane_m(samples: Samples) -> tuple[FloatArray, FloatArray]:
    """The samples laid out in a plane, north and east of the first, step by step along the path. [m]"""
    latitude, longitude = samples.latitude_rad, samples.longitude_rad
    north, east = offset_m(latitude[:-1], longitude[:-1], latitude[1:], longitude[1:])
    return np.concatenate(([0.0], np.cumsum(north))), np.concatenate(([0.0], np.cumsum(east)))
