"""Simulation of a reversal with the headings, banks, airspeed and wind of the flight, from the end of the outbound leg.

The simulation is used only where it reproduces the greatest distance and the end of the reversing turn as flown.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from analyzer.checks.finding import Context
from analyzer.frozen import dataclass
from analyzer.motion.states import States
from analyzer.nominal.fly import Air, Path, Straight, Turn, fly
from analyzer.nominal.solve import solve
from analyzer.physics import geodesy, wind_triangle
from analyzer.physics.units import NM, circular_mean, unwrapped

__all__ = ["Reflight", "begun_earlier_m", "reflight"]

_FAITHFUL_M = 0.25 * NM  # largest distance between the simulation and the flight
_LEAST_STATES = 10
_REACHED_M = 0.05 * NM  # within which a wanted distance is met


@dataclass(frozen=True)
class Reflight:
    """The parameters of a reversal. Angles are true [rad]; positions are metres north and east of the fix.

    `leg_s` is the duration of the leg before the reversing turn: the offset leg, or the outbound leg in a base turn or hold.
    `first` is the turn before that leg, None without one.
    """

    start_m: tuple[float, float]
    start_heading_rad: float
    first: Turn | None
    leg_s: float
    back_direction: int
    back_bank_rad: float
    inbound_rad: float
    air: Air
    limit_centre_m: tuple[float, float]

    def fly(self) -> Path:
        """The path until rolled out on the heading that holds the inbound course."""
        return self.fly_to(self.home_heading_rad())

    def home_heading_rad(self) -> float:
        """The heading that holds the inbound course in the wind; the course itself if none does. [rad]"""
        wind = math.hypot(self.air.wind_north_mps, self.air.wind_east_mps)
        from_rad = math.atan2(-self.air.wind_east_mps, -self.air.wind_north_mps)
        needed = wind_triangle.heading_needed(self.inbound_rad, self.air.true_airspeed_mps, from_rad, wind)
        return float(needed.heading_rad) if math.isfinite(float(needed.heading_rad)) else self.inbound_rad

    def fly_to(self, heading_rad: float) -> Path:
        """The path until rolled out on a heading."""
        first = [self.first] if self.first is not None else []
        back = Turn(heading_rad, self.back_direction, self.back_bank_rad)
        return fly([*first, Straight(self.leg_s), back], self.air, self.start_heading_rad, self.start_m)

    def farthest_m(self) -> float:
        """Greatest distance from the point that the limit is measured from. [m]"""
        return float(self.fly().distance_m(*self.limit_centre_m).max())

    def rolled_out_m(self) -> float:
        """Distance from the inbound course where the reversing turn rolls out, positive right of it. [m]"""
        return float(self.fly().across_m(self.inbound_rad)[-1])

    def beyond_m(self) -> float:
        """Distance beyond the inbound course where the reversing turn rolls out; 0 where it does not reach the course. [m]

        A right turn back comes to the inbound course from its right.
        """
        return max(0.0, -self.rolled_out_m() * self.back_direction)

    def in_still_air(self) -> Reflight:
        """The same reversal without wind, from the same position."""
        return replace(self, air=Air(self.air.true_airspeed_mps))

    def moved(self, along_m: float, course_rad: float) -> Reflight:
        """The same reversal, begun farther along a course."""
        north, east = self.start_m
        return replace(self, start_m=(north + along_m * math.cos(course_rad), east + along_m * math.sin(course_rad)))

    def with_leg(self, seconds: float) -> Reflight:
        """The same reversal with another duration of the leg before the reversing turn."""
        return replace(self, leg_s=seconds)

    def back_banked(self, bank_rad: float) -> Reflight:
        """The same reversal, with the reversing turn at another bank."""
        return replace(self, back_bank_rad=bank_rad)

    def banked(self, bank_rad: float) -> Reflight:
        """The same reversal, with both turns at another bank."""
        first = replace(self.first, bank_rad=bank_rad) if self.first is not None else None
        return replace(self, first=first, back_bank_rad=bank_rad)


def begun_earlier_m(context: Context, simulated: Reflight, wanted_m: float) -> float | None:
    """How much earlier on the outbound course to begin the turn to stay within a distance; None if that is not possible. [m]"""
    outbound, course = context.reversal.part("outbound"), context.motion.charted.outbound_true_rad
    if simulated.farthest_m() <= wanted_m:
        return 0.0
    if outbound is None or simulated.first is None:
        return None
    begun = context.motion.distance_at(outbound.end_s)
    earlier = solve(lambda metres: simulated.moved(-metres, course).farthest_m() - wanted_m, 0.0, begun)
    if earlier is None or simulated.moved(-earlier, course).farthest_m() > wanted_m + _REACHED_M:
        return None
    return earlier


def reflight(context: Context) -> Reflight | None:
    """The simulation of the reversal; None if too little is known, or if it does not reproduce the flight."""
    figures, reversal = context.figures, context.reversal
    turns = {part.part.name: part.turn for part in figures.parts if part.turn is not None}
    back, outbound = reversal.part("reversal_turn"), reversal.part("outbound")
    wind, far = figures.wind, figures.farthest_from_limit
    if wind is None or far is None or outbound is None or back is None or "reversal_turn" not in turns:
        return None
    if reversal.flown == "hold-parallel" or sum(part.name == "reversal_turn" for part in reversal.parts) > 1:
        return None  # a parallel entry rolls out on a heading of the pilot's choice; several circuits are not one reversal
    offset, first = reversal.part("offset_leg"), reversal.part("offset_turn")
    begin = outbound.end_s if first is not None else outbound.start_s
    states = context.motion.states.between(begin, back.end_s)
    if len(states) < _LEAST_STATES or context.motion.gaps_between(begin, back.end_s):
        return None
    before = context.motion.states.between(begin - 4.0, begin + 1.0)
    leg = offset if first is not None else outbound
    if leg is not None:
        leg_heading = _heading(context, leg.start_s, leg.end_s)
    else:
        leg_heading = _turned_to(states, turns["reversal_turn"].direction)
    if not len(before) or leg_heading is None:
        return None
    turned = turns.get("offset_turn")
    charted = context.motion.charted
    flown = Reflight(
        start_m=_place(states, 0),
        start_heading_rad=float(before.heading_rad[0]) if first is not None else leg_heading,
        first=Turn(leg_heading, turned.direction, turned.bank_mean_rad) if turned is not None else None,
        leg_s=leg.duration_s if leg is not None else 0.0,
        back_direction=turns["reversal_turn"].direction,
        back_bank_rad=turns["reversal_turn"].bank_mean_rad,
        inbound_rad=charted.inbound_true_rad,
        air=Air(float(states.true_airspeed_mps.mean()), wind.to_north_mps, wind.to_east_mps),
        limit_centre_m=_centre(context),
    )
    return flown if _faithful(flown, states, far.distance_m) else None


def _heading(context: Context, start_s: float, end_s: float) -> float | None:
    """Mean heading between two instants without the seconds at either end; None without states. [rad]"""
    margin = min(3.0, (end_s - start_s) / 4.0)
    states = context.motion.states.between(start_s + margin, end_s - margin)
    return circular_mean(states.heading_rad) if len(states) else None


def _turned_to(states: States, back_direction: int) -> float:
    """The heading that a turn ends on where the turn back follows at once: the farthest against the direction of that. [rad]"""
    heading = unwrapped(states.heading_rad)
    return float(heading[np.argmin(back_direction * heading)])


def _place(states: States, k: int) -> tuple[float, float]:
    distance, bearing = float(states.distance_m[k]), float(states.bearing_rad[k])
    return distance * math.cos(bearing), distance * math.sin(bearing)


def _centre(context: Context) -> tuple[float, float]:
    charted = context.motion.charted
    distance, bearing = geodesy.inverse(
        charted.fix_latitude_rad, charted.fix_longitude_rad, charted.limit_latitude_rad, charted.limit_longitude_rad
    )
    return float(distance * np.cos(bearing)), float(distance * np.sin(bearing))


def _faithful(flown: Reflight, states: States, farthest_m: float) -> bool:
    """Whether the simulation, rolled out on the heading flown, ends where the flight did and reaches as far."""
    simulated = flown.fly_to(float(states.heading_rad[-1]))
    north, east = _place(states, len(states) - 1)
    ended = math.hypot(float(simulated.north_m[-1]) - north, float(simulated.east_m[-1]) - east)
    return ended < _FAITHFUL_M and abs(flown.farthest_m() - farthest_m) < _FAITHFUL_M
