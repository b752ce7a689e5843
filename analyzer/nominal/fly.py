"""Straight segments and turns flown through a steady wind, in a plane of metres north and east.

Turns are coordinated and level, at constant airspeed; bank is rolled in and out at a constant rate. Angles are true.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from analyzer.frozen import dataclass
from analyzer.physics.units import DEG, GRAVITY, FloatArray

__all__ = ["ROLL_RATE_RAD_S", "Air", "Path", "Straight", "Turn", "fly"]

ROLL_RATE_RAD_S = 5.0 * DEG  # common practice, no source
_STEP_S = 0.5
_NO_TURN_RAD = 1e-6


@dataclass(frozen=True)
class Air:
    """True airspeed, and the wind as a velocity, positive in the direction it blows to."""

    true_airspeed_mps: float
    wind_north_mps: float = 0.0
    wind_east_mps: float = 0.0

    def ground_velocity(self, heading_rad: float) -> tuple[float, float]:
        """Velocity over the ground, north and east, on a heading. [m/s]"""
        return (
            self.true_airspeed_mps * math.cos(heading_rad) + self.wind_north_mps,
            self.true_airspeed_mps * math.sin(heading_rad) + self.wind_east_mps,
        )


@dataclass(frozen=True)
class Straight:
    """A straight segment of a duration, on the heading at its start."""

    seconds: float


@dataclass(frozen=True)
class Turn:
    """A turn to a heading, in a direction (+1 right), at a bank (unsigned)."""

    to_heading_rad: float
    direction: int
    bank_rad: float


@dataclass(frozen=True, eq=False)
class Path:
    """A path: time since the start, position and heading at each node; `ends` are the nodes at which segments end."""

    time_s: FloatArray
    north_m: FloatArray
    east_m: FloatArray
    heading_rad: FloatArray
    ends: tuple[int, ...]

    def up_to(self, node: int) -> Path:
        """The path up to a node."""
        last = node + 1
        ends = tuple(end for end in self.ends if end <= node)
        return Path(self.time_s[:last], self.north_m[:last], self.east_m[:last], self.heading_rad[:last], ends)

    def distance_m(self, north_m: float = 0.0, east_m: float = 0.0) -> FloatArray:
        """Distance from a point at every node. [m]"""
        return np.hypot(self.north_m - north_m, self.east_m - east_m)

    def between(self, start_s: float, end_s: float) -> FloatArray:
        """Places from one instant to another, metres north and east, shape (places, 2)."""
        inner = self.time_s[(self.time_s > start_s) & (self.time_s < end_s)]
        times = np.concatenate([[start_s], inner, [end_s]])
        return np.column_stack([np.interp(times, self.time_s, values) for values in (self.north_m, self.east_m)])

    def across_m(self, course_rad: float) -> FloatArray:
        """Distance from the line on a course through the origin, positive right of it, at every node. [m]"""
        across: FloatArray = self.east_m * math.cos(course_rad) - self.north_m * math.sin(course_rad)
        return across


def fly(
    segments: Sequence[Straight | Turn],
    air: Air,
    heading_rad: float,
    start_m: tuple[float, float] = (0.0, 0.0),
    roll_rate_rad_s: float = ROLL_RATE_RAD_S,
) -> Path:
    """The path of segments flown in sequence.

    Parameters
    ----------
    segments : sequence of Straight or Turn
        What to fly. A straight segment of zero or negative duration is skipped.
    air : Air
        Airspeed and wind, constant throughout.
    heading_rad : float
        Heading at the start. [rad]
    start_m : tuple
        North and east of the origin at the start. [m]
    roll_rate_rad_s : float
        Rate at which bank is rolled in and out. [rad/s]

    Returns
    -------
    Path
        With one end for each segment, skipped ones included.
    """
    times, headings, ends, now, clock, nodes = [np.zeros(1)], [np.array([heading_rad])], [], heading_rad, 0.0, 1
    for segment in segments:
        into, turned = _segment(segment, air.true_airspeed_mps, now, roll_rate_rad_s)
        if len(into):
            times.append(clock + into)
            headings.append(now + turned)
            now, clock, nodes = now + float(turned[-1]), clock + float(into[-1]), nodes + len(into)
        ends.append(nodes - 1)
    time, heading = np.concatenate(times), np.concatenate(headings)
    middle, step = (heading[1:] + heading[:-1]) / 2.0, np.diff(time)
    north = start_m[0] + np.concatenate(
        [[0.0], np.cumsum((air.true_airspeed_mps * np.cos(middle) + air.wind_north_mps) * step)]
    )
    east = start_m[1] + np.concatenate([[0.0], np.cumsum((air.true_airspeed_mps * np.sin(middle) + air.wind_east_mps) * step)])
    return Path(time, north, east, heading, tuple(ends))


def _segment(segment: Straight | Turn, airspeed_mps: float, heading_rad: float, roll: float) -> tuple[FloatArray, FloatArray]:
    """Seconds since the start of a segment, and the heading change by then, at its nodes after the first."""
    if isinstance(segment, Straight):
        if segment.seconds <= 0.0:
            return np.empty(0), np.empty(0)
        into = _nodes(segment.seconds)
        return into, np.zeros(len(into))
    sweep = (segment.direction * (segment.to_heading_rad - heading_rad)) % math.tau
    if sweep > math.tau - _NO_TURN_RAD:
        sweep = 0.0  # the heading is already flown, up to rounding
    bank = segment.bank_rad
    rolled = 2.0 * GRAVITY / airspeed_mps * -math.log(math.cos(bank)) / roll  # heading change while rolling in and out
    if sweep < rolled:  # too small a turn to reach this bank
        bank = math.acos(math.exp(-sweep * airspeed_mps * roll / (2.0 * GRAVITY)))
        rolled = sweep
    if bank <= 0.0:
        return np.empty(0), np.empty(0)
    rate, roll_s = GRAVITY * math.tan(bank) / airspeed_mps, bank / roll
    steady_s = (sweep - rolled) / rate
    into = _nodes(2.0 * roll_s + steady_s)
    scale = GRAVITY / airspeed_mps / roll
    rolling_in = -scale * np.log(np.cos(roll * np.minimum(into, roll_s)))
    left = np.clip(2.0 * roll_s + steady_s - into, 0.0, roll_s)  # seconds until level
    rolling_out = rolled / 2.0 + scale * np.log(np.cos(roll * left))
    turned = rolling_in + rate * np.clip(into - roll_s, 0.0, steady_s) + rolling_out
    return into, segment.direction * turned


def _nodes(seconds: float) -> FloatArray:
    return np.linspace(0.0, seconds, max(2, math.ceil(seconds / _STEP_S) + 1))[1:]
