"""The climb of a missed approach: at the rate given, else at the gradient that obstacle protection is based on.

References
----------
.. [1] FAA Aeronautical Information Manual 5-4-21 b: at least 200 feet per nautical mile, unless the chart asks for more. ICAO
   Doc 8168 Vol I, I-4-6, 6.1.7.1 has 2.5 per cent, which is 152 feet per nautical mile.
"""

from __future__ import annotations

import numpy as np

from analyzer.frozen import dataclass
from analyzer.nominal.fly import Path
from analyzer.physics.units import FPM, FT, NM, FloatArray

__all__ = ["LEAST_GRADIENT", "Climb"]

LEAST_GRADIENT = 200.0 * FT / NM  # AIM 5-4-21 b, over the ground


@dataclass(frozen=True)
class Climb:
    """A climb at a rate [m/s], or at the assumed gradient if no rate is given."""

    rate_mps: float | None

    def seconds(self, gain_m: float, ground_speed_mps: float) -> float:
        """Time to gain a height at a ground speed; 0 for no gain. [s]"""
        return max(0.0, gain_m) / self.at(ground_speed_mps)

    def at(self, ground_speed_mps: float) -> float:
        """Rate of climb at a ground speed. [m/s]"""
        return self.rate_mps if self.rate_mps is not None else LEAST_GRADIENT * ground_speed_mps

    def heights_m(self, path: Path, start_m: float, level_m: float) -> FloatArray:
        """Altitude at each node of a path, climbing from its beginning up to the level-off. [m]"""
        if self.rate_mps is not None:
            gained = self.rate_mps * (path.time_s - path.time_s[0])
        else:
            steps = np.hypot(np.diff(path.north_m), np.diff(path.east_m))
            gained = LEAST_GRADIENT * np.concatenate([[0.0], np.cumsum(steps)])
        heights: FloatArray = np.minimum(start_m + gained, max(start_m, level_m))
        return heights

    @property
    def words(self) -> str:
        """The rate or gradient in words."""
        if self.rate_mps is not None:
            return f"{self.rate_mps / FPM:,.0f} ft/min as given"
        return (
            f"{LEAST_GRADIENT * NM / FT:.0f} ft/NM over the ground assumed, the least that obstacle clearance assumes "
            "(AIM 5-4-21 b); give the aircraft's own with --climb"
        )
