"""The standard atmosphere, and conversion between calibrated and true airspeed.

Altitudes are geopotential pressure altitudes in metres; in the standard atmosphere they are at most 0.3 % less than geometric
heights up to 20 km. All functions take floats or arrays of any shape that broadcast together; NaN in gives NaN out.

References
----------
.. [1] ISO 2533:1975, "Standard Atmosphere", and ICAO Doc 7488: constants and layers up to 20 km.

"""

import numpy as np

from analyzer.physics.units import GRAVITY, FloatArray

__all__ = [
    "GAS_CONSTANT",
    "HIGHEST_M",
    "LOWEST_M",
    "SEA_LEVEL_PRESSURE_PA",
    "SEA_LEVEL_SPEED_OF_SOUND_MPS",
    "SEA_LEVEL_TEMPERATURE_K",
    "calibrated_airspeed",
    "impact_pressure",
    "pressure",
    "pressure_altitude",
    "speed_of_sound",
    "temperature",
    "true_airspeed",
]

SEA_LEVEL_PRESSURE_PA = 101_325.0
SEA_LEVEL_TEMPERATURE_K = 288.15
GAS_CONSTANT = 287.05287  # of dry air [J/(kg K)]
HEAT_RATIO = 1.4
SEA_LEVEL_SPEED_OF_SOUND_MPS = float(np.sqrt(HEAT_RATIO * GAS_CONSTANT * SEA_LEVEL_TEMPERATURE_K))  # 340.294

_LAPSE_KPM = 0.0065  # temperature lapse rate below the tropopause [K/m]
_EXPONENT = GRAVITY / (_LAPSE_KPM * GAS_CONSTANT)  # 5.25588
_TROPOPAUSE_M = 11_000.0
LOWEST_M = -1_000.0  # of the altitudes that the functions below take
HIGHEST_M = 20_000.0
_TROPOPAUSE_K = SEA_LEVEL_TEMPERATURE_K - _LAPSE_KPM * _TROPOPAUSE_M
_TROPOPAUSE_PA = SEA_LEVEL_PRESSURE_PA * (_TROPOPAUSE_K / SEA_LEVEL_TEMPERATURE_K) ** _EXPONENT


def temperature(pressure_altitude_m: FloatArray | float, isa_deviation_k: float = 0.0) -> FloatArray:
    """Air temperature at a pressure altitude, on a day warmer than standard by `isa_deviation_k`. [K]

    Raises
    ------
    ValueError
        If an altitude is outside -1 km to 20 km.

    """
    standard: FloatArray = SEA_LEVEL_TEMPERATURE_K - _LAPSE_KPM * np.minimum(_in_range(pressure_altitude_m), _TROPOPAUSE_M)
    return standard + isa_deviation_k


def pressure(pressure_altitude_m: FloatArray | float) -> FloatArray:
    """Static pressure at a pressure altitude. [Pa]

    Raises
    ------
    ValueError
        If an altitude is outside -1 km to 20 km.

    """
    altitude = _in_range(pressure_altitude_m)
    below = SEA_LEVEL_PRESSURE_PA * (temperature(altitude) / SEA_LEVEL_TEMPERATURE_K) ** _EXPONENT
    isothermal = _TROPOPAUSE_PA * np.exp(-GRAVITY * (altitude - _TROPOPAUSE_M) / (GAS_CONSTANT * _TROPOPAUSE_K))
    return np.where(altitude > _TROPOPAUSE_M, isothermal, below)


def pressure_altitude(pressure_pa: FloatArray | float) -> FloatArray:
    """Pressure altitude of a static pressure, below the tropopause. [m]"""
    ratio = np.asarray(pressure_pa) / SEA_LEVEL_PRESSURE_PA
    altitude: FloatArray = SEA_LEVEL_TEMPERATURE_K / _LAPSE_KPM * (1.0 - ratio ** (1.0 / _EXPONENT))
    return altitude


