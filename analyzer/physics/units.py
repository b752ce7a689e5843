"""Unit conversions. The program works in SI units and radians; these factors convert its input and output.

Multiply by a factor to convert to SI (``5 * NM`` is in metres), divide by it to convert back (``distance_m / NM``).
The nautical mile, foot and standard gravity are exact by definition.
"""

import math
from typing import TypeAlias

import numpy as np
import numpy.typing as npt

__all__ = [
    "DEG",
    "FPM",
    "FT",
    "GRAVITY",
    "KT",
    "NM",
    "BoolArray",
    "FloatArray",
    "bearing_text",
    "circular_mean",
    "unwrapped",
    "wrap",
    "wrap_positive",
]

FloatArray: TypeAlias = npt.NDArray[np.float64]
BoolArray: TypeAlias = npt.NDArray[np.bool_]

NM = 1852.0  # metres in a nautical mile
FT = 0.3048  # metres in a foot
KT = NM / 3600.0  # metres per second in a knot
FPM = FT / 60.0  # metres per second in a foot per minute
DEG = math.pi / 180.0  # radians in a degree
GRAVITY = 9.80665  # standard gravity [m/s²]


def wrap(angle_rad: FloatArray | float) -> FloatArray:
    """Angle wrapped to [-π, π), scalar or array of any shape. [rad]

    >>> print(f"{wrap(350 * DEG) / DEG:.0f}°")
    -10°
    """
    if isinstance(angle_rad, float):
        one = (float(angle_rad) + math.pi) % math.tau - math.pi
        return np.asarray(one if one < math.pi else -math.pi)
    turns = np.asarray(np.divide(angle_rad, math.tau))
    np.rint(turns, out=turns)
    turns *= math.tau
    wrapped: FloatArray = np.subtract(angle_rad, turns, out=turns)
    # of half a turn the quotient may round to either whole one
    wrapped[wrapped >= math.pi] = -math.pi
    return np.maximum(wrapped, -math.pi, out=wrapped)


def wrap_positive(angle_rad: FloatArray | float) -> FloatArray:
    """Angle wrapped to [0, 2π), scalar or array of any shape. [rad]"""
    if isinstance(angle_rad, float):
        wrapped = float(angle_rad) % math.tau
        return np.asarray(0.0 if wrapped == math.tau else wrapped)
    turns = np.asarray(np.divide(angle_rad, math.tau))
    np.floor(turns, out=turns)
    turns *= math.tau
    positive: FloatArray = np.subtract(angle_rad, turns, out=turns)
    # close to a full turn the quotient rounds to the next one, and the remainder of a tiny negative angle to a full turn
    if positive.size and (np.minimum.reduce(positive, axis=None) < 0.0 or np.maximum.reduce(positive, axis=None) >= math.tau):
        positive[positive < 0.0] += math.tau
        positive[positive == math.tau] = 0.0
    return positive


def circular_mean(angle_rad: FloatArray) -> float:
    """The mean direction of angles, of which there is at least one, from -π to π. [rad]

    >>> print(f"{circular_mean(np.array([350.0, 20.0]) * DEG) / DEG:.0f}°")
    5°
    """
    return math.atan2(float(np.sin(angle_rad).mean()), float(np.cos(angle_rad).mean()))


def unwrapped(angle_rad: FloatArray) -> FloatArray:
    """Angles one after the other without jumps of half a turn or more, as `numpy.unwrap` has them, but faster. [rad]

    >>> print(np.round(unwrapped(np.array([350.0, 10.0]) * DEG) / DEG))
    [350. 370.]
    """
    # a step of exactly half a turn is left as it is, whichever way, and so is one from or to what is not known
    turns = np.rint((angle_rad[1:] - angle_rad[:-1]) / -math.tau)
    turns[np.isnan(turns)] = 0.0
    whole = angle_rad.copy()
    whole[1:] += math.tau * turns.cumsum()
    return whole


def bearing_text(angle_rad: float) -> str:
    """A course, heading or bearing as pilots write it, in three digits, 360 for north: ``'005°'``.

    >>> bearing_text(5 * DEG), bearing_text(0.0)
    ('005°', '360°')
    """
    whole = round(math.degrees(angle_rad)) % 360
    return f"{whole or 360:03d}°"
