"""Geodesy on the WGS 84 ellipsoid: distances, bearings, and a local frame of metres north and east.

All functions take and return floats or arrays of any shape that broadcast together, in metres and radians. Latitudes are
geodetic; longitudes may exceed ±π. NaN in gives NaN out.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from functools import cache
from typing import TYPE_CHECKING

import numpy as np

from analyzer.physics.geodesic import ECCENTRICITY_SQUARED, EQUATOR_M, direct_near, inverse_line
from analyzer.physics.units import FloatArray, wrap, wrap_positive

if TYPE_CHECKING:
    from pyproj import Geod

__all__ = [
    "CONE_HALF_ANGLE_RAD",
    "MEAN_RADIUS_M",
    "cone_radius",
    "cross_track",
    "direct",
    "inverse",
    "inverse_near",
    "north_east",
    "offset",
    "slant_range",
]

MEAN_RADIUS_M = 6_371_008.8  # (2a + b)/3 of WGS 84
# Half angle of the cone of ambiguity above a station, from the vertical (ICAO Doc 8168 Vol. I, Part I, section 2, 2.4.4).
CONE_HALF_ANGLE_RAD = {"vor": math.radians(50.0), "ndb": math.radians(40.0)}

# Short lines that are worked out one by one; more of them are worth loading PROJ. Many ends are those of a planned track.
_FEW, _FEW_ENDS = 16, 2000
_NEAR_M = 200_000.0
_SPOT_M2 = 1e-12  # keeps the bearing from a point to itself defined


def inverse(
    latitude_1_rad: FloatArray | float,
    longitude_1_rad: FloatArray | float,
    latitude_2_rad: FloatArray | float,
    longitude_2_rad: FloatArray | float,
) -> tuple[FloatArray, FloatArray]:
    """Geodesic distance from point 1 to point 2, and the bearing of point 2 at point 1.

    Returns
    -------
    distance_m : array
        Within nanometres of the exact geodesic. [m]
    bearing_rad : array
        True bearing at point 1, from 0 to 2π; meaningless where the points coincide. [rad]

    References
    ----------
    .. [1] C. F. F. Karney, "Algorithms for geodesics", J. Geodesy 87 (2013), 43-55, as implemented in PROJ.

    Examples
    --------
    A degree of latitude is some 60 NM:

    >>> from analyzer.physics.units import DEG, NM
    >>> distance, bearing = inverse(48 * DEG, -24 * DEG, 49 * DEG, -24 * DEG)
    >>> print(f"{distance / NM:.2f} NM on {bearing / DEG:.0f}°")
    60.04 NM on 0°
    """
    x_1, y_1, x_2, y_2 = _broadcast(longitude_1_rad, latitude_1_rad, longitude_2_rad, latitude_2_rad)
    short = _one_by_one(inverse_line, _FEW, y_1, y_2, x_2 - x_1)
    if short is not None:
        distance, bearing = short
    else:
        bearing, _, distance = _proj().inv(x_1, y_1, x_2, y_2, radians=True)
    return np.asarray(distance), np.asarray(wrap_positive(np.asarray(bearing)))


def inverse_near(
    latitude_rad: float, longitude_rad: float, latitudes_rad: FloatArray, longitudes_rad: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Distances and bearings from one point to many: `inverse` for nearby points, in a tenth of its time.

    Within 200 km the distance is the chord through the Earth, lengthened to an arc with the radius of curvature in its
    direction. It is accurate to 3 mm and 4e-5°, and to 0.01 mm at 50 km. Farther points are passed to `inverse`.

    Returns
    -------
    distance_m, bearing_rad : arrays
        Distance [m], and true bearing at the point, from 0 to 2π [rad].
    """
    x0, y0, z0 = _cartesian(np.asarray(latitude_rad), np.asarray(longitude_rad))
    x, y, z = _cartesian(latitudes_rad, longitudes_rad)
    dx, dy, dz = x - x0, y - y0, z - z0
    sin_lat, cos_lat, sin_lon, cos_lon = (f(a) for a in (latitude_rad, longitude_rad) for f in (np.sin, np.cos))
    outward = cos_lon * dx + sin_lon * dy
    east, north = cos_lon * dy - sin_lon * dx, cos_lat * dz - sin_lat * outward
    chord = np.sqrt(dx * dx + dy * dy + dz * dz)
    bearing = np.mod(np.arctan2(east, north), math.tau)
    meridian, parallel = _radii(np.asarray(latitude_rad))
    across = parallel / cos_lat
    north_squared, east_squared = north * north + _SPOT_M2, east * east
    radius = (north_squared + east_squared) / (north_squared / meridian + east_squared / across)
    distance = 2.0 * radius * np.arcsin(np.minimum(chord / (2.0 * radius), 1.0))
    far = distance > _NEAR_M
    if far.any():
        distance[far], bearing[far] = inverse(latitude_rad, longitude_rad, latitudes_rad[far], longitudes_rad[far])
    return distance, bearing