def speed_of_sound(pressure_altitude_m: FloatArray | float, isa_deviation_k: float = 0.0) -> FloatArray:
    """Speed of sound at a pressure altitude. [m/s]

    Raises
    ------
    ValueError
        If an altitude is outside -1 km to 20 km.

    """
    sound: FloatArray = np.sqrt(HEAT_RATIO * GAS_CONSTANT * temperature(pressure_altitude_m, isa_deviation_k))
    return sound


def impact_pressure(calibrated_airspeed_mps: FloatArray | float) -> FloatArray:
    """Impact pressure (total less static) that an airspeed indicator shows as a calibrated airspeed. [Pa]

    The subsonic isentropic formula at standard sea level; NaN for a speed below 0 or above the speed of sound.
    """
    return _impact_ratio(np.asarray(calibrated_airspeed_mps) / SEA_LEVEL_SPEED_OF_SOUND_MPS) * SEA_LEVEL_PRESSURE_PA


def true_airspeed(
    calibrated_airspeed_mps: FloatArray | float, pressure_altitude_m: FloatArray | float, isa_deviation_k: float = 0.0
) -> FloatArray:
    """True airspeed for a calibrated airspeed, with compressibility. [m/s]

    NaN for a calibrated airspeed below 0 or supersonic, and where the true airspeed is supersonic.

    Raises
    ------
    ValueError
        If an altitude is outside -1 km to 20 km.

    Examples
    --------
    >>> from analyzer.physics.units import FT, KT
    >>> print(f"{true_airspeed(100 * KT, 10_000 * FT) / KT:.0f} kt")
    116 kt
    """
    impact_ratio = impact_pressure(calibrated_airspeed_mps) / pressure(pressure_altitude_m)
    mach = _mach(impact_ratio)
    return np.where(mach <= 1.0, mach, np.nan) * speed_of_sound(pressure_altitude_m, isa_deviation_k)


def calibrated_airspeed(
    true_airspeed_mps: FloatArray | float, pressure_altitude_m: FloatArray | float, isa_deviation_k: float = 0.0
) -> FloatArray:
    """Calibrated airspeed for a true airspeed, the inverse of `true_airspeed`. [m/s]

    NaN for a true airspeed below 0 or supersonic, and where the calibrated one is supersonic.

    Raises
    ------
    ValueError
        If an altitude is outside -1 km to 20 km.

    """
    mach = np.asarray(true_airspeed_mps) / speed_of_sound(pressure_altitude_m, isa_deviation_k)
    impact_ratio = _impact_ratio(mach) * pressure(pressure_altitude_m) / SEA_LEVEL_PRESSURE_PA
    at_sea_level = _mach(impact_ratio)
    return np.where(at_sea_level <= 1.0, at_sea_level, np.nan) * SEA_LEVEL_SPEED_OF_SOUND_MPS


def _in_range(pressure_altitude_m: FloatArray | float) -> FloatArray:
    altitude = np.asarray(pressure_altitude_m, dtype=np.float64)
    outside = altitude[(altitude < LOWEST_M) | (altitude > HIGHEST_M)]
    if outside.size:
        raise ValueError(f"pressure altitude {outside.flat[0]:.0f} m is outside this standard atmosphere, -1,000 to 20,000 m")
    return altitude


def _impact_ratio(mach: FloatArray) -> FloatArray:
    """Impact pressure over static pressure, ``(1 + 0.2 M²)^3.5 - 1``, at a Mach number from 0 to 1; NaN beyond.

    Written with log1p and expm1 to keep the precision of small Mach numbers.
    """
    subsonic = np.where((mach >= 0.0) & (mach <= 1.0), mach, np.nan)
    ratio: FloatArray = np.expm1(3.5 * np.log1p(0.2 * subsonic * subsonic))
    return ratio


def _mach(impact_ratio: FloatArray) -> FloatArray:
    """Mach number of an impact ratio, the inverse of `_impact_ratio`."""
    mach: FloatArray = np.sqrt(5.0 * np.expm1(np.log1p(impact_ratio) / 3.5))
    return mach
