"""The arc that an approach came in by: its station where that is known, else the centre of the circle that was flown."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from analyzer.draft.fix import FixGiven
from analyzer.legs.arcs import arcs_about
from analyzer.legs.model import Part
from analyzer.motion.model import Motion, States
from analyzer.physics import geodesy
from analyzer.physics.units import DEG, GRAVITY, NM, FloatArray

__all__ = ["ArcFlown", "arc_flown"]

_NEAREST_M, _FARTHEST_M = 3.0 * NM, 40.0 * NM
_LEAST_FITTED_RAD = 45.0 * DEG  # of an arc whose centre is told by its curve: over less, the radius is anyone's guess
_KEPT_M, _FITTED_M = 0.5 * NM, 0.15 * NM  # root mean square from the radius, about a station and about a fitted centre
_FITTED_SHARE = 0.03  # the latter, of how far the arc bulges from its chord: about what it leaves open of the radius
_MUCH_BETTER = 0.3  # by so much the less off, the fitted centre is the station's and the fix is not
_MOST_BANK_RAD = 10.0 * DEG  # that it takes: more is a turn
_LED_OFF_S = 90.0  # from the end of an arc to that of the part that it is in: the turn off it is led
_LEAST_S, _STEP_S, _LONGEST_S = 90.0, 30.0, 3600.0  # of the stretch that is fitted


@dataclass(frozen=True)
class ArcFlown:
    """An arc: its centre, whether that is the fix or station as given, its radius, and the way round, +1 right. [rad, m]

    `off_m` is the root mean square of the departures from the radius.
    """

    latitude_rad: float
    longitude_rad: float
    given: bool
    radius_m: float
    turn: int
    off_m: float


def arc_flown(motion: Motion, part: Part, fix: FixGiven) -> ArcFlown | None:
    """The arc that a part of an approach was flown on; None where it was on none.

    Looked for about the station that is given, else about the fix, else about the centre of the circle that fits the part best.
    """
    latitude_deg, longitude_deg = fix.station_deg or (fix.latitude_deg, fix.longitude_deg)
    found = _about(motion, part, latitude_deg * DEG, longitude_deg * DEG)
    if fix.station_deg is None and (found is None or found.off_m > _FITTED_M):
        fitted = _longest_fitted(motion, part)
        found = fitted if found is None or (fitted is not None and fitted.off_m < _MUCH_BETTER * found.off_m) else found
    speed = float(np.median(motion.states.between(part.start_s, part.end_s).ground_speed_mps))
    # in a coordinated turn the tangent of the bank is v²/(g r)
    return found if found is not None and speed**2 / (GRAVITY * found.radius_m) < math.tan(_MOST_BANK_RAD) else None


def _about(motion: Motion, part: Part, latitude_rad: float, longitude_rad: float) -> ArcFlown | None:
    """The last arc about a place in a part, where both end together: who changes arcs comes in by the last."""
    arcs = arcs_about(motion, latitude_rad, longitude_rad)
    within = [arc for arc in arcs if part.start_s < arc.end_s and arc.start_s < part.end_s]
    if not within or part.end_s - within[-1].end_s > _LED_OFF_S or within[-1].departure_m > _KEPT_M:
        return None
    arc = within[-1]
    return ArcFlown(latitude_rad, longitude_rad, True, arc.radius_m, 1 if arc.swept_rad > 0.0 else -1, arc.departure_m)


def _longest_fitted(motion: Motion, part: Part) -> ArcFlown | None:
    """The circle of the longest stretch up to the end of a part that was flown on one.

    The part may hold less of the arc than was flown, or more than the arc, as it is told by distances from the fix.
    """
    found = None
    for back in np.arange(_LEAST_S, _LONGEST_S, _STEP_S):
        if part.end_s - back < motion.states.time_s[0]:
            break
        found = _fitted(motion.states.between(part.end_s - float(back), part.end_s)) or found
    return found


def _fitted(states: States) -> ArcFlown | None:
    """The circle that fits a path best, by least squares; None where the path is no arc of one."""
    if len(states) < _LEAST_S:
        return None
    middle = len(states) // 2
    latitude, longitude = float(states.latitude_rad[middle]), float(states.longitude_rad[middle])
    distance, bearing = geodesy.inverse_near(latitude, longitude, states.latitude_rad, states.longitude_rad)
    north, east = distance * np.cos(bearing), distance * np.sin(bearing)
    # x² + y² = 2 a x + 2 b y + c is linear in the centre (a, b)
    design = np.stack([2.0 * north, 2.0 * east, np.ones_like(north)], axis=1)
    (a, b, c), *_ = np.linalg.lstsq(design, north**2 + east**2, rcond=None)
    radius = float(np.sqrt(max(c + a * a + b * b, 0.0)))
    if not _NEAREST_M < radius < _FARTHEST_M:
        return None
    around = np.unwrap(np.arctan2(east - b, north - a))
    swept = float(around[-1] - around[0])
    off = _rms(np.hypot(north - a, east - b) - radius)
    bulge = radius * (1.0 - np.cos(min(abs(swept), np.pi) / 2.0))
    if abs(swept) < _LEAST_FITTED_RAD or off > min(_FITTED_M, _FITTED_SHARE * bulge):
        return None
    centre = geodesy.direct(latitude, longitude, float(np.arctan2(b, a)), float(np.hypot(a, b)))
    return ArcFlown(float(centre[0]), float(centre[1]), False, radius, 1 if swept > 0.0 else -1, off)


def _rms(off: FloatArray) -> float:
    return float(np.sqrt(np.mean(off**2)))
