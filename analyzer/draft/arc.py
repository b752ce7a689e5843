"""The arc that an approach came in by: its station where that is known, else the centre of the circle that was flown."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from analyzer.draft.fix import FixGiven
from analyzer.legs.arcs import arcs_about
from analyzer.legs.model import Part
from analyzer.motion.model import Motion, States
from analyzer.physics import geodesy
from analyzer.physics.units import DEG, NM, FloatArray

__all__ = ["ArcFlown", "arc_flown"]

_NEAREST_M, _FARTHEST_M = 3.0 * NM, 40.0 * NM
_LEAST_FITTED_RAD = 45.0 * DEG  # of an arc whose centre is told by its curve: over less, the radius is anyone's guess
_KEPT_M, _FITTED_M = 0.5 * NM, 0.15 * NM  # root mean square from the radius, about a station and about a fitted centre


@dataclass(frozen=True)
class ArcFlown:
    """An arc: its centre, whether that is the fix or station as given, its radius, and the way round, +1 right. [rad, m]"""

    latitude_rad: float
    longitude_rad: float
    given: bool
    radius_m: float
    turn: int


def arc_flown(motion: Motion, part: Part, fix: FixGiven) -> ArcFlown | None:
    """The arc that a part of an approach was flown on; None where it was on none.

    Looked for about the station that is given, else about the fix, else about the centre of the circle that fits the part best.
    """
    states = motion.states.between(part.start_s, part.end_s)
    latitude_deg, longitude_deg = fix.station_deg or (fix.latitude_deg, fix.longitude_deg)
    about = _about(motion, part, states, latitude_deg * DEG, longitude_deg * DEG)
    return about if about is not None or fix.station_deg is not None else _fitted(states)


def _about(motion: Motion, part: Part, states: States, latitude_rad: float, longitude_rad: float) -> ArcFlown | None:
    """The longest arc about a place within a part."""
    distance, _ = geodesy.inverse_near(latitude_rad, longitude_rad, states.latitude_rad, states.longitude_rad)
    arcs = arcs_about(motion, latitude_rad, longitude_rad)
    shared = [(min(arc.end_s, part.end_s) - max(arc.start_s, part.start_s), arc) for arc in arcs]
    seconds, arc = max(shared, key=lambda pair: pair[0], default=(0.0, None))
    if arc is None or seconds <= 0.0 or _rms(distance - arc.radius_m) > _KEPT_M:
        return None
    return ArcFlown(latitude_rad, longitude_rad, True, arc.radius_m, 1 if arc.swept_rad > 0.0 else -1)


def _fitted(states: States) -> ArcFlown | None:
    """The circle that fits a path best, by least squares of the distances from it."""
    if len(states) < 10:
        return None
    middle = len(states) // 2
    latitude, longitude = float(states.latitude_rad[middle]), float(states.longitude_rad[middle])
    distance, bearing = geodesy.inverse_near(latitude, longitude, states.latitude_rad, states.longitude_rad)
    north, east = distance * np.cos(bearing), distance * np.sin(bearing)
    # the algebraic fit first: x² + y² = 2 a x + 2 b y + c is linear in its centre
    design = np.stack([2.0 * north, 2.0 * east, np.ones_like(north)], axis=1)
    (a, b, c), *_ = np.linalg.lstsq(design, north**2 + east**2, rcond=None)
    radius = float(np.sqrt(max(c + a * a + b * b, 0.0)))
    if not _NEAREST_M < radius < _FARTHEST_M:
        return None
    around = np.unwrap(np.arctan2(east - b, north - a))
    swept = float(around[-1] - around[0])
    if abs(swept) < _LEAST_FITTED_RAD or _rms(np.hypot(north - a, east - b) - radius) > _FITTED_M:
        return None
    centre = geodesy.direct(latitude, longitude, float(np.arctan2(b, a)), float(np.hypot(a, b)))
    return ArcFlown(float(centre[0]), float(centre[1]), False, radius, 1 if swept > 0.0 else -1)


def _rms(off: FloatArray) -> float:
    return float(np.sqrt(np.mean(off**2)))
