"""The way back from a missed approach, which looks like a reversal: out over the fix, round and in again, but climbing."""

from __future__ import annotations

import numpy as np

from analyzer.motion.states import States
from analyzer.physics.units import FT

__all__ = ["is_way_back"]

_BEFORE_S = 180.0  # of the passage: on the field the descent ends at the fix
_DESCENDED_M, _CLIMBED_M = 200.0 * FT, 300.0 * FT  # on final, and away: less may be an altitude that was not held
_KEPT_CLIMB_M = 100.0 * FT  # of the climb: height lost again does not count


def is_way_back(states: States, passage_s: float, home_s: float) -> bool:
    """Whether the aircraft passed the fix on final and climbed away before coming back to it.

    Outbound for a reversal an aircraft descends or holds its altitude, or climbs from the ground without a descent before.
    False if the log has no altitudes.
    """
    flown = states.between(passage_s - _BEFORE_S, home_s)
    altitude = flown.altitude_m
    if not len(flown) or not np.isfinite(altitude).all():
        return False
    lowest = int(np.argmin(altitude))
    descended = float(altitude[: lowest + 1].max() - altitude[lowest]) > _DESCENDED_M
    after = altitude[lowest:]
    climbed = float(after.max() - altitude[lowest]) > _CLIMBED_M and float(after[-1] - altitude[lowest]) > _KEPT_CLIMB_M
    return descended and climbed and float(flown.time_s[lowest]) > passage_s - _BEFORE_S / 3.0
