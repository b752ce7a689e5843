"""Gravity, and the apparent accelerations of flight over a rotating, round Earth.

The bank of a level turn balances these, not standard gravity alone: at a jet's height and speed the difference is a fifth of a
degree. All functions take floats or arrays of any shape that broadcast together; NaN in gives NaN out.

References
----------
.. [1] NIMA TR 8350.2, "Department of Defense World Geodetic System 1984", third edition, section 4: Somigliana's formula, its
   constants, and the decrease with height to second order.
.. [2] P. D. Groves, "Principles of GNSS, Inertial, and Multisensor Integrated Navigation Systems", section 5.4: rate of
   change of the velocity in a frame of north, east and down, with its transport and Coriolis terms.
"""

import numpy as np

from analyzer.physics.geodesy import MEAN_RADIUS_M
from analyzer.physics.units import FloatArray

__all__ = ["normal_gravity", "unbanked_acceleration", "weighed_gravity"]

_EQUATOR_MPS2 = 9.7803253359
_SOMIGLIANA = 0.00193185265241
_ECCENTRICITY_SQUARED = 0.00669437999013
_SEMI_MAJOR_M, _FLATTENING = 6_378_137.0, 1.0 / 298.257223563
_CENTRIFUGAL_RATIO = 0.00344978650684  # ω²a²b/GM
_EARTH_RATE_RAD_S = 7.292115e-5


def normal_gravity(latitude_rad: FloatArray | float, height_m: FloatArray | float) -> FloatArray:
    """Normal gravity at a height above the ellipsoid, positive down. [m/s²] Height above mean sea level is accurate enough."""
    squared = np.sin(latitude_rad) ** 2
    surface = _EQUATOR_MPS2 * (1.0 + _SOMIGLIANA * squared) / np.sqrt(1.0 - _ECCENTRICITY_SQUARED * squared)
    height = np.asarray(height_m) / _SEMI_MAJOR_M
    fall = 2.0 * (1.0 + _FLATTENING + _CENTRIFUGAL_RATIO - 2.0 * _FLATTENING * squared) * height - 3.0 * height**2
    gravity: FloatArray = surface * (1.0 - fall)
    return gravity


def weighed_gravity(
    latitude_rad: FloatArray | float,
    height_m: FloatArray | float,
    north_mps: FloatArray | float,
    east_mps: FloatArray | float,
) -> FloatArray:
    """Apparent gravity at a velocity over the ground: normal gravity less the Eötvös effect. [m/s²]"""
    round_the_earth = (np.square(north_mps) + np.square(east_mps)) / MEAN_RADIUS_M
    lifted = round_the_earth + 2.0 * _EARTH_RATE_RAD_S * np.cos(latitude_rad) * east_mps
    weighed: FloatArray = normal_gravity(latitude_rad, height_m) - lifted
    return weighed


def unbanked_acceleration(
    latitude_rad: FloatArray | float, east_mps: FloatArray | float, forward_mps: FloatArray | float
) -> FloatArray:
    """Acceleration to the right that a straight flight shows without bank: Coriolis, and the turning of north along it. [m/s²]

    `forward_mps` is the ground speed along the direction of flight. The acceleration is worth a tenth of a degree of bank in a
    light single at mid latitudes, three times that in a jet.
    """
    turning = 2.0 * _EARTH_RATE_RAD_S + east_mps / (MEAN_RADIUS_M * np.cos(latitude_rad))
    acceleration: FloatArray = turning * np.sin(latitude_rad) * forward_mps
    return acceleration
