"""Whether what is cut as a reversal is a circuit of an aerodrome, or a downwind and a base as radar leads them."""

from __future__ import annotations

import math

import numpy as np

from analyzer.legs.assemble import Window
from analyzer.legs.decode import Cut
from analyzer.legs.grammar import Shape
from analyzer.legs.misfit import as_charted, off_outbound, step_span
from analyzer.legs.turn_back import BACK_RAD, BEGUN_RAD
from analyzer.legs.way_out import FROM_FIX_M, ON_COURSE_RAD
from analyzer.motion.motion import Motion
from analyzer.motion.states import States
from analyzer.physics.quantiles import median
from analyzer.physics.runs import true_runs
from analyzer.physics.units import DEG, FT, NM

__all__ = ["is_circuit", "is_circuit_beside", "is_vectored"]

# A base leg: no turn for so long, in the middle of what leads from the outbound course to the inbound one.
_BASE_S, _NO_TURN_RAD_S = 8, 0.5 * DEG
# Of a hold that is not the charted one: who turns back in one lingers for a moment at most.
_LINGERS_RAD, _LINGERS_S = 20.0 * DEG, 20
# A circuit of an aerodrome: climbed in it from the lowest in the minute before the fix and since, over that, and from the fix.
_LOW_BEFORE_S, _CIRCUIT_CLIMB_M, _CIRCUIT_HIGH_M, _CIRCUIT_FAR_M = 60, 300.0 * FT, 2000.0 * FT, 3.5 * NM
_LOW_AGAIN_M = 600.0 * FT  # over the lowest, at most, where the fix is passed again on the way down


def is_vectored(motion: Motion, window: Window, shape: Shape, cut: Cut) -> bool:
    """Whether it is a downwind and a base, as radar leads them: not out along the course, and round in two turns."""
    states, outbound, turn = window.states, step_span(shape, cut, "outbound"), step_span(shape, cut, "reversal_turn")
    if shape.name != "base-turn" or outbound is None or turn is None or _base_s(states, *turn) < _BASE_S:
        return False
    if motion.charted.kind != "base-turn":
        return True
    # who flies a base turn is on its course soon after the fix; a downwind is on it where they cross, if anywhere
    passed = int(np.searchsorted(states.time_s, window.outbound.time_s)) if window.outbound is not None else outbound[0]
    away = [k for k in range(passed, outbound[1]) if states.distance_m[k] > FROM_FIX_M]
    off = [off_outbound(motion, states, k) for k in away[: max(1, len(away) // 3)]]
    return bool(off) and median(np.array(off)) > ON_COURSE_RAD


def is_circuit_beside(motion: Motion, states: States, shape: Shape, side: int, cut: Cut) -> bool:
    """Whether what looks like another hold than the charted one is a downwind, a base and a final."""
    turn, intercept = step_span(shape, cut, "reversal_turn"), step_span(shape, cut, "intercept")
    if shape.name != "hold-direct" or as_charted(motion, shape, side) or turn is None:
        return False
    home = slice(turn[0], (intercept or turn)[1])
    turned = np.maximum.accumulate(np.abs(np.cumsum(states.turn_rate_rad_s[home])))
    middle = turned[(turned > BACK_RAD) & (turned < turned[-1] - BACK_RAD)]
    lingers = np.searchsorted(middle, middle + _LINGERS_RAD) - np.arange(len(middle))
    return int(lingers.max(initial=0)) >= _LINGERS_S  # states are a second apart


def _base_s(states: States, first: int, end: int) -> int:
    """How long the longest stretch without a turn in the middle of a turn is, with some turn before and after it. [s]"""
    rate = states.turn_rate_rad_s[first:end]
    turned = np.abs(np.cumsum(rate))
    middle = (turned > BACK_RAD) & (turned < turned[-1] - BEGUN_RAD)
    level = (np.abs(rate) < _NO_TURN_RAD_S) & middle
    return max((end - begin for begin, end in true_runs(level)), default=0)


def is_circuit(window: Window, shape: Shape, cut: Cut, begun: int) -> bool:
    """Whether it is a circuit of an aerodrome: up from near the ground, round close by, and no higher than circuits are."""
    states, turn = window.states, step_span(shape, cut, "reversal_turn")
    flown = slice(begun, cut.stop)
    if turn is None or not np.isfinite(states.altitude_m[flown]).any():
        return False
    before = states.altitude_m[max(0, begun - _LOW_BEFORE_S) : turn[0] + 1]
    low = float(np.nanmin(before)) if np.isfinite(before).any() else math.nan
    top, end = float(np.nanmax(states.altitude_m[flown])), float(states.altitude_m[cut.stop - 1])
    if window.inbound is not None and not (end - low < _LOW_AGAIN_M and top - end > _CIRCUIT_CLIMB_M):
        return False  # a lap in which a hold is climbed to, or a missed approach
    return bool(
        states.altitude_m[turn[0]] - low > _CIRCUIT_CLIMB_M
        and top - low < _CIRCUIT_HIGH_M
        and float(states.distance_m[flown].max()) < _CIRCUIT_FAR_M
    )
