"""Arcs flown about a point: stretches in which the distance stays while the bearing goes round."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from analyzer.motion.model import Motion
from analyzer.physics import geodesy
from analyzer.physics.quantiles import median
from analyzer.physics.units import DEG, NM, wrap

__all__ = ["Arc", "arcs_about"]

_HALF_WINDOW_S = 30  # the way towards or away from the point is seen over a minute
_CLOSING_SHARE = 0.15  # of the way flown in it: within 9° of the tangent
_NEAREST_M = 3.0 * NM  # closer in it is a turn or a circle for landing
_LEAST_SWEPT_RAD = 30.0 * DEG


@dataclass(frozen=True)
class Arc:
    """An arc about a point: when, the median distance, the root mean square departure from it, the bearing swept (right +)."""

    start_s: float
    end_s: float
    radius_m: float
    departure_m: float
    swept_rad: float


def arcs_about(motion: Motion, latitude_rad: float, longitude_rad: float) -> tuple[Arc, ...]:
    """The arcs of a flight about a point, in order; stretches of 30° of bearing or more, farther than 3 NM from it."""
    states = motion.states
    distance, bearing = geodesy.inverse_near(latitude_rad, longitude_rad, states.latitude_rad, states.longitude_rad)
    n = len(states)
    before, after = np.maximum(np.arange(n) - _HALF_WINDOW_S, 0), np.minimum(np.arange(n) + _HALF_WINDOW_S, n - 1)
    flown = np.concatenate([[0.0], np.cumsum(states.ground_speed_mps[1:] * np.diff(states.time_s))])
    closing = np.abs(distance[after] - distance[before]) < _CLOSING_SHARE * (flown[after] - flown[before])
    whole = states.time_s[after] - states.time_s[before] <= after - before + 1.0  # no gap in the window
    there = np.concatenate([[False], closing & whole & (distance > _NEAREST_M), [False]])
    edges = np.flatnonzero(np.diff(there.astype(np.int8)))
    found = []
    for first, last in zip(edges[::2], edges[1::2] - 1, strict=True):
        swept = float(np.sum(wrap(np.diff(bearing[first : last + 1]))))
        if abs(swept) >= _LEAST_SWEPT_RAD:
            radius = median(distance[first : last + 1])
            departure = float(np.sqrt(np.mean((distance[first : last + 1] - radius) ** 2)))
            found.append(Arc(float(states.time_s[first]), float(states.time_s[last]), radius, departure, swept))
    return tuple(found)
