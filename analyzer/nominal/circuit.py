"""A lap of a hold: from over the fix round to the inbound course, and the outbound leg for the wanted inbound time.

References
----------
.. [1] FAA Aeronautical Information Manual 5-3-8 j.4: the outbound leg is timed from over or abeam the fix, whichever is later,
   and adjusted so that the inbound leg takes its nominal time.
"""

from __future__ import annotations

import math

import numpy as np

from analyzer.frozen import dataclass
from analyzer.nominal.fly import Air, Path, Straight, Turn, fly
from analyzer.physics.units import FloatArray

__all__ = ["Circuit"]

_STEPS, _SETTLED_M = 25, 1.0
_LARGEST_TURN_RAD, _LARGEST_CHANGE_S = 0.5, 60.0  # of one Newton step


@dataclass(frozen=True)
class Circuit:
    """A lap: its courses, the bank of its two turns, and the air it is flown in. Angles are true. [rad]

    `turn` is +1 for right turns. `home_rad` is the heading that holds the inbound course: the lap begins on it, and the turn
    inbound ends on it.
    """

    inbound_rad: float
    home_rad: float
    turn: int
    away_bank_rad: float
    back_bank_rad: float
    air: Air

    def fly(
        self, heading_rad: float, seconds: float, start_m: tuple[float, float] = (0.0, 0.0), start_rad: float | None = None
    ) -> Path:
        """The path from over the fix, or another start, until rolled out inbound, with `seconds` outbound from wings level."""
        away, back = Turn(heading_rad, self.turn, self.away_bank_rad), Turn(self.home_rad, self.turn, self.back_bank_rad)
        return fly([away, Straight(seconds), back], self.air, self.home_rad if start_rad is None else start_rad, start_m)

    def across_m(self, heading_rad: float, seconds: float) -> float:
        """Distance from the inbound course at the end of the lap, positive right of it. [m]"""
        return float(self.fly(heading_rad, seconds).across_m(self.inbound_rad)[-1])

    def timed_s(self, heading_rad: float, seconds: float) -> float:
        """Time on the outbound leg from over or abeam the fix, whichever is later, to the turn inbound. [s]"""
        path = self.fly(heading_rad, seconds)
        out = -(path.north_m * math.cos(self.inbound_rad) + path.east_m * math.sin(self.inbound_rad))
        turned = float(path.time_s[path.ends[1]])
        behind = np.flatnonzero(out[: path.ends[1] + 1] < 0.0)
        if not len(behind):
            return turned
        k = int(behind[-1])
        if k == path.ends[1]:
            return 0.0
        share = float(out[k] / (out[k] - out[k + 1]))
        return turned - float(path.time_s[k] + share * (path.time_s[k + 1] - path.time_s[k]))

    def closing(self, inbound_s: float) -> tuple[float, float] | None:
        """Outbound heading, and seconds from wings level, for an inbound leg of `inbound_s` that ends over the fix.

        By Newton's method; None where there is no solution because the wind carries the turns alone too far.
        """
        heading, seconds = self.inbound_rad + math.pi, inbound_s
        for _ in range(_STEPS):
            miss = self._miss(inbound_s, heading, seconds)
            if float(np.hypot(*miss)) < _SETTLED_M:
                return heading, seconds
            by_heading = (self._miss(inbound_s, heading + 1e-4, seconds) - miss) / 1e-4
            by_seconds = (self._miss(inbound_s, heading, seconds + 0.1) - miss) / 0.1
            step = np.linalg.solve(np.column_stack([by_heading, by_seconds]), -miss)
            heading += float(np.clip(step[0], -_LARGEST_TURN_RAD, _LARGEST_TURN_RAD))
            seconds = max(1.0, seconds + float(np.clip(step[1], -_LARGEST_CHANGE_S, _LARGEST_CHANGE_S)))
        return None

    def _miss(self, inbound_s: float, heading: float, seconds: float) -> FloatArray:
        """How far north and east of the fix the inbound leg ends. [m]"""
        path = self.fly(heading, seconds)
        north, east = self.air.ground_velocity(self.home_rad)
        miss: FloatArray = np.array([path.north_m[-1] + north * inbound_s, path.east_m[-1] + east * inbound_s])
        return miss
