"""Descents below an altitude: when they began and at what rate, or whether level flight sagged below it."""

from __future__ import annotations

import math

import numpy as np

from analyzer.checks.descent import first_below
from analyzer.checks.finding import Context
from analyzer.checks.phrases import miles
from analyzer.frozen import dataclass
from analyzer.motion.states import States
from analyzer.physics.quantiles import median
from analyzer.physics.units import FPM, FT

__all__ = [
    "A_TENTH",
    "NORMAL_MPS",
    "Undershoot",
    "bottom_s",
    "level_off_lead_m",
    "rate_words",
    "rounded_rate_fpm",
    "undershoot",
    "wait_until_established",
]

A_TENTH = "a tenth of the feet per minute"  # the lead of a level-off, in words
NORMAL_MPS = 1000.0 * FPM  # steeper descents are not normal
_GENTLE_MPS = 500.0 * FPM  # a normal descent is no slower; common practice, no source

_LEAD_SHARE = 0.1  # feet of lead per foot per minute of the rate; common practice, no source
_LEVEL_MPS = 150.0 * FPM
_SAG_MPS = 300.0 * FPM  # slower is sagging level flight rather than a descent; common practice, no source
_SAG_M = 100.0 * FT  # a smaller loss is not a descent either
_ROUND_FPM = 10.0
_LEFT_M = 50.0 * FT  # below its level, where a descent begins, as for the step-down
_BRIDGED_S = 10.0  # a shorter interruption does not end a descent
_LOOK_BACK_S = 600.0


@dataclass(frozen=True)
class Undershoot:
    """How the aircraft went below an altitude. [s, m/s, m]

    `begun_s` is when the descent began, None where the log begins in it; `rate_mps` its median rate, positive down; `fall_m`
    the altitude lost in it.
    """

    begun_s: float | None
    rate_mps: float
    fall_m: float

    @property
    def sagged(self) -> bool:
        """Whether level flight drifted down, without a descent."""
        return self.rate_mps < _SAG_MPS or self.fall_m < _SAG_M


def undershoot(context: Context, low_s: float, level_m: float) -> Undershoot | None:
    """How the aircraft went below a level before a low point; None if it was below for the ten minutes before.

    This is the descent in which the level was last passed, not a later sink. It begins with the step-down of the figures, if
    that is the same descent.
    """
    before = context.motion.states.between(low_s - _LOOK_BACK_S, low_s)
    above = np.flatnonzero(before.altitude_m >= level_m)
    if not len(above):
        return None
    passed_s = float(before.time_s[above[-1]])
    sinking = np.flatnonzero(before.vertical_speed_mps <= -_LEVEL_MPS)
    descents = np.split(sinking, np.flatnonzero(np.diff(before.time_s[sinking]) > _BRIDGED_S) + 1)
    spans = [(int(one[0]), int(one[-1])) for one in descents if len(one)]
    descent = next((span for span in spans if _passes(before, span, passed_s)), None)
    if descent is None:
        return Undershoot(None, 0.0, 0.0)
    first, last = descent
    fall = float(before.altitude_m[first] - before.altitude_m[last])
    rate = -median(before.vertical_speed_mps[first : last + 1])
    return Undershoot(_begun(context, before, first, last), rate, fall)


def bottom_s(context: Context, low_s: float) -> float:
    """When a descent that is under way at an instant ends. [s]"""
    states = context.motion.states.between(low_s, low_s + _LOOK_BACK_S)
    level = np.flatnonzero(states.vertical_speed_mps > -_LEVEL_MPS)
    return float(states.time_s[level[0] if len(level) else -1])


def rounded_rate_fpm(rate_mps: float) -> float:
    """A rate of descent to the nearest ten feet per minute. [ft/min]"""
    return round(rate_mps / FPM / _ROUND_FPM) * _ROUND_FPM


def rate_words(rate_mps: float) -> str:
    """A rounded rate of descent as text: ``930 ft/min``."""
    return f"{rounded_rate_fpm(rate_mps):,.0f} ft/min"


def level_off_lead_m(rate_mps: float) -> float:
    """Lead for levelling off from a descent or climb at a rate. [m]"""
    return math.ceil(_LEAD_SHARE * rounded_rate_fpm(rate_mps) / 10.0) * 10.0 * FT


def wait_until_established(context: Context, established_s: float) -> str:
    """Advice to wait until established, with the rate of the step-down from there if that is normal."""
    text, floors = context.height.text, context.motion.charted.floors_m
    home = [part for part in context.reversal.parts if part.name == "inbound"]
    inbound = next((part for part in home if part.end_s > established_s), None)
    high, low = floors.get("reversal"), floors.get("inbound")
    if high is None or low is None or high <= low or inbound is None or inbound.duration_s <= 0.0:
        return "Wait until established inbound."
    rate = math.ceil((high - low) / inbound.duration_s / FPM / _ROUND_FPM) * _ROUND_FPM
    if rate * FPM > NORMAL_MPS:
        return "Wait until established inbound."
    away = f"{miles(context.motion.distance_at(established_s), 1)} and {inbound.duration_s:.0f} s away"
    needs = f"{text(high - low)} needs about {rate:.0f} ft/min"
    if rate * FPM < _GENTLE_MPS:  # no pilot descends as slowly as that
        needs = f"{text(high - low)} at {rate_words(_GENTLE_MPS)} takes {(high - low) / _GENTLE_MPS:.0f} s"
    return f"Wait until established: from there the fix was {away}, and {needs}."


def _passes(states: States, descent: tuple[int, int], passed_s: float) -> bool:
    """Whether a level passed at an instant was passed in a descent, or while levelling off after it."""
    first, last = descent
    return bool(states.time_s[first] - _BRIDGED_S <= passed_s <= states.time_s[last] + _BRIDGED_S)


def _begun(context: Context, states: States, first: int, last: int) -> float | None:
    """When a descent began, measured like the step-down; None where the states begin in it. [s]"""
    step = context.figures.descent
    if step is not None and states.time_s[first] - _BRIDGED_S <= step.start_s <= states.time_s[last]:
        return step.start_s
    if first == 0:
        return None
    left = first_below(states, float(states.altitude_m[first]) - _LEFT_M, first)
    return left if left is not None else float(states.time_s[first])
