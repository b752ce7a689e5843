"""The curve of the altitude, and how far its acceleration can be trusted.

An aircraft that accelerates upwards or downwards weighs more or less, and banks by so much less or more in the same turn. The
curve's second derivative shows how much if the altitude is good, but a satellite receiver's wander bends the curve as well. So
it is scaled by the share that is not noise, var(signal)/var(signal + noise), over the whole log: the linear estimate of least
error. Accelerations that no approach is flown with are jumps of the log, and count for nothing.
"""

from __future__ import annotations

from functools import cached_property

import numpy as np

from analyzer.frozen import dataclass
from analyzer.motion.noise import Noise
from analyzer.motion.spline import SmoothingSpline
from analyzer.physics.units import FloatArray

__all__ = ["Height"]

_MOST_LIFT_MPS2 = 4.0  # a go-around is begun with a fifth of a g, a level-off with less; common practice, no source


@dataclass(frozen=True, eq=False)
class Height:
    """The smoothed altitude: its curve (one component) and the noise of its samples."""

    curve: SmoothingSpline
    noise: Noise

    def at(self, time_s: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
        """Altitude [m], vertical speed [m/s] and vertical acceleration as far as it is trusted [m/s²]; NaN in a gap."""
        covered = self.curve.knots.cover(time_s)
        altitude, climb, lift = (np.where(covered, value[:, 0], np.nan) for value in self.curve.with_derivatives(time_s))
        return altitude, climb, self.lift_share * _flown(lift)

    def above(self, time_s: FloatArray) -> FloatArray:
        """Altitude alone; NaN in a gap. [m]"""
        altitude: FloatArray = np.where(self.curve.knots.cover(time_s), self.curve.at(time_s)[:, 0], np.nan)
        return altitude

    def on_grid(self) -> tuple[FloatArray, FloatArray, FloatArray]:
        """The same at the instants of the knots' grid."""
        altitude, climb, lift = (value[:, 0] for value in self.curve.on_grid())
        return altitude, climb, self.lift_share * _flown(lift)

    def lift_sd(self, time_s: FloatArray) -> FloatArray:
        """Standard deviation of the vertical acceleration. [m/s²]"""
        sd: FloatArray = np.sqrt(self.lift_share) * np.hypot(
            self.curve.sd(time_s, order=2), self.noise.acceleration_sd(self.curve)
        )
        return sd

    @cached_property
    def lift_share(self) -> float:
        """How much of the curve's acceleration is the aircraft's, 0 to 1."""
        seen = float(np.mean(_flown(self.curve.on_grid()[2]) ** 2))
        noise = self.noise.acceleration_sd(self.curve) ** 2 + self.curve.scatter_acceleration_sd**2
        return max(0.0, 1.0 - noise / seen) if seen > 0.0 else 0.0


def _flown(lift_mps2: FloatArray) -> FloatArray:
    """Vertical accelerations that can have been flown; those that cannot become zero."""
    return np.where(np.abs(lift_mps2) > _MOST_LIFT_MPS2, 0.0, lift_mps2)