def _cartesian(latitude_rad: FloatArray, longitude_rad: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Earth-centred coordinates of points on the ellipsoid. [m]"""
    sine, cosine = np.sin(latitude_rad), np.cos(latitude_rad)
    normal = EQUATOR_M / np.sqrt(1.0 - ECCENTRICITY_SQUARED * sine * sine)
    return (
        normal * cosine * np.cos(longitude_rad),
        normal * cosine * np.sin(longitude_rad),
        normal * (1.0 - ECCENTRICITY_SQUARED) * sine,
    )


def direct(
    latitude_rad: FloatArray | float,
    longitude_rad: FloatArray | float,
    bearing_rad: FloatArray | float,
    distance_m: FloatArray | float,
) -> tuple[FloatArray, FloatArray]:
    """Latitude and longitude of the point at a distance on a true bearing; longitude from -π to π. [rad]

    References
    ----------
    .. [1] As `inverse`.

    Examples
    --------
    >>> from analyzer.physics.units import DEG, NM
    >>> latitude, longitude = direct(48.35 * DEG, -24.70 * DEG, 53 * DEG, 10 * NM)
    >>> print(f"{latitude / DEG:.4f} {longitude / DEG:.4f}")
    48.4501 -24.5001
    """
    x, y, bearing, distance = _broadcast(longitude_rad, latitude_rad, bearing_rad, distance_m)
    short = _one_by_one(direct_near, _FEW_ENDS, y, bearing, distance)
    if short is not None:
        latitude, longitude = short[0], x + short[1]
    else:
        longitude, latitude, _ = _proj().fwd(x, y, bearing, distance, radians=True)
    return np.asarray(latitude), np.asarray(wrap(np.asarray(longitude)))


def slant_range(distance_m: FloatArray | float, height_m: FloatArray | float) -> FloatArray:
    """Slant range from a station to a point at a height above it, which is what a DME reads. [m]

    Over a flat Earth: at 100 km the curvature changes it by less than 1 m per 100 m of height.

    >>> from analyzer.physics.units import FT, NM
    >>> print(f"{slant_range(5 * NM, 6000 * FT) / NM:.1f} DME")
    5.1 DME
    """
    slant: FloatArray = np.hypot(distance_m, height_m)
    return slant


def cross_track(distance_m: FloatArray | float, angle_rad: FloatArray | float) -> FloatArray:
    """Cross-track distance from a course through a point, for a position given by distance and angle from that point.

    Parameters
    ----------
    distance_m : float or array
        Distance of the position from the point. [m]
    angle_rad : float or array
        Bearing of the position less the course's direction, both at the point. [rad]

    Returns
    -------
    array
        Positive right of the course. [m]

    Notes
    -----
    Napier's rule on a sphere of the mean radius, ``R asin(sin(d/R) sin A)``. With distance and angle from `inverse` it is
    within 0.2 mm of the value on the ellipsoid at 10 NM, and within 0.1 m at 100 NM.

    Examples
    --------
    The pilot's one in sixty, a degree at 60 NM:

    >>> from analyzer.physics.units import DEG, NM
    >>> print(f"{cross_track(60 * NM, 1 * DEG) / NM:.2f} NM")
    1.05 NM
    """
    arc = np.asarray(distance_m) / MEAN_RADIUS_M
    across: FloatArray = MEAN_RADIUS_M * np.arcsin(np.sin(arc) * np.sin(angle_rad))
    return across


def cone_radius(height_m: FloatArray | float, kind: str) -> FloatArray:
    """Radius of the cone of ambiguity at a height above a station. [m]

    Inside the cone a course deviation is meaningless. 0 below the station, and for kinds other than ``vor`` and ``ndb``.

    References
    ----------
    .. [1] ICAO Doc 8168 (PANS-OPS) Volume I, Part I, section 2, 2.4.4: 50° from the vertical for a VOR, 40° for an NDB.

    """
    above: FloatArray = np.maximum(height_m, 0.0)
    return above * math.tan(CONE_HALF_ANGLE_RAD.get(kind, 0.0))


def north_east(latitude_rad: FloatArray, longitude_rad: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Distance made good to the north and east since the first sample, along a path. [m]

    Each step is measured along the meridian and the parallel, with the radii of curvature at its middle latitude, and the
    steps are summed. The axes are therefore true north and true east at every sample, and derivatives are velocities; a plane
    fixed at one point turns away from north by the convergence of the meridians, 3° in 300 km at mid latitudes. In exchange the
    coordinates depend on the path: use them for differences along it, not for distances between far samples.

    A NaN makes every later sample NaN. Not for tracks over a pole.
    """
    latitude, longitude = np.asarray(latitude_rad, dtype=np.float64), np.asarray(longitude_rad, dtype=np.float64)
    meridional, parallel = _radii(0.5 * (latitude[1:] + latitude[:-1]))
    north, east = np.zeros_like(latitude), np.zeros_like(longitude)
    np.cumsum(meridional * np.diff(latitude), out=north[1:])
    np.cumsum(parallel * wrap(np.diff(longitude)), out=east[1:])
    if latitude.size and math.isnan(latitude[0] + longitude[0]):
        north[0] = east[0] = math.nan
    return north, east


def offset(
    latitude_rad: FloatArray | float,
    longitude_rad: FloatArray | float,
    north_m: FloatArray | float,
    east_m: FloatArray | float,
) -> tuple[FloatArray, FloatArray]:
    """Latitude and longitude of a point offset by metres north and east from another, the inverse of a step of `north_east`.

    For offsets of up to a few kilometres. Longitude from -π to π. [rad]
    """
    half_step = 0.5 * np.asarray(north_m) / _meridional_radius(np.asarray(latitude_rad, dtype=np.float64))
    meridional, parallel = _radii(latitude_rad + half_step)
    return latitude_rad + north_m / meridional, wrap(longitude_rad + east_m / parallel)


@cache
def _proj() -> Geod:
    """PROJ's geodesics, which take as long to load as numpy."""
    from pyproj import Geod

    return Geod(ellps="WGS84")


def _one_by_one(
    line: Callable[[float, float, float], tuple[float, float] | None], most: int, *parts: FloatArray
) -> FloatArray | None:
    """The two results for each line, by arrays of one shape; None where there are more than `most`, or one is long."""
    if parts[0].size > most:
        return None
    lines = [found for given in zip(*(part.ravel().tolist() for part in parts), strict=True) if (found := line(*given))]
    return np.reshape(np.transpose(lines), (2, *parts[0].shape)) if len(lines) == parts[0].size else None


def _broadcast(*parts: FloatArray | float) -> list[FloatArray]:
    """Arrays broadcast to one shape, each a copy, because PROJ overwrites its arguments."""
    return [np.array(part, dtype=np.float64) for part in np.broadcast_arrays(*parts)]


def _meridional_radius(latitude_rad: FloatArray) -> FloatArray:
    """Radius of curvature of the meridian. [m]"""
    sine = np.sin(latitude_rad)
    squared = 1.0 - ECCENTRICITY_SQUARED * sine * sine
    radius: FloatArray = EQUATOR_M * (1.0 - ECCENTRICITY_SQUARED) / (squared * np.sqrt(squared))
    return radius


def _radii(latitude_rad: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Radius of curvature of the meridian, and radius of the parallel. [m]"""
    sine = np.sin(latitude_rad)
    squared = 1.0 - ECCENTRICITY_SQUARED * sine * sine
    prime_vertical = EQUATOR_M / np.sqrt(squared)
    return prime_vertical * (1.0 - ECCENTRICITY_SQUARED) / squared, prime_vertical * np.cos(latitude_rad)
