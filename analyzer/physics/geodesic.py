"""Geodesics of up to a few hundred kilometres on the WGS 84 ellipsoid, one at a time, by plain arithmetic.

A debrief has some twenty such lines, from fix to runway, say. `analyzer.physics.geodesy` gives them to this module because
PROJ, which does many at once and those halfway round the Earth, takes as long to load as numpy.

The line is a great circle of the auxiliary sphere. Distance and difference of longitude along it are series in the third
flattening n and in ε, which is below 0.0017; what they leave out is below a nanometre here.

References
----------
.. [1] C. F. F. Karney, "Algorithms for geodesics", J. Geodesy 87 (2013), 43-55: equations (5), (8), (10), (16) to (18),
   (20), (21), (23) to (25).
.. [2] T. Vincenty, "Direct and inverse solutions of geodesics on the ellipsoid with application of nested equations", Survey
   Review 23 (1975), 88-93: that the longitude on the sphere is found by substitution.
"""

import math

__all__ = ["ECCENTRICITY_SQUARED", "EQUATOR_M", "NEAR_RAD", "direct_near", "inverse_line"]

EQUATOR_M = 6_378_137.0  # equatorial radius of WGS 84
_FLATTENING = 1.0 / 298.257223563
ECCENTRICITY_SQUARED = 1.0 - (1.0 - _FLATTENING) ** 2
NEAR_RAD = 0.15  # as far as lines are worked out here, as an angle at the Earth's centre: some 950 km

_POLAR_M = EQUATOR_M * (1.0 - _FLATTENING)
_N = _FLATTENING / (2.0 - _FLATTENING)
_SECOND_ECCENTRICITY_SQUARED = ECCENTRICITY_SQUARED / (1.0 - ECCENTRICITY_SQUARED)
_SETTLED_RAD = 1e-15
_MOST_STEPS = 20  # each shortens what is left by a factor of some 300


def inverse_line(latitude_1_rad: float, latitude_2_rad: float, longitude_difference_rad: float) -> tuple[float, float] | None:
    """Length of the geodesic from point 1 to point 2, and its bearing at point 1.

    Returns
    -------
    distance_m, bearing_rad : floats
        Length [m], and true bearing from -π to π, 0 where the points coincide [rad]. None where the points are farther apart
        than `NEAR_RAD`, or a value is not finite.
    """
    sine_1, cosine_1 = _reduced(latitude_1_rad)
    sine_2, cosine_2 = _reduced(latitude_2_rad)
    longitude = math.remainder(longitude_difference_rad, math.tau) if math.isfinite(longitude_difference_rad) else math.nan
    omega = longitude
    for _ in range(_MOST_STEPS):
        east, north = cosine_2 * math.sin(omega), cosine_1 * sine_2 - sine_1 * cosine_2 * math.cos(omega)
        arc = math.atan2(math.hypot(east, north), sine_1 * sine_2 + cosine_1 * cosine_2 * math.cos(omega))
        if not arc < NEAR_RAD:
            return None
        bearing = math.atan2(east, north)
        sine_0 = math.sin(bearing) * cosine_1
        begins = math.atan2(sine_1, math.cos(bearing) * cosine_1)
        epsilon = _epsilon(sine_0)
        before, omega = omega, longitude + _FLATTENING * sine_0 * _longitude_integral(begins, arc, epsilon)
        if abs(omega - before) <= _SETTLED_RAD:
            break
    return _POLAR_M * _distance_integral(begins, arc, epsilon), bearing


