"""An approach that is not found, lost to a gap or the beginning of the log: what is flown up to its end is no arrival."""

from __future__ import annotations

import numpy as np

from analyzer.motion.states import States
from analyzer.physics import geodesy
from analyzer.physics.units import DEG, FT, NM, wrap
from analyzer.procedure.charted import Charted

__all__ = ["lost_approach_s"]

# Low on final: so near the threshold and the centreline, along the runway's heading, and no higher than circuits are flown
# (AIM 4-3-3); then climbing away by more than a correction does.
_NEAR_M, _ASIDE_M, _ALONG_RAD, _LOW_M = 3.0 * NM, 1.0 * NM, 45.0 * DEG, 1000.0 * FT
_CLIMBED_M = 500.0 * FT


def lost_approach_s(states: States, charted: Charted) -> float | None:
    """When an aircraft was last low on final, below what is charted up to there, before it climbed away; None if never. [s]"""
    runway = charted.runway
    if runway is None or not len(states) or not np.isfinite(states.altitude_m).any():
        return None
    away_m, bearing = geodesy.inverse_near(runway.latitude_rad, runway.longitude_rad, states.latitude_rad, states.longitude_rad)
    aside_m = np.abs(away_m * np.sin(bearing - runway.heading_rad))
    along = np.abs(wrap(states.track_rad - runway.heading_rad)) < _ALONG_RAD
    below_m = min([runway.elevation_m + _LOW_M, *charted.floors_m.values()])
    low = np.flatnonzero((away_m < _NEAR_M) & (aside_m < _ASIDE_M) & along & (states.altitude_m < below_m))
    if not len(low):
        return None
    climbed = float(np.nanmax(states.altitude_m[low[-1] :])) - float(states.altitude_m[low[-1]]) > _CLIMBED_M
    return float(states.time_s[low[-1]]) if climbed else None
