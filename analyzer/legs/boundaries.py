"""Where a turn begins and ends, and when the aircraft is established: instants finer than a second.

The smoothing spreads a roll over a few seconds but leaves its middle where it was. So a roll is found by the instant its
middle is passed, and its beginning and end by the time the roll itself takes at the rate pilots roll at.
"""

from __future__ import annotations

import numpy as np

from analyzer.legs.guidance import off_inbound
from analyzer.motion.states import States
from analyzer.physics.quantiles import median, quantile
from analyzer.physics.runs import true_runs
from analyzer.physics.units import DEG, FloatArray
from analyzer.procedure.charted import Charted

__all__ = ["established_at", "held_bank", "turn_bank", "turn_span"]

ROLL_RATE_RAD_S = 5.0 * DEG  # common practice, no source
_NEARLY = 0.8  # of a bank: what is more counts as held
_ROLL_MARGIN = 7  # seconds about the decoded cut in which the roll is looked for
_SHALLOW_MARGIN = 20  # before it, where a shallow turn looks like level flight for a while
_LEVEL_RAD = 5.0 * DEG  # wings level; a slow roll out, as of a heavy aircraft, ends here
_GROWS_RAD = 2.0 * DEG  # a bank that has grown by this again belongs to the next turn
_STATE_S = 1.5  # states are a second apart; more is a gap
_JUMP = 3.0  # in shares of what is established, from second to second: a direction that went through its opposite
_STAYS_S = 5.0  # being established has to last this long: a course merely crossed does not count
_SWEPT_RAD = 120.0 * DEG  # past this much of a long turn, level wings end it


def turn_bank(bank_rad: FloatArray) -> float:
    """The bank of a turn: the ninth decile of its magnitude, which the rolls in and out do not lower."""
    return quantile(np.abs(bank_rad), 0.9)


def held_bank(bank_rad: FloatArray) -> slice:
    """The seconds of a turn, banked positive, from its roll in to where it is rolled out or closes with the next course.

    They begin and end near the bank of the turn; near the usual one where less than half of the turning is flown near that, as
    in a turn that is tightened at its end.
    """
    banked = np.maximum(bank_rad, 0.0)
    pull = np.tan(banked)  # as is the rate of turn
    near = np.flatnonzero(bank_rad >= _NEARLY * turn_bank(banked))
    if float(pull[near[0] : near[-1] + 1].sum()) < 0.5 * float(pull.sum()):
        near = np.flatnonzero(bank_rad >= _NEARLY * median(banked[banked > 0.0]))
    return slice(int(near[0]), int(near[-1]) + 1)


def turn_span(states: States, first: int, last: int, direction: int, from_bank_rad: float = 0.0) -> tuple[float, float]:
    """Beginning of the roll into a turn and end of the roll out of it. [s]

    `first` and `last` are the seconds that the turn was decoded to; `from_bank_rad` is the size of an opposite bank that it
    is rolled into from, zero from level wings.
    """
    bank = direction * states.bank_rad
    banked = np.maximum(bank[first : last + 1], 0.0)
    steady = turn_bank(banked)
    # a turn that is tightened at its end is rolled into to what it is flown with for most of the time
    mostly = median(banked[banked > 0.0]) if (banked > 0.0).any() else steady
    rolled_to = mostly if mostly < _NEARLY * steady else steady
    low, high = max(first - _SHALLOW_MARGIN, 0), min(last + _ROLL_MARGIN, len(states) - 1)
    full = np.flatnonzero(bank[first : last + 1] >= _NEARLY * steady) + first
    if not len(full):  # a recorded bank contradicts the turn that the positions show: only the decoded seconds are left
        full = np.arange(first, last + 1)
    begun = min(int(full[0]), _most_of_turn(states, first, last, direction, rolled_to / 2.0))
    middle_in = (rolled_to - from_bank_rad) / 2.0
    start = _crossing(states.time_s, bank, begun, low, middle_in)
    start -= (rolled_to + from_bank_rad) / (2.0 * ROLL_RATE_RAD_S)
    swept = np.cumsum(direction * states.turn_rate_rad_s[begun : high + 1])  # a state a second
    past = begun + int(np.searchsorted(swept, _SWEPT_RAD))
    leave_from = past if past < high else int(full[-1])
    middle_out = _crossing(states.time_s, bank, leave_from, high, steady / 2.0)
    rolled_out = middle_out + steady / (2.0 * ROLL_RATE_RAD_S)
    return start, max(rolled_out, _level_after(states.time_s, bank, middle_out, high))


