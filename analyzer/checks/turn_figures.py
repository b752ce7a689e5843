"""The figures of a turn: its bank, mean and peak, its rate, and how sure they are."""

from __future__ import annotations

import math

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view

from analyzer.frozen import dataclass
from analyzer.legs.boundaries import held_bank, turn_bank
from analyzer.motion.knots import LONG_HOLE_S, IntArray
from analyzer.motion.least_bank import least_bank
from analyzer.motion.motion import Motion
from analyzer.motion.states import States
from analyzer.physics.quantiles import median
from analyzer.physics.runs import true_runs
from analyzer.physics.units import DEG, FloatArray, unwrapped, wrap

__all__ = ["TurnFigures", "known_turn", "mostly_hidden", "shows_its_bank", "turns_between"]

_UNKNOWN_BANK_SD_RAD = 10.0 * DEG
_WRONG_RECORD_RAD = 4.0 * DEG  # from those before and after it: no aircraft rolls there and back within two seconds
_BANKED_RAD, _TURNED_RAD = 10.0 * DEG, 10.0 * DEG  # a turn: banked by more, and the heading changed by as much
_AS_STEEP_RAD = 0.5 * DEG
_LEVEL_SHARE, _LEVEL_S = 0.2, 15  # of the bank of a turn: with less for so long, it is rolled out; states are a second apart
_HIDDEN_IN_SHORT_TURNS = 0.12  # standard deviation as a share of the bank, from turns at 29° in closed form
_HIDDEN_SHARE = 1.0 / 3.0  # of a turn in gaps, from which on its bank is not known; no source
_LEAST_SHOWN = 0.85  # of the mean over the steady part, which no peak can be less than
_SUSTAINED_S, _SUSTAINED_SPARSE_S, _CLOSE_S = 3, 5, 2.0


@dataclass(frozen=True)
class TurnFigures:
    """Bank and rate of a turn, unsigned: means over the steady part, and the sustained peak.

    The steady part lasts from the first to the last instant at 80 % of it without rolling level in between, `bank_held_rad`
    from roll in to roll out, which is longer where the turn was tightened.
    `direction` is +1 right; `recorded` is true where the bank was logged throughout.
    `turned_rad` is the whole change of heading. No peak is below the mean: where the log shows less, `bank_shown_rad`, the
    steady part lies in a hole, and the peak is not known better than by the difference.
    `bank_peak_seen_sd_rad` leaves out how much steeper a turn may be that is short for the positions of the log: that does not
    make it less steep.
    """

    direction: int
    bank_mean_rad: float
    bank_held_rad: float
    bank_shown_rad: float
    bank_peak_rad: float
    bank_peak_sd_rad: float
    bank_peak_seen_sd_rad: float
    peak_time_s: float
    rate_mean_rad_s: float
    turned_rad: float
    recorded: bool


def turns_between(motion: Motion, start_s: float, end_s: float) -> tuple[TurnFigures, ...]:
    """The turns within a stretch that is not cut as one, such as onto a course; without those that it begins or ends in."""
    states = motion.states.between(start_s, end_s)
    found = []
    for direction in (1, -1):
        for begin, end in true_runs(direction * states.bank_rad > _BANKED_RAD):
            turn = states.between(float(states.time_s[begin]), float(states.time_s[end - 1]))
            turned = abs(float(wrap(turn.heading_rad[-1] - turn.heading_rad[0])))
            if begin > 0 and end < len(states) and turned >= _TURNED_RAD and motion.bank_known(turn):
                figures = known_turn(motion, turn, direction)
                found += [figures] if figures is not None else []
    return tuple(sorted(found, key=lambda one: one.peak_time_s))


def known_turn(motion: Motion, states: States, direction: int) -> TurnFigures | None:
    """The figures of a turn; None if its bank is too uncertain, or never to its side, as near a jump of the positions."""
    if (direction * states.bank_rad <= 0.0).all():
        return None
    turn = _turn(motion, states, direction)
    return turn if turn.bank_peak_sd_rad < _UNKNOWN_BANK_SD_RAD else None


def mostly_hidden(motion: Motion, start_s: float, end_s: float, longer_than_s: float = 0.0) -> bool:
    """Whether holes of the log longer than some seconds hide more than a third of a turn."""
    holes = motion.holes_between(start_s, end_s, longer_than_s)
    if not holes:
        return False
    hidden_s = sum(min(end, end_s) - max(begin, start_s) for begin, end in holes)
    return hidden_s > _HIDDEN_SHARE * (end_s - start_s)


