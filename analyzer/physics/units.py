"""Constants and conversions. Inside the program everything is SI and radians; these factors are for the edges.

Multiply by a factor to come in (``5 * NM`` is metres), divide by it to go out (``distance_m / NM``).
The nautical mile, foot and standard gravity are exact by definition.
"""

import math
from typing import TypeAlias

import numpy as np
import numpy.typing as npt

__all__ = ["DEG", "FPM", "FT", "GRAVITY", "KT", "NM", "BoolArray", "FloatArray", "bearing_text", "wrap", "wrap_positive"]

FloatArray: TypeAlias = npt.NDArray[np.float64]
BoolArray: TypeAlias = npt.NDArray[np.bool_]

NM = 1852.0  # metres in a nautical mile
FT = 0.3048  # metres in a foot
KT = NM / 3600.0  # metres a second in a knot
FPM = FT / 60.0  # metres a second in a foot a minute
DEG = math.pi / 180.0  # radians in a degree
GRAVITY = 9.80665  # standard gravity [m/s²]


def wrap(angle_rad: FloatArray | float) -> FloatArray:
    """Angle brought into [-π, π). [rad] Any shape, scalars too.

    >>> print(f"{wrap(350 * DEG) / DEG:.0f}°")
    -10°
    """
    return wrap_positive(np.asarray(angle_rad) + math.pi) - math.pi


def wrap_positive(angle_rad: FloatArray | float) -> FloatArray:
    """Angle brought into [0, 2π). [rad] Any shape, scalars too."""
    turned = np.mod(angle_rad, math.tau)
    # the remainder of a tiny negative angle rounds to the whole turn
    positive: FloatArray = np.where(turned == math.tau, 0.0, turned)
    return positive


def bearing_text(angle_rad: float) -> str:
    """A course, heading or bearing as pilots write it: three digits, 360 for north, the degree sign.

    >>> bearing_text(5 * DEG), bearing_text(0.0)
    ('005°', '360°')
    """
    whole = round(math.degrees(angle_rad)) % 360
    return f"{whole or 360:03d}°"
