"""Limits of a plausible wind: no stronger than the air there holds, and no absurd airspeed as its result."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

import numpy as np

from analyzer.physics.quantiles import median
from analyzer.physics.units import KT, FloatArray

__all__ = ["too_fast", "too_strong"]

# 65 kt at sea level, 90 kt at 4,000 ft, and 250 kt from 30,000 ft on. Common practice, no source.
_STRONGEST_MPS, _STRONGEST_PER_M, _STRONGEST_OF_ALL_MPS = 65.0 * KT, 0.0103, 250.0 * KT
# True airspeeds beyond which none is flown on an approach: the greatest initial approach speeds by category (ICAO Doc 8168,
# table I-4-1-1, from memory: 150, 180, 240, 250 and 250 kt indicated) and a third more, for height and haste.
_FASTEST_MPS: Mapping[str, float] = MappingProxyType(
    {"A": 200 * KT, "B": 240 * KT, "C": 320 * KT, "D": 333 * KT, "E": 333 * KT}
)


def too_strong(speed_mps: float, height_m: FloatArray) -> str:
    """Why a wind is implausible at these heights, NaN where unknown; empty where it is plausible."""
    known = height_m[np.isfinite(height_m)]
    highest = max(float(known.max()), 0.0) if len(known) else np.inf
    if speed_mps <= min(_STRONGEST_MPS + _STRONGEST_PER_M * highest, _STRONGEST_OF_ALL_MPS):
        return ""
    return f"what its turns give, {speed_mps / KT:.0f} kt, is more than the air there can hold"


def too_fast(ground_speed_mps: FloatArray, true_airspeed_mps: FloatArray, category: str | None) -> str:
    """Why the airspeeds that follow from a wind are implausible, where the ground speeds are not; empty where they are not."""
    if not len(ground_speed_mps):
        return ""
    fastest = _FASTEST_MPS[category] if category is not None else max(_FASTEST_MPS.values())
    ground, air = median(ground_speed_mps), median(true_airspeed_mps)
    if air < fastest or ground > fastest:
        return ""
    of = f"category {category}" if category is not None else "any category"
    return f"what its turns give makes the airspeed {air / KT:.0f} kt, more than {of} flies on an approach"