def shows_its_bank(motion: Motion, start_s: float, end_s: float, seen: TurnFigures) -> bool:
    """Whether a turn shows its bank: no gap hides most of it, and no hole the steady part, of which only the mean is known."""
    if mostly_hidden(motion, start_s, end_s, LONG_HOLE_S):
        return False
    return seen.bank_shown_rad > _LEAST_SHOWN * seen.bank_mean_rad or not motion.holes_between(start_s, end_s)


def _sustained(motion: Motion, states: States, direction: int) -> FloatArray:
    """Bank averaged over three seconds, or five if positions are far apart; if recorded, without single wrong records. [rad]

    The peak of single seconds would include noise, a wrong record, and the overshoot of the smoothing where the aircraft rolls.
    """
    bank: FloatArray = direction * states.bank_rad
    reach = _SUSTAINED_S if motion.track.interval_s <= _CLOSE_S else _SUSTAINED_SPARSE_S
    if len(bank) < reach:
        return bank
    if motion.bank_recorded(states).all():
        middle: FloatArray = np.median(sliding_window_view(np.pad(bank, 1, mode="edge"), 3), axis=1)
        return np.where(np.abs(bank - middle) > _WRONG_RECORD_RAD, middle, bank)
    side = reach // 2
    return np.convolve(np.pad(bank, side, mode="edge"), np.full(reach, 1.0 / reach), mode="valid")


def _noise(values: FloatArray) -> float:
    """The standard deviation of what differs from value to value, by how far each is off the middle of its neighbours."""
    if len(values) < 3:
        return 0.0
    # of a normal deviate less the mean of two others: the variance is 1.5 times that of one, the median of its size 0.6745
    return median(np.abs(values[1:-1] - 0.5 * (values[:-2] + values[2:]))) / (0.6745 * math.sqrt(1.5))


def _high(bank: FloatArray) -> IntArray:
    """The seconds at 80 % of the bank of a turn or more, up to where it is rolled level: what closes with a course follows."""
    steady = turn_bank(np.maximum(bank, 0.0))
    high = np.flatnonzero(bank >= 0.8 * steady)
    level = [run for run in true_runs(bank <= _LEVEL_SHARE * steady) if run[1] - run[0] >= _LEVEL_S]
    return max(np.split(high, np.searchsorted(high, [begin for begin, _ in level])), key=len)


def _turn(motion: Motion, states: States, direction: int) -> TurnFigures:
    bank, seen = direction * states.bank_rad, motion.seen(states)
    high = _high(bank)
    steady = slice(int(high[0]), int(high[-1]) + 1)
    sustained = _sustained(motion, seen, direction)
    recorded = bool(motion.bank_recorded(states).all())
    noise = _noise(bank) if recorded else 0.0
    # of the steepest seconds, the one with the least error, away from rolling
    steepest = sustained >= sustained.max() - _AS_STEEP_RAD
    sd = motion.bank_sd_rad(seen.where(steepest))
    k = int(np.flatnonzero(steepest)[np.argmin(sd)])
    # where positions are as far apart as the turn is long, the bank may have been steeper
    close = motion.track.interval_s <= _CLOSE_S
    least = None if close else least_bank(motion, float(states.time_s[0]), float(states.time_s[-1]), direction)
    short = not recorded and high[-1] - high[0] < 2.0 * motion.track.interval_s + _SUSTAINED_S
    mean, shown = float(bank[steady].mean()), float(sustained.max())
    hidden = _HIDDEN_IN_SHORT_TURNS * shown if short else 0.0
    seen_sd = math.hypot(float(sd.min()), noise, max(0.0, mean - shown))
    with_hidden = math.hypot(seen_sd, hidden)
    # a curve through positions far apart may be too steep, but not by more than what the positions themselves show
    too_steep_sd = math.inf
    if least is not None:
        beyond = max(0.0, shown - least.bank_rad)
        rolling = np.interp(seen.time_s[steepest], motion.states.time_s, motion.rolling_sd_rad)
        noise_sd = math.sqrt(max(0.0, float(np.min(sd**2 - rolling**2))))
        too_steep_sd = math.hypot(noise_sd, least.sd_rad, beyond / 2.0)
    return TurnFigures(
        direction=direction,
        bank_mean_rad=mean,
        bank_held_rad=float(bank[held_bank(bank)].mean()),
        bank_shown_rad=shown,
        bank_peak_rad=max(shown, mean),
        bank_peak_sd_rad=with_hidden,
        bank_peak_seen_sd_rad=seen_sd if close else min(with_hidden, too_steep_sd),
        peak_time_s=float(seen.time_s[k]),
        rate_mean_rad_s=float((direction * states.turn_rate_rad_s[steady]).mean()),
        turned_rad=float(np.ptp(unwrapped(states.heading_rad))),
        recorded=recorded,
    )
