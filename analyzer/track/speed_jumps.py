"""Jumps of the ground speed from one step of a log to the next that no aircraft makes: its clock changed pace, not the flight.

The speed after a jump is another over several steps, and more so than noise, coarse positions, braking on a runway or a
take-off run make it.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
from numpy.lib.stride_tricks import sliding_window_view

from analyzer.physics.quantiles import median, quantile
from analyzer.physics.units import FloatArray
from analyzer.track.steps import FLYING_MPS

__all__ = ["WINDOW_STEPS", "a_second_apart", "speed_jumps"]

WINDOW_STEPS = 5  # whose median speed is compared with that of the five after

_LEAST_STEP_S = 1.0  # closer samples give no reliable speed
_ABRUPT_MPS2 = 5.0  # half a g along the path, which no aircraft has in the air
_BEYOND_SCATTER = 4.0  # standard deviations of the change of speed from step to step, beyond which one of them is no scatter
_CLEAR_OF_SCATTER = 2.5  # of them, between two medians: times that jitter make speeds that differ as much
_ROUNDING_MPS = 0.05  # smaller changes of speed are no digits of a position
_GOES_ON = 1.3  # a further change of speed over as many steps, the same way
_LEAST_STRETCH = 5  # steps


def a_second_apart(time_s: FloatArray) -> npt.NDArray[np.intp]:
    """Places of samples at least a second apart."""
    usual = median(np.diff(time_s)) if len(time_s) > 1 else 0.0
    every = max(1, round(_LEAST_STEP_S / usual)) if usual > 0.0 else 1
    return np.arange(0, len(time_s), every)


def speed_jumps(speed: FloatArray, took_s: FloatArray, least_factor: float) -> list[int]:
    """The first step of every new speed, where it jumps by a factor or more and stays there for a while.

    `speed` [m/s] and duration [s] are those of successive steps.
    """
    if len(speed) < 2 * WINDOW_STEPS:
        return []
    medians = np.partition(sliding_window_view(speed, WINDOW_STEPS), WINDOW_STEPS // 2, axis=1)[:, WINDOW_STEPS // 2]
    before, after = medians[:-WINDOW_STEPS], medians[WINDOW_STEPS:]  # of the step at place + WINDOW_STEPS
    low, high = np.minimum(before, after), np.maximum(before, after)
    differ = (low > FLYING_MPS) & (high > least_factor * low)
    if not differ.any():
        return []
    here = np.arange(len(differ)) + WINDOW_STEPS
    at_step = np.log(np.maximum(speed[here], 0.1) / np.maximum(speed[here - 1], 0.1))
    middle_s = np.cumsum(took_s) - 0.5 * took_s
    apart_s = (middle_s[WINDOW_STEPS:] - middle_s[:-WINDOW_STEPS])[WINDOW_STEPS // 2 :][: len(here)]  # of the windows' middles
    change = after - before
    # coarse positions make speeds that differ from step to step; of braking after a landing they would make a jump
    scatter = _scatter(speed)
    jumped = np.abs(speed[here] - speed[here - 1]) > _BEYOND_SCATTER * scatter
    # a clock changes pace within a step, so that those before and after it show all of the change
    then = np.minimum(here + 1, len(speed) - 1)
    two_steps, half_s = np.abs(speed[then] - speed[here - 1]), 0.5 * (middle_s[then] - middle_s[here - 1])
    sudden = np.minimum(np.abs(change), two_steps) / half_s > _ABRUPT_MPS2
    at_once = jumped & (np.abs(at_step) > np.log(least_factor)) & sudden
    abrupt = ((np.abs(change) - scatter) / apart_s > _ABRUPT_MPS2) | at_once
    clear = np.abs(change) > _CLEAR_OF_SCATTER * scatter
    # braking on the runway goes on, and so does a take-off run; a clock has one pace and then another
    onward = np.concatenate((medians[2 * WINDOW_STEPS :], after[-WINDOW_STEPS:]))
    goes_on = np.sign(change) * np.log(np.maximum(onward, 0.1) / np.maximum(after, 0.1)) > np.log(_GOES_ON)
    jumps = np.flatnonzero(differ & abrupt & clear & ~goes_on)
    if not len(jumps):
        return []
    side = np.sign(change[jumps])
    groups = np.split(jumps, np.flatnonzero((np.diff(jumps) > _LEAST_STRETCH) | (np.diff(side) != 0.0)) + 1)
    # the windows blur where it happens; the steps themselves do not
    return [int(here[group[int(np.argmax(at_step[group] * np.sign(change[group])))]]) for group in groups]


def _scatter(speed: FloatArray) -> float:
    """The standard deviation of the change of speed from step to step by noise or coarse positions alone. [m/s]"""
    change = np.abs(np.diff(speed))
    # flown along a meridian, positions of few digits make one speed nearly always, and then one that is a digit away
    digit = float(np.min(change[change > _ROUNDING_MPS], initial=np.inf))
    return max(quantile(change, 0.9) / 1.645, digit if np.isfinite(digit) else 0.0)
