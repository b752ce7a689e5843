"""Turns that come out pointing at a place: the track over the ground then leads over it, in the wind."""

from __future__ import annotations

import math

import numpy as np

from analyzer.brief.conditions import LegAir
from analyzer.nominal.fly import Air, Turn, fly
from analyzer.nominal.solve import solve
from analyzer.physics.units import DEG

__all__ = ["shorter_toward", "turn_toward"]

_STEP_RAD = 3.0 * DEG
_WHOLE_RAD = 354.0 * DEG  # a greater turn is none that anybody would fly
_POINTED_RAD = 0.2 * DEG


def turn_toward(
    air: LegAir, heading_rad: float, start_m: tuple[float, float], direction: int, target_m: tuple[float, float]
) -> float | None:
    """The heading to roll out on from a turn in a direction, +1 right, so that the ground track leads over a place.

    None where no turn of less than a full circle points at the place: it lies inside the turn. Places: metres north and east.
    """
    flown = Air(air.true_airspeed_mps, *air.wind_north_east_mps)

    def off(sweep: float) -> float:
        """By how much the track then points right of the place. [rad]"""
        to = heading_rad + direction * sweep
        path = fly([Turn(to, direction, air.bank_rad)], flown, heading_rad, start_m)
        north, east = flown.ground_velocity(to)
        bearing = math.atan2(target_m[1] - path.east_m[-1], target_m[0] - path.north_m[-1])
        return math.remainder(math.atan2(east, north) - bearing, math.tau)

    before_rad, before = 0.0, off(0.0)
    if abs(before) < _POINTED_RAD:
        return heading_rad
    for sweep in np.arange(_STEP_RAD, _WHOLE_RAD, _STEP_RAD):
        now = off(float(sweep))
        if before * now <= 0.0 and abs(before - now) < math.pi:  # not where the place lies straight behind
            found = solve(off, before_rad, float(sweep))
            return None if found is None else heading_rad + direction * found
        before_rad, before = float(sweep), now
    return None


def shorter_toward(
    air: LegAir, heading_rad: float, start_m: tuple[float, float], target_m: tuple[float, float]
) -> tuple[int, float] | None:
    """Direction and heading to roll out on of the turn toward a place that turns through less; None where neither does."""
    found = [(way, turn_toward(air, heading_rad, start_m, way, target_m)) for way in (1, -1)]
    known = [(way, to) for way, to in found if to is not None]
    return min(known, key=lambda one: abs(one[1] - heading_rad), default=None)
