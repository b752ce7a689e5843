"""Whether the clock of a log keeps the pace of its flight, by the bank of the turns.

In a coordinated turn the tangent of the bank is speed times rate of turn over gravity, and both speed and rate scale with the
pace of the clock. Positions logged at twice the pace show four times the tangent: 20° become 55°, and at half the pace 5°.
Turns of an approach are flown between the two (AIM 5-3-8 j.2: 3° a second, but no more than 30° of bank; 25° by a flight
director).
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise

import numpy as np

from analyzer.doubts.doubt import Doubt
from analyzer.legs.reversal import Reversal
from analyzer.motion.motion import Motion
from analyzer.motion.states import States
from analyzer.physics.atmosphere import true_airspeed
from analyzer.physics.quantiles import median
from analyzer.physics.units import DEG, KT, unwrapped

__all__ = ["clock_shown", "pace"]

_TURNING_RAD_S = 0.6 * DEG  # slower is an arc, or a correction
_LEAST_TURN_RAD = 60.0 * DEG
_EDGE = 0.2  # share of a turn at either end, for rolling in and out
_STEEPEST_RAD, _SHALLOWEST_RAD = 43.0 * DEG, 8.5 * DEG  # mean bank; common practice, no source
_SLOWEST_RAD_S = 2.3 * DEG  # slow aircraft need little bank for 3° a second
# Half standard rate is no fault of the clock where one turn onto a course is all that shows; middles of turns; no source.
_SHALLOW_TURNS_RAD = 90.0 * DEG
_TAXIING_MPS = 10.0  # or slower: flown by no aeroplane, at twice the pace either
_FASTEST_MPS = 250.0 * KT  # indicated, below 10,000 ft (14 CFR 91.117 (a))
_WIND_BEHIND_MPS = 60.0 * KT  # common practice, no source
_REASON = "its clock cannot be right"
_DEPENDS = "Speeds, times, bank and wind depend on it; check the times in the log."


def pace(motion: Motion, flown: Sequence[Reversal]) -> Iterator[Doubt]:
    """A doubt if the turns are steeper or shallower than approaches are flown, or without turns the speed is too high."""
    spans = [_span(reversal) for reversal in flown if reversal.parts] or [_whole(motion)]
    for start, end in spans:
        turns = _shown(motion, start, end)
        if not turns:
            yield from _too_fast(motion.states.between(start, end), start, end)
            continue
        turns = [turn for turn in turns if not motion.bank_recorded(turn).any()]
        if not turns:
            continue
        bank = median(np.concatenate([np.abs(turn.bank_rad) for turn in turns]))
        rate = median(np.concatenate([np.abs(turn.turn_rate_rad_s) for turn in turns]))
        speed = median(np.concatenate([turn.true_airspeed_mps for turn in turns]))
        words = f"The turns would be flown at {bank / DEG:.0f}° of bank and {rate / DEG:.1f}° a second, at {speed / KT:.0f} kt"
        if bank > _STEEPEST_RAD:
            text = f"{words}: as in a log whose clock runs slow, or of a flight with time accelerated two times or more."
        elif bank < _SHALLOWEST_RAD and rate < _SLOWEST_RAD_S and sum(map(_turned_rad, turns)) >= _SHALLOW_TURNS_RAD:
            text = f"{words}: as in a log whose clock runs at twice the pace of the flight or faster."
        else:
            continue
        yield Doubt(f"{text} {_DEPENDS}", "all", _REASON, ((start, end),))


def clock_shown(motion: Motion, reversal: Reversal) -> bool:
    """Whether a turn of the approach, or else of the flight, shows by its bank the pace of the log's clock."""
    return bool(_shown(motion, *(_span(reversal) if reversal.parts else _whole(motion))))


def _span(reversal: Reversal) -> tuple[float, float]:
    return reversal.parts[0].start_s, reversal.parts[-1].end_s


def _whole(motion: Motion) -> tuple[float, float]:
    return float(motion.states.time_s[0]), float(motion.states.time_s[-1])


def _shown(motion: Motion, start_s: float, end_s: float) -> list[States]:
    """The turns of a stretch whose bank is known; where it has none, those of the whole flight, which has one clock."""
    for span in ((start_s, end_s), _whole(motion)):
        turns = [turn for turn in _turns(motion.states.between(*span)) if motion.bank_known(turn)]
        if turns:
            return turns
    return []


def _too_fast(states: States, start_s: float, end_s: float) -> Iterator[Doubt]:
    """A doubt if a stretch without turns is faster than approaches are flown, even with a strong tailwind."""
    if len(states) == 0:
        return
    speed = median(states.ground_speed_mps)
    altitude = states.altitude_m[np.isfinite(states.altitude_m)]
    level = float(np.median(altitude)) if len(altitude) else 0.0
    fastest = float(true_airspeed(_FASTEST_MPS, level)) + _WIND_BEHIND_MPS
    if speed > fastest:
        text = (
            f"The approach would be flown at {speed / KT:.0f} kt over the ground: as in a log whose clock runs slow, or of a "
            f"flight with time accelerated. {_DEPENDS}"
        )
        yield Doubt(text, "all", _REASON, ((start_s, end_s),))


def _turned_rad(turn: States) -> float:
    heading = unwrapped(turn.heading_rad)
    return abs(float(heading[-1] - heading[0]))


def _turns(states: States) -> Iterator[States]:
    """The steady middle of every turn of 60° or more in the air; on the ground no turn takes a bank."""
    if len(states) < 2:
        return
    turning = (np.abs(states.turn_rate_rad_s) > _TURNING_RAD_S) & (states.ground_speed_mps > _TAXIING_MPS)
    side = np.where(turning, np.sign(states.turn_rate_rad_s), 0.0)
    edges = [0, *(np.flatnonzero(np.diff(side)) + 1).tolist(), len(states)]
    for first, end in pairwise(edges):
        if side[first] == 0.0 or end - first < 3:
            continue
        heading = unwrapped(states.heading_rad[first:end])
        if abs(float(heading[-1] - heading[0])) < _LEAST_TURN_RAD:
            continue
        skip = int(_EDGE * (end - first))
        times = states.time_s[first + skip : end - skip]
        yield states.between(float(times[0]), float(times[-1]))
