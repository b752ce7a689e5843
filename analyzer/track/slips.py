"""Clocks of whole seconds that slip: a position is stamped a second early or late, and so are all that follow for a while.

A receiver, a network or a phone stamps a position when it passes it on, cut to the second. Where that delay drifts across a
second, two seconds are flown between stamps one second apart, or one second between stamps two apart: a jump of the speed to
twice or half, for a single step. The flight around it shows which steps these are.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import numpy.typing as npt

from analyzer.physics.quantiles import median
from analyzer.physics.units import FloatArray
from analyzer.track.samples import Samples
from analyzer.track.steps import FLYING_MPS
from analyzer.track.track import Note, counted

__all__ = ["mend_slips"]

_WHOLE_S = 1e-6
_USUAL_S = 1.0  # between stamps: of longer steps a second more or less is a small share
_AROUND = 4  # steps either side, whose median is the speed flown
_A_SECOND = 0.25  # how near a slip has to be to one second of flight, and the steps around to none [s]
_ASIDE_S = 0.4  # of flight, across the direction of the steps next to it, which noise turns
_UNLIKE = 0.4  # seconds of flight at the speed of the two steps next to it: none else is looked at
_SELDOM = 8  # steps for each slip at least: more often stamps are cut at random, which smoothing takes for scatter
_LEAST_STEPS = 20


def mend_slips(samples: Samples) -> tuple[Samples, tuple[Note, ...]]:
    """With times a second later or earlier between the slips of a clock of whole seconds, where these take turns.

    A slip is a step straight ahead, a second longer or shorter than its stamps say, by the median speed of four steps on either
    side, which differ from it by no more than a quarter of a second; and where the clock falls behind, the records written are
    as many as the seconds flown. Where slips follow each other the same way the clock does not come back, and they are left
    alone.
    """
    time = samples.time_s
    if len(time) < _LEAST_STEPS or (np.abs(time - np.round(time)) > _WHOLE_S).any():
        return samples, ()
    took = np.diff(time)
    if median(took) != _USUAL_S:
        return samples, ()
    north, east = samples.steps_m
    slips = _slips(north + 1j * east, took)
    written = np.diff(samples.row)
    slips[(slips < 0.0) & (written != np.round(took + slips))] = 0.0
    count = int(np.count_nonzero(slips))
    if not count or count * _SELDOM > len(took) or np.ptp(np.cumsum(slips)) > 1.0:
        return samples, ()
    mended = time + np.concatenate(([0.0], np.cumsum(slips)))
    often = f"{counted(count, 'time')}, to and fro: times between" if count > 1 else "once: the times after it"
    text = f"the clock of whole seconds slips by a second {often} moved by that"
    return replace(samples, time_s=mended), (Note(text, count),)


def _slips(moved_m: npt.NDArray[np.complex128], took_s: FloatArray) -> FloatArray:
    """By how much later than stamped the flight goes on after each step: a second, none, or less by one. [s]"""
    slips = np.zeros(len(moved_m))
    velocity = moved_m / took_s
    speed, next_to = np.abs(velocity), 0.5 * (velocity[:-2] + velocity[2:])
    here = np.flatnonzero(np.abs(moved_m[1:-1] - next_to * took_s[1:-1]) > _UNLIKE * np.abs(next_to)) + 1
    here = here[(here >= _AROUND) & (here < len(moved_m) - _AROUND)]
    others = speed[here[:, None] + np.array([by for by in range(-_AROUND, _AROUND + 1) if by])]
    flown = np.median(others, axis=1)
    usual = np.maximum(flown, FLYING_MPS)
    ahead = np.exp(1j * np.angle(velocity[here - 1] + velocity[here + 1]))
    flown_s = moved_m[here] * np.conj(ahead) / usual  # ahead, and aside as imaginary part
    early = flown_s.real - took_s[here]
    steady = np.sort(np.abs(others / usual[:, None] - 1.0), axis=1)[:, -2] < _A_SECOND  # but for another slip
    slip = np.sign(early)
    found: npt.NDArray[np.bool_] = steady & (flown > FLYING_MPS) & (np.abs(early - slip) < _A_SECOND)
    found &= np.abs(flown_s.imag) < _ASIDE_S
    found &= (took_s[here] + slip > 0.5) & (took_s[here] < 2.5)
    slips[here[found]] = slip[found]
    return slips