def _most_of_turn(states: States, first: int, last: int, direction: int, level: float) -> int:
    """Where what turns the farthest of some seconds begins, of what is banked beyond a level; the last where nothing is.

    A turn that is tightened at its end, as when it comes out beyond the course, is steepest there and begins long before.
    """
    rate = direction * states.turn_rate_rad_s[first : last + 1]  # a state a second
    runs = true_runs(direction * states.bank_rad[first : last + 1] >= level)
    return first + max(runs, key=lambda run: float(rate[run[0] : run[1]].sum()))[0] if len(runs) else last


def _crossing(time_s: FloatArray, bank: FloatArray, start: int, stop: int, level: float) -> float:
    """The instant at which the bank first falls through a level, walking from one index to another, forwards or backwards."""
    step = 1 if stop >= start else -1
    walk = np.arange(start, stop + step, step)
    below = np.flatnonzero(bank[walk] < level)
    if not len(below) or below[0] == 0:
        return float(time_s[walk[0 if len(below) else -1]])
    inside, outside = walk[below[0] - 1], walk[below[0]]
    share = (bank[inside] - level) / (bank[inside] - bank[outside])
    return float(time_s[inside] + share * (time_s[outside] - time_s[inside]))


def _level_after(time_s: FloatArray, bank: FloatArray, middle_out: float, high: int) -> float:
    """When the wings come level after the middle of a roll out, or the bank is least before it grows again."""
    after = min(int(np.searchsorted(time_s, middle_out)), high)
    falling = bank[after : high + 1]
    least = np.minimum.accumulate(falling)
    growing = np.flatnonzero(falling > least + _GROWS_RAD)
    stop = after + int(np.argmin(falling[: growing[0]])) if len(growing) else high
    return _crossing(time_s, bank, after, stop, _LEVEL_RAD)


def established_at(states: States, charted: Charted, from_s: float, until_s: float) -> float | None:
    """The first instant between two from which the aircraft is established inbound for 5 s; None where there is none.

    Deviation and track are interpolated between states, so the instant may fall between seconds. The states should extend some
    seconds beyond `until_s`, since the 5 s may end there.
    """
    first = int(np.searchsorted(states.time_s, from_s))
    if first >= len(states) - 1:
        return None
    off, across = (share[first:] for share in off_inbound(states, charted))
    (off_from, off_to), (across_from, across_to) = _within_one(off), _within_one(across)
    begin, end = np.maximum(off_from, across_from), np.minimum(off_to, across_to)
    time, steps = states.time_s[first:-1], np.diff(states.time_s[first:])
    inside = (begin <= end) & (steps < _STATE_S)
    entered, left = time + begin * steps, time + end * steps
    runs_on = np.zeros(len(inside), dtype=np.bool_)  # into the step after it, without leaving
    runs_on[:-1] = inside[:-1] & inside[1:] & (left[:-1] >= entered[1:])
    for k in np.flatnonzero(inside & ~np.concatenate([[False], runs_on[:-1]])):
        if entered[k] > until_s:
            return None
        stops = np.flatnonzero(~runs_on[k:])
        if float(left[k + int(stops[0])] - entered[k]) >= _STAYS_S:
            return float(entered[k])
    return None


def _within_one(value: FloatArray) -> tuple[FloatArray, FloatArray]:
    """The share of each step between values in which a linear interpolation lies from -1 to 1; where there is none, 1 to 0."""
    before, step = value[:-1], np.diff(value)
    flat = np.abs(step) < 1e-12
    slope = np.where(flat, 1.0, step)
    low, high = (-1.0 - before) / slope, (1.0 - before) / slope
    begin, end = np.maximum(np.minimum(low, high), 0.0), np.minimum(np.maximum(low, high), 1.0)
    inside = np.abs(before) <= 1.0
    begin, end = np.where(flat, 0.0, begin), np.where(flat, np.where(inside, 1.0, -1.0), end)
    there = (begin <= end) & (np.abs(step) < _JUMP)
    return np.where(there, begin, 1.0), np.where(there, end, 0.0)
