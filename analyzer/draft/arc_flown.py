"""The arc flown before an approach: about its station where that is known, else about the centre of a fitted circle."""

from __future__ import annotations

import math

import numpy as np

from analyzer.draft.fix import FixGiven
from analyzer.frozen import dataclass
from analyzer.legs.arcs import arcs_about
from analyzer.motion.motion import Motion
from analyzer.motion.states import States
from analyzer.physics import geodesy
from analyzer.physics.units import DEG, GRAVITY, NM, FloatArray, unwrapped, wrap

__all__ = ["ArcFlown", "arc_flown"]

_NEAREST_M, _FARTHEST_M = 3.0 * NM, 40.0 * NM
_LEAST_FITTED_RAD = 45.0 * DEG  # of an arc whose centre is fitted: over less, the radius is undetermined
_KEPT_M, _FITTED_M = 0.5 * NM, 0.15 * NM  # root mean square from the radius, about a station and about a fitted centre
_FITTED_SHARE = 0.03  # the latter as a share of the height of the arc over its chord: about the relative error of the radius
_MUCH_BETTER = 0.3  # of the deviation about the fix: with less, the fitted centre is the station
_MOST_BANK_RAD = 10.0 * DEG  # that it requires: more is a turn
_LONGEST_TURN_S = 150.0  # from the end of an arc to the inbound course
_LEAST_S, _STEP_S, _LONGEST_S = 90.0, 30.0, 3600.0  # of the stretch that is fitted
_PATIENCE_S = 600.0  # of path without a fit, after which no arc is expected


@dataclass(frozen=True)
class ArcFlown:
    """An arc flown.

    Attributes
    ----------
    latitude_rad, longitude_rad : float
        The centre.
    given : bool
        Whether the centre is the fix or station as given, and not fitted.
    radius_m : float
        The radius.
    turn : int
        Direction, +1 clockwise, -1 counterclockwise.
    off_m : float
        Root mean square deviation from the radius.
    """

    latitude_rad: float
    longitude_rad: float
    given: bool
    radius_m: float
    turn: int
    off_m: float


def arc_flown(motion: Motion, left_s: float, fix: FixGiven) -> ArcFlown | None:
    """The arc that was left at about an instant, a turn before the inbound course; None if none was flown.

    It is looked for about the given station, else about the fix, else about the centre of the best-fitting circle.
    """
    latitude_deg, longitude_deg = fix.station_deg or (fix.latitude_deg, fix.longitude_deg)
    arc = _about(motion, left_s, latitude_deg * DEG, longitude_deg * DEG)
    if fix.station_deg is None and (arc is None or arc.off_m > _FITTED_M):
        fitted = _longest_fitted(motion, left_s)
        arc = fitted if arc is None or (fitted is not None and fitted.off_m < _MUCH_BETTER * arc.off_m) else arc
    before = motion.states.between(left_s - _LONGEST_TURN_S - _LEAST_S, left_s).ground_speed_mps
    if arc is None or not len(before):
        return None
    # in a coordinated turn the tangent of the bank is v²/(g r)
    return arc if float(np.median(before)) ** 2 / (GRAVITY * arc.radius_m) < math.tan(_MOST_BANK_RAD) else None


def _about(motion: Motion, left_s: float, latitude_rad: float, longitude_rad: float) -> ArcFlown | None:
    """The last arc about a place that ends at about an instant; of several arcs, only the last leads to the approach."""
    arcs = [arc for arc in arcs_about(motion, latitude_rad, longitude_rad) if arc.start_s < left_s]
    if not arcs or arcs[-1].end_s < left_s - _LONGEST_TURN_S or arcs[-1].departure_m > _KEPT_M:
        return None
    arc = arcs[-1]
    return ArcFlown(latitude_rad, longitude_rad, True, arc.radius_m, 1 if arc.swept_rad > 0.0 else -1, arc.departure_m)


def _longest_fitted(motion: Motion, left_s: float) -> ArcFlown | None:
    """The circle of the longest stretch flown on one, up to the turn before an instant."""
    longest: tuple[float, ArcFlown] | None = None
    for turn_s in np.arange(0.0, _LONGEST_TURN_S, _STEP_S):
        end = left_s - float(turn_s)
        if not _bends(motion.states.between(end - _LEAST_S, end)):
            continue
        fits: list[tuple[float, ArcFlown]] = []
        for back in np.arange(_LEAST_S, _LONGEST_S, _STEP_S):
            if back > _PATIENCE_S and (not fits or back > fits[-1][0] + _PATIENCE_S):
                break
            fitted = _fitted(motion.states.between(end - float(back), end))
            fits += [(float(back), fitted)] if fitted is not None else []
        if fits and (longest is None or fits[-1][0] > longest[0]):
            longest = fits[-1]
    return longest[1] if longest is not None else None


def _bends(states: States) -> bool:
    """Whether a stretch bends about as much as an arc, to avoid fits to straight lines and turns."""
    if len(states) < 2:
        return False
    bent = abs(float(wrap(states.track_rad[-1] - states.track_rad[0])))
    flown_m = float(np.mean(states.ground_speed_mps)) * float(states.time_s[-1] - states.time_s[0])
    return 0.5 * _NEAREST_M < flown_m / max(bent, 1e-6) < 2.0 * _FARTHEST_M


def _fitted(states: States) -> ArcFlown | None:
    """The circle that fits a path best, by least squares; None if the path is not an arc."""
    if len(states) < 0.8 * _LEAST_S:
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
    around = unwrapped(np.arctan2(east - b, north - a))
    swept = float(around[-1] - around[0])
    off = _rms(np.hypot(north - a, east - b) - radius)
    bulge = radius * (1.0 - np.cos(min(abs(swept), np.pi) / 2.0))
    if abs(swept) < _LEAST_FITTED_RAD or off > min(_FITTED_M, _FITTED_SHARE * bulge):
        return None
    centre = geodesy.direct(latitude, longitude, float(np.arctan2(b, a)), float(np.hypot(a, b)))
    return ArcFlown(float(centre[0]), float(centre[1]), False, radius, 1 if swept > 0.0 else -1, off)


def _rms(off: FloatArray) -> float:
    return float(np.sqrt(np.mean(off**2)))
