"""Indicated from true airspeed, and the true airspeed of one who holds the indicated one.

The air is the standard atmosphere, or that of the day as far as the user gave it.
Indicated stands for calibrated airspeed: a log does not show the instrument's error.
"""

from __future__ import annotations

import math

import numpy as np

from analyzer.physics import atmosphere
from analyzer.physics.quantiles import median
from analyzer.physics.units import FloatArray
from analyzer.procedure.charted import Charted
from analyzer.track.air import PRESSURE_SD_PA, Air

__all__ = ["held_airspeed", "indicated_airspeed", "indicated_share_sd"]

# From here on those who fly there hold the Mach number (common practice, no source), and nobody indicates more below.
_MACH_HELD_FROM_M, _FASTEST_INDICATED_MPS, _FASTEST_MACH = 9000.0, 165.0, 0.95
# Assumptions, no source: how far the air is off the standard atmosphere, or off the values given.
_TEMPERATURE_SD_K, _GIVEN_TEMPERATURE_SD_K = 10.0, 3.0
_GIVEN_PRESSURE_SD_PA = 100.0


def indicated_airspeed(true_airspeed_mps: FloatArray, altitude_m: FloatArray, air: Air, charted: Charted) -> FloatArray:
    """Indicated airspeed; NaN where the altitude is missing or beyond the atmosphere from -1,000 to 20,000 m. [m/s]"""
    pressure_altitude = altitude_m + air.above_indicated_m
    usable = (
        np.isfinite(pressure_altitude) & (pressure_altitude > atmosphere.LOWEST_M) & (pressure_altitude < atmosphere.HIGHEST_M)
    )
    warmer = air.warmer_than_standard_k(charted.runway.elevation_m if charted.runway is not None else charted.fix_elevation_m)
    indicated = np.full(len(true_airspeed_mps), np.nan)
    indicated[usable] = atmosphere.calibrated_airspeed(true_airspeed_mps[usable], pressure_altitude[usable], warmer)
    return indicated


def indicated_share_sd(air: Air) -> float:
    """Standard deviation of an indicated airspeed due to the unknown state of the air, as a share of it.

    The airspeed is proportional to the root of density, hence of pressure over temperature.
    """
    temperature = _TEMPERATURE_SD_K if air.field_temperature_k is None else _GIVEN_TEMPERATURE_SD_K
    pressure = PRESSURE_SD_PA if air.qnh_pa is None else _GIVEN_PRESSURE_SD_PA
    shares = temperature / atmosphere.SEA_LEVEL_TEMPERATURE_K, pressure / atmosphere.SEA_LEVEL_PRESSURE_PA
    return 0.5 * math.hypot(*shares)


def held_airspeed(typical_mps: float, height_m: FloatArray) -> FloatArray:
    """True airspeeds at some heights of one who holds the indicated airspeed, or high up the Mach number. [m/s]

    It is what pilots do; true airspeed then falls by 1.5 to 2 % in a descent of 1,000 ft. `typical_mps` is
    that at the median height. Heights that are NaN lie between those that are known; without any, nothing changes.
    """
    known = np.isfinite(height_m)
    if not known.any():
        return np.full(len(height_m), typical_mps)
    order = np.arange(len(height_m))
    height = np.clip(np.interp(order, order[known], height_m[known]), 0.0, atmosphere.HIGHEST_M)
    heights = np.append(height, median(height))
    low, high = np.minimum(heights, _MACH_HELD_FROM_M), np.maximum(heights, _MACH_HELD_FROM_M)
    speed = min(typical_mps, _FASTEST_MACH * float(atmosphere.speed_of_sound(heights[-1])))
    indicated = min(float(atmosphere.calibrated_airspeed(speed, low[-1])), _FASTEST_INDICATED_MPS)
    airspeed = atmosphere.true_airspeed(max(indicated, 1.0), low) * atmosphere.speed_of_sound(high)
    held: FloatArray = typical_mps * airspeed[:-1] / airspeed[-1]
    return held
