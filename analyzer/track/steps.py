"""Short distances between samples, near enough for telling a fault from a flight: 1 % within 100 km away from the poles."""

from __future__ import annotations

from typing import TypeAlias

import numpy as np
import numpy.typing as npt

from analyzer.physics.units import KT, FloatArray
from analyzer.track.offsets import offset_m
from analyzer.track.samples import Samples

__all__ = ["FLYING_MPS", "Places", "path_m", "plane_m", "separation_m", "step_m"]

FLYING_MPS = 30.0 * KT  # slower than any aircraft flies

Places: TypeAlias = npt.NDArray[np.intp] | slice | int


def separation_m(samples: Samples, first: Places, second: Places) -> FloatArray:
    """Distance from the samples at places `first` to those at places `second`. [m]"""
    latitude, longitude = samples.latitude_rad, samples.longitude_rad
    north, east = offset_m(latitude[first], longitude[first], latitude[second], longitude[second])
    distance: FloatArray = np.hypot(north, east)
    return distance


def step_m(samples: Samples) -> FloatArray:
    """Distance from each sample to the next. [m] One value less than samples."""
    distance: FloatArray = np.hypot(*samples.steps_m)
    return distance


def path_m(samples: Samples) -> float:
    """Length of the path through the samples as they stand. [m]"""
    return float(step_m(samples).sum())


def plane_m(samples: Samples) -> tuple[FloatArray, FloatArray]:
    """The samples laid out in a plane, north and east of the first, step by step along the path. [m]"""
    north, east = samples.steps_m
    return np.concatenate(([0.0], np.cumsum(north))), np.concatenate(([0.0], np.cumsum(east)))
