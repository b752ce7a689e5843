"""Steady, level, coordinated turns: speed, bank, rate and radius.

All functions take floats or arrays of any shape that broadcast together; NaN in gives NaN out. Bank, rate and radius have
the same sign, positive to the right. The speed is the true airspeed: over the ground, rate and radius vary with the wind.

References
----------
.. [1] FAA-H-8083-25C, "Pilot's Handbook of Aeronautical Knowledge", chapter 5, "Basic Flight Maneuvers in Turns"; here with
   standard gravity instead of its rounded constants.

"""

import numpy as np

from analyzer.physics.units import DEG, GRAVITY, FloatArray

__all__ = ["STANDARD_RATE_RADPS", "bank_for_rate", "turn_radius", "turn_rate"]

STANDARD_RATE_RADPS = 3.0 * DEG  # a full turn in two minutes


def turn_rate(speed_mps: FloatArray | float, bank_rad: FloatArray | float) -> FloatArray:
    """Rate of turn at a bank. [rad/s] The speed must not be 0."""
    rate: FloatArray = GRAVITY * np.tan(bank_rad) / np.asarray(speed_mps)
    return rate


def turn_radius(speed_mps: FloatArray | float, bank_rad: FloatArray | float) -> FloatArray:
    """Radius of turn at a bank; infinite with the wings level. [m]

    >>> from analyzer.physics.units import KT, NM
    >>> print(f"{turn_radius(120 * KT, 30 * DEG) / NM:.2f} NM")
    0.36 NM
    """
    speed = np.asarray(speed_mps, dtype=np.float64)
    with np.errstate(divide="ignore"):
        radius: FloatArray = speed * speed / (GRAVITY * np.tan(bank_rad))
    return radius


def bank_for_rate(speed_mps: FloatArray | float, rate_radps: FloatArray | float) -> FloatArray:
    """Bank for a rate of turn. [rad]

    >>> from analyzer.physics.units import KT
    >>> print(f"{bank_for_rate(120 * KT, STANDARD_RATE_RADPS) / DEG:.0f}°")
    18°
    """
    bank: FloatArray = np.arctan(np.asarray(speed_mps) * rate_radps / GRAVITY)
    return bank