def direct_near(latitude_rad: float, bearing_rad: float, distance_m: float) -> tuple[float, float] | None:
    """Latitude of the point at a distance on a true bearing, and its difference of longitude. [rad]

    None where the distance is beyond `NEAR_RAD`, or a value is not finite.
    """
    if not abs(distance_m) < NEAR_RAD * _POLAR_M or not math.isfinite(latitude_rad + bearing_rad):
        return None
    sine_1, cosine_1 = _reduced(latitude_rad)
    sine_0 = math.sin(bearing_rad) * cosine_1
    cosine_0 = math.hypot(math.cos(bearing_rad), math.sin(bearing_rad) * sine_1)
    begins = math.atan2(sine_1, math.cos(bearing_rad) * cosine_1)
    epsilon = _epsilon(sine_0)
    reached = distance_m / _POLAR_M
    arc = reached
    for _ in range(_MOST_STEPS):  # the integral is the arc within ε: what is missing shortens as fast
        missing = reached - _distance_integral(begins, arc, epsilon)
        arc += missing
        if abs(missing) <= _SETTLED_RAD:
            break
    ends = begins + arc
    sine_2 = cosine_0 * math.sin(ends)
    latitude = math.atan2(sine_2, (1.0 - _FLATTENING) * math.hypot(sine_0, cosine_0 * math.cos(ends)))
    at_end, at_begin = (math.atan2(sine_0 * math.sin(place), math.cos(place)) for place in (ends, begins))
    longitude = at_end - at_begin - _FLATTENING * sine_0 * _longitude_integral(begins, arc, epsilon)
    return latitude, longitude


def _reduced(latitude_rad: float) -> tuple[float, float]:
    """Sine and cosine of the reduced latitude."""
    sine, cosine = (1.0 - _FLATTENING) * math.sin(latitude_rad), math.cos(latitude_rad)
    length = math.hypot(sine, cosine)
    return sine / length, cosine / length


def _epsilon(sine_0: float) -> float:
    """The parameter of the series, by the sine of the bearing at which the line crosses the equator (16)."""
    root = math.sqrt(1.0 + _SECOND_ECCENTRICITY_SQUARED * (1.0 - sine_0 * sine_0))
    return (root - 1.0) / (root + 1.0)


def _distance_integral(begins_rad: float, arc_rad: float, epsilon: float) -> float:
    """Length along the line, in polar radii (15), with A1 and C1 of (17) and (18)."""
    squared = epsilon * epsilon
    once, twice, thrice, four_times = _waves(begins_rad, arc_rad)
    waves = (
        epsilon * (-1.0 / 2.0 + squared * 3.0 / 16.0) * once
        + squared * (-1.0 / 16.0 + squared / 32.0) * twice
        - squared * epsilon / 48.0 * thrice
        - squared * squared * 5.0 / 512.0 * four_times
    )
    return (1.0 + squared * (1.0 / 4.0 + squared / 64.0)) / (1.0 - epsilon) * (arc_rad + waves)


def _longitude_integral(begins_rad: float, arc_rad: float, epsilon: float) -> float:
    """What the longitude of the sphere exceeds that of the ellipsoid by (8), over f sin α0, with A3 and C3 of (24) and (25)."""
    squared = epsilon * epsilon
    once, twice, thrice, _ = _waves(begins_rad, arc_rad)
    scale = (
        1.0
        - (1.0 / 2.0 - _N / 2.0) * epsilon
        - (1.0 / 4.0 + _N / 8.0 - 3.0 * _N * _N / 8.0) * squared
        - (1.0 / 16.0 + 3.0 * _N / 16.0) * squared * epsilon
    )
    waves = (
        epsilon * (1.0 / 4.0 - _N / 4.0 + (1.0 / 8.0 - _N * _N / 8.0) * epsilon + (3.0 + 3.0 * _N) / 64.0 * squared) * once
        + squared * (1.0 / 16.0 - 3.0 * _N / 32.0 + _N * _N / 32.0 + (3.0 / 64.0 - _N / 32.0) * epsilon) * twice
        + squared * epsilon * (5.0 / 192.0 - 3.0 * _N / 64.0) * thrice
    )
    return scale * (arc_rad + waves)


def _waves(begins_rad: float, arc_rad: float) -> tuple[float, float, float, float]:
    """By how much sin 2lσ grows along the line, for l from 1 to 4."""
    middle = 2.0 * begins_rad + arc_rad
    cosine, sine, along = math.cos(middle), math.sin(arc_rad), math.cos(arc_rad)
    cosine_2, sine_2 = 2.0 * cosine * cosine - 1.0, 2.0 * sine * along
    return (
        2.0 * cosine * sine,
        2.0 * cosine_2 * sine_2,
        2.0 * cosine * (2.0 * cosine_2 - 1.0) * sine * (3.0 - 4.0 * sine * sine),
        2.0 * (2.0 * cosine_2 * cosine_2 - 1.0) * 2.0 * sine_2 * (1.0 - 2.0 * sine * sine),
    )
