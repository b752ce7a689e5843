"""Simulation of a lap of a hold: the outbound heading and time for a wanted inbound leg in the wind of the flight.

The simulation is used only where it reproduces the end of the turn inbound as flown.
"""

from __future__ import annotations

import math

import numpy as np

from analyzer.checks.finding import Context
from analyzer.checks.outbound_legs import abeam_s
from analyzer.frozen import dataclass
from analyzer.legs.boundaries import turn_bank
from analyzer.legs.reversal import Part
from analyzer.lessons.headings import steered
from analyzer.motion.wind import Wind
from analyzer.nominal.circuit import Circuit
from analyzer.nominal.fly import Air
from analyzer.physics.units import NM, circular_mean
from analyzer.vocabulary import PartName

__all__ = ["Lap", "lap_of"]

_FAITHFUL_M = 0.25 * NM  # largest distance between the simulated and the flown end of the turn inbound
_WIND_S = 300.0  # before the lap, over which the wind is estimated as well: about one lap
_ROLLING_S = 3.0  # at either end of a leg, where the wings are not level
_LEAST_STATES = 5
_BANKED_SHARE = 0.8  # share of the bank of a turn below which it is rolling in or out
_BACK: tuple[PartName, ...] = ("reversal_turn", "turn_inbound")


@dataclass(frozen=True)
class Lap:
    """A lap as flown. [rad, s, m/s]

    `heading_rad` is the true outbound heading, `level_s` and `timed_s` the outbound time from wings level and from over or
    abeam the fix (`from_words`), `out_mps` and `in_mps` the ground speeds of the two legs.
    """

    circuit: Circuit
    heading_rad: float
    level_s: float
    timed_s: float
    from_words: str
    wind: Wind
    out_mps: float
    in_mps: float


def lap_of(context: Context, inbound: Part) -> Lap | None:
    """The lap before an inbound leg; None if it is incomplete, the wind is unknown, or the simulation does not reproduce it."""
    parts = context.reversal.parts
    number = parts.index(inbound)
    back_at = next((k for k in range(number - 1, max(number - 3, -1), -1) if parts[k].name in _BACK), None)
    if back_at is None or back_at < 2:
        return None
    away, outbound, back = parts[back_at - 2 : back_at + 1]
    if away.name != "entry_turn" or outbound.name != "outbound" or back.turn is None or away.turn != back.turn:
        return None
    away_bank, back_bank = _bank(context, away), _bank(context, back)
    if away_bank is None or back_bank is None or context.motion.gaps_between(away.start_s, inbound.end_s):
        return None
    motion, course = context.motion, context.motion.charted.inbound_true_rad
    begun = max(context.reversal.begun_s, away.start_s - _WIND_S)
    wind = motion.wind_between(begun, inbound.end_s) or context.figures.wind
    states = motion.states.between(away.start_s, inbound.end_s)
    leg = motion.states.between(outbound.start_s + _ROLLING_S, outbound.end_s - _ROLLING_S)
    home_leg = motion.states.between(inbound.start_s, inbound.end_s)
    if wind is None or min(len(leg), len(home_leg)) < _LEAST_STATES:
        return None
    airspeed = float(states.true_airspeed_mps.mean())
    home = steered(course, airspeed, wind)
    if home is None:
        return None
    air = Air(airspeed, wind.to_north_mps, wind.to_east_mps)
    circuit = Circuit(course, home.heading_rad, back.turn, away_bank, back_bank, air)
    heading = circular_mean(leg.heading_rad)
    abeam = abeam_s(motion.states.between(away.start_s, outbound.end_s), motion.charted.outbound_true_rad)
    flown = Lap(
        circuit=circuit,
        heading_rad=heading,
        level_s=outbound.duration_s,
        timed_s=outbound.end_s - (abeam if abeam is not None else away.start_s),
        from_words="abeam the fix" if abeam is not None else "over the fix",
        wind=wind,
        out_mps=float(leg.ground_speed_mps.mean()),
        in_mps=float(home_leg.ground_speed_mps.mean()),
    )
    return flown if _faithful(context, flown, away, inbound) else None


def _bank(context: Context, turn: Part) -> float | None:
    """Mean bank of a turn without rolling in and out, unsigned, including a resumed turn onto the course. [rad]"""
    states = context.motion.states.between(turn.start_s, turn.end_s)
    if not len(states) or not context.motion.bank_known(states):
        return None
    bank = np.maximum((turn.turn or 0) * states.bank_rad, 0.0)
    return float(bank[bank >= _BANKED_SHARE * turn_bank(bank)].mean())


def _faithful(context: Context, flown: Lap, away: Part, inbound: Part) -> bool:
    """Whether the lap, simulated from its start, ends where the aircraft was ends_s."""
    states = context.motion.states.between(away.start_s, inbound.end_s)
    north, east = states.distance_m * np.cos(states.bearing_rad), states.distance_m * np.sin(states.bearing_rad)
    start = float(north[0]), float(east[0])
    simulated = flown.circuit.fly(flown.heading_rad, flown.level_s, start, float(states.heading_rad[0]))
    ends_s = float(states.time_s[0] + simulated.time_s[-1])
    if ends_s > inbound.end_s:
        return False
    there = np.interp(ends_s, states.time_s, north), np.interp(ends_s, states.time_s, east)
    return math.hypot(float(simulated.north_m[-1] - there[0]), float(simulated.east_m[-1] - there[1])) < _FAITHFUL_M
