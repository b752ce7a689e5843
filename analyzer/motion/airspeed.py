"""Indicated from true airspeed: through the standard atmosphere, or that of the day as far as the user gave it.

Indicated stands for calibrated airspeed: a log does not show the instrument's error.
"""

from __future__ import annotations

import math

import numpy as np

from analyzer.physics import atmosphere
from analyzer.physics.units import FloatArray
from analyzer.procedure.charted import Charted
from analyzer.track.air import PRESSURE_SD_PA, Air

__all__ = ["indicated_airspeed", "indicated_share_sd"]

_LOWEST_M, _HIGHEST_M = -1000.0, 20_000.0
# Assumptions, no source: how far the air is off the standard atmosphere, or off the values given.
_TEMPERATURE_SD_K, _GIVEN_TEMPERATURE_SD_K = 10.0, 3.0
_GIVEN_PRESSURE_SD_PA = 100.0


def indicated_airspeed(true_airspeed_mps: FloatArray, altitude_m: FloatArray, air: Air, charted: Charted) -> FloatArray:
    """Indicated airspeed; NaN where the altitude is missing or beyond the atmosphere from -1,000 to 20,000 m. [m/s]"""
    pressure_altitude = altitude_m + air.above_indicated_m
    usable = np.isfinite(pressure_altitude) & (pressure_altitude > _LOWEST_M) & (pressure_altitude < _HIGHEST_M)
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
