"""Bounds from the chart on how far from the fix a reversal can be and how long its legs, generous to pilots' errors.

They confine a search to the stretch of a flight that an approach can be in, whatever the log holds before and after it.
"""

from __future__ import annotations

import math
from typing import Final

import numpy as np

from analyzer.motion.states import States
from analyzer.physics import geodesy
from analyzer.physics.units import KT, NM
from analyzer.procedure.charted import Charted

__all__ = [
    "FLYING_MPS",
    "approach_reach_m",
    "arc_reach_m",
    "beyond_all_m",
    "came_in_reach_s",
    "left_reach_s",
    "leg_bound_m",
    "outbound_bounds",
    "reversal_reach_m",
]

FLYING_MPS: Final = 35.0 * KT  # anything slower throughout is no aeroplane on an approach
_USUAL_LIMIT_M = 10.0 * NM  # AIM 5-4-9 a: where a procedure turn is charted without another limit
_LEAST_LEG_M = 5.0 * NM  # room for a leg that is nominally a minute, and for the wind
_FASTEST_MPS = 250.0 * KT  # a timed leg is flown at no more
_TIMES, _MARGIN_M = 2.0, 5.0 * NM  # beyond twice the charted distance plus a turn it is another flight, not a long leg
_LEG_TIMES = 6.0  # a leg of more than so many times the charted time is not that leg
_USUAL_HOLD_S = 90.0  # AIM 5-3-8 j.4: the longer of the two timed legs
_APPROACH_REACH_M = 30.0 * NM
_ARC_SHARE = 1.3  # of an arc's radius: what joins it from outside


def leg_bound_m(charted: Charted) -> float:
    """How long a leg of the charted reversal can be at most, by the chart's limits of distance, length and time."""
    bounds = [_LEAST_LEG_M]
    if charted.limit_m is not None:
        bounds.append(charted.limit_m + _from_fix_m(charted, charted.limit_latitude_rad, charted.limit_longitude_rad))
    elif charted.kind == "procedure-turn":
        bounds.append(_USUAL_LIMIT_M)
    if charted.leg_length_m is not None:
        dme = charted.dme
        bounds.append(charted.leg_length_m + (_from_fix_m(charted, dme.latitude_rad, dme.longitude_rad) if dme else 0.0))
    bounds += [limit * _FASTEST_MPS for limit in (charted.leg_time_s, charted.maximum_time_s) if limit is not None]
    return max(bounds)


def reversal_reach_m(charted: Charted) -> float:
    """How far from the fix a reversal is looked for; an aircraft farther out is doing something else."""
    return _TIMES * leg_bound_m(charted) + _MARGIN_M


def outbound_bounds(charted: Charted) -> tuple[float, float]:
    """How long an outbound leg can be at most, in seconds and in metres: some times what is charted, where that is by leg."""
    if charted.leg_length_m is not None:
        return math.inf, _LEG_TIMES * charted.leg_length_m + _MARGIN_M
    limits = [limit for limit in (charted.leg_time_s, charted.maximum_time_s) if limit is not None]
    if not limits and charted.kind == "hold":
        limits = [_USUAL_HOLD_S]
    return (_LEG_TIMES * max(limits) if limits else math.inf), math.inf


def approach_reach_m(charted: Charted) -> float:
    """How far from the fix an arc or a straight-in is looked for; anything farther out is the way there."""
    arc_m = arc_reach_m(charted)
    return max(_APPROACH_REACH_M, arc_m + _MARGIN_M) if arc_m else _APPROACH_REACH_M


def arc_reach_m(charted: Charted) -> float:
    """How far from the fix the charted arc is at most, and what joins it from outside; 0 where none is charted."""
    if charted.arc_radius_m is None or charted.arc_latitude_rad is None or charted.arc_longitude_rad is None:
        return 0.0
    return _ARC_SHARE * charted.arc_radius_m + _from_fix_m(charted, charted.arc_latitude_rad, charted.arc_longitude_rad)


def beyond_all_m(charted: Charted) -> float:
    """Distance from the fix to the farthest charted point of the final approach: a fix, or the runway."""
    places = [(fix.latitude_rad, fix.longitude_rad) for fix in charted.fixes]
    if charted.runway is not None:
        places.append((charted.runway.latitude_rad, charted.runway.longitude_rad))
    return max((_from_fix_m(charted, *place) for place in places), default=0.0)


def _from_fix_m(charted: Charted, latitude_rad: float, longitude_rad: float) -> float:
    distance, _ = geodesy.inverse(charted.fix_latitude_rad, charted.fix_longitude_rad, latitude_rad, longitude_rad)
    return float(distance)


def left_reach_s(states: States, since_s: float, reach_m: float) -> float | None:
    """When the aircraft is first farther from the fix than a distance after an instant; None where it never is. [s]"""
    beyond = np.flatnonzero((states.distance_m > reach_m) & (states.time_s > since_s))
    return float(states.time_s[beyond[0]]) if len(beyond) else None


def came_in_reach_s(states: States, reach_m: float) -> float | None:
    """When the aircraft last came nearer to the fix than a distance; None where it never was farther. [s]"""
    beyond = np.flatnonzero(states.distance_m > reach_m)
    return float(states.time_s[beyond[-1]]) if len(beyond) else None
