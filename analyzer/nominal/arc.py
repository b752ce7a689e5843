"""An arc around a point, flown through a steady wind on headings along the tangent, corrected for drift."""

from __future__ import annotations

import math

import numpy as np

from analyzer.frozen import dataclass
from analyzer.nominal.fly import Air, Path
from analyzer.physics.units import FloatArray

__all__ = ["Arc", "fly_arc", "heading_on_arc"]

_STEP_S = 0.5


@dataclass(frozen=True)
class Arc:
    """An arc to fly: its centre (metres north and east), direction (+1 clockwise), and the bearing from the centre it ends at.

    The radius is the distance of the start from the centre.
    """

    centre_m: tuple[float, float]
    direction: int
    to_bearing_rad: float


def heading_on_arc(bearing_rad: FloatArray | float, direction: int, air: Air) -> tuple[FloatArray, FloatArray]:
    """Heading and ground speed that hold an arc at a bearing from its centre; NaN where the wind is too strong. [rad, m/s]"""
    track = np.asarray(bearing_rad) + direction * math.pi / 2.0
    across = air.wind_east_mps * np.cos(track) - air.wind_north_mps * np.sin(track)
    along = air.wind_north_mps * np.cos(track) + air.wind_east_mps * np.sin(track)
    with np.errstate(invalid="ignore"):
        correction = -np.arcsin(across / air.true_airspeed_mps)
    speed = air.true_airspeed_mps * np.cos(correction) + along
    return track + correction, np.where(speed > 0.0, speed, np.nan)


def fly_arc(arc: Arc, air: Air, start_m: tuple[float, float]) -> Path:
    """The path of an arc from a start (metres north and east); its only segment ends at the last node."""
    from_centre = start_m[0] - arc.centre_m[0], start_m[1] - arc.centre_m[1]
    radius, begin = math.hypot(*from_centre), math.atan2(from_centre[1], from_centre[0])
    sweep = (arc.direction * (arc.to_bearing_rad - begin)) % math.tau
    steps = max(2, math.ceil(radius * sweep / air.true_airspeed_mps / _STEP_S))
    bearing = begin + arc.direction * np.linspace(0.0, sweep, steps + 1)
    heading, speed = heading_on_arc(bearing, arc.direction, air)
    slowness = 1.0 / speed
    step = radius * sweep / steps * (slowness[1:] + slowness[:-1]) / 2.0
    time = np.concatenate([[0.0], np.cumsum(step)])
    north = arc.centre_m[0] + radius * np.cos(bearing)
    east = arc.centre_m[1] + radius * np.sin(bearing)
    return Path(time, north, east, heading, (steps,))
