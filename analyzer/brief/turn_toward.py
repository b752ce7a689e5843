"""Turns that roll out toward a place, so that the ground track leads over it in the wind."""

from __future__ import annotations

import math

import numpy as np

from analyzer.brief.conditions import LegAir
from analyzer.nominal.fly import Air, Turn, fly
from analyzer.nominal.solve import solve
from analyzer.physics.units import DEG, wrap

__all__ = ["shorter", "shorter_toward", "turn_toward"]

_STEP_RAD = 3.0 * DEG
_WHOLE_RAD = 354.0 * DEG  # nobody would fly a greater turn
_POINTED_RAD = 0.2 * DEG


def turn_toward(
    air: LegAir, heading_rad: float, start_m: tuple[float, float], direction: int, target_m: tuple[float, float]
) -> float | None:
    """Heading on which a turn rolls out toward a place. [rad]

    `direction` is +1 for a right turn; places are in metres north and east. None if no turn of less than a full circle does,
    because the place is inside the turn.
    """
    flown = Air(air.true_airspeed_mps, *air.wind_north_east_mps)

    def off(sweep: float) -> float:
        """Angle of the track right of the bearing of the place. [rad]"""
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
            solution = solve(off, before_rad, float(sweep))
            return None if solution is None else heading_rad + direction * solution
        before_rad, before = float(sweep), now
    return None


def shorter(heading_rad: float, to_rad: float) -> int:
    """The direction of the shorter turn from one heading to another: +1 right, -1 left."""
    return 1 if float(wrap(to_rad - heading_rad)) > 0.0 else -1


def shorter_toward(
    air: LegAir, heading_rad: float, start_m: tuple[float, float], target_m: tuple[float, float]
) -> tuple[int, float] | None:
    """Direction and rollout heading of the shorter turn toward a place; None if neither points at it. [rad]"""
    turns = [(way, turn_toward(air, heading_rad, start_m, way, target_m)) for way in (1, -1)]
    possible = [(way, to) for way, to in turns if to is not None]
    return min(possible, key=lambda turn: abs(turn[1] - heading_rad), default=None)
