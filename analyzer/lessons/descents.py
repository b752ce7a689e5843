"""The descent below an altitude: when it began and at what rate, or that level flight sank through it."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from analyzer.checks.descent import first_below
from analyzer.checks.finding import Context
from analyzer.checks.phrases import miles
from analyzer.motion.motion import States
from analyzer.physics.quantiles import median
from analyzer.physics.units import FPM, FT

__all__ = [
    "A_TENTH",
    "NORMAL_MPS",
    "Undershoot",
    "level_off_lead_m",
    "rate_words",
    "rounded_rate_fpm",
    "undershoot",
    "wait_until_established",
]

A_TENTH = "a tenth of the feet per minute"  # the lead of a level-off, in words
NORMAL_MPS = 1000.0 * FPM  # a descent that has to be steeper is no normal one

_LEAD_SHARE = 0.1  # of the rate, in feet of lead for each foot a minute; common practice, no source
_LEVEL_MPS = 150.0 * FPM
_SAG_MPS = 300.0 * FPM  # slower is level flight that was not held rather than a descent; common practice, no source
_SAG_M = 100.0 * FT  # nor is a smaller loss a descent
_ROUND_FPM = 10.0
_LEFT_M = 50.0 * FT  # below the level it began at, a descent has begun: as for the step-down
_BRIDGED_S = 10.0  # a descent that is interrupted for less is one descent
_LOOK_BACK_S = 600.0


@dataclass(frozen=True)
class Undershoot:
    """How the aircraft came below an altitude. [s, m/s, m]

    `begun_s` is the beginning of the descent, None where the log begins in it; `rate_mps` its median rate, positive down, and
    `fall_m` what was lost in it.
    """

    begun_s: float | None
    rate_mps: float
    fall_m: float

    @property
    def sagged(self) -> bool:
        """Whether no descent led there: level flight drifted down."""
        return self.rate_mps < _SAG_MPS or self.fall_m < _SAG_M


def undershoot(context: Context, low_s: float, level_m: float) -> Undershoot | None:
    """How the aircraft came below a level before a low point; None where the ten minutes before are all below it.

    It is the descent that was flown when the level was last passed, not a later sink. Where that is the step-down of the
    figures, it begins when that does.
    """
    before = context.motion.states.between(low_s - _LOOK_BACK_S, low_s)
    above = np.flatnonzero(before.altitude_m >= level_m)
    if not len(above):
        return None
    passed_s = float(before.time_s[above[-1]])
    sinking = np.flatnonzero(before.vertical_speed_mps <= -_LEVEL_MPS)
    descents = np.split(sinking, np.flatnonzero(np.diff(before.time_s[sinking]) > _BRIDGED_S) + 1)
    spans = [(int(one[0]), int(one[-1])) for one in descents if len(one)]
    flown = next((span for span in spans if _passes(before, span, passed_s)), None)
    if flown is None:
        return Undershoot(None, 0.0, 0.0)
    first, last = flown
    fall = float(before.altitude_m[first] - before.altitude_m[last])
    rate = -median(before.vertical_speed_mps[first : last + 1])
    return Undershoot(_begun(context, before, first, last), rate, fall)


def rounded_rate_fpm(rate_mps: float) -> float:
    """A rate of descent to the nearest ten feet a minute. [ft/min]"""
    return round(rate_mps / FPM / _ROUND_FPM) * _ROUND_FPM


def rate_words(rate_mps: float) -> str:
    """The same in words: ``930 ft/min``."""
    return f"{rounded_rate_fpm(rate_mps):,.0f} ft/min"


def level_off_lead_m(rate_mps: float) -> float:
    """How far before an altitude to begin to level off, down or up at a rate. [m]"""
    return math.ceil(_LEAD_SHARE * rounded_rate_fpm(rate_mps) / 10.0) * 10.0 * FT


def wait_until_established(context: Context, established_s: float) -> str:
    """What the step-down takes from being established on, where that is a normal rate."""
    text, floors, inbound = context.height.text, context.motion.charted.floors_m, context.reversal.part("inbound")
    high, low = floors.get("reversal"), floors.get("inbound")
    if high is None or low is None or high <= low or inbound is None or inbound.duration_s <= 0.0:
        return "Wait until established inbound."
    rate = math.ceil((high - low) / inbound.duration_s / FPM / _ROUND_FPM) * _ROUND_FPM
    if rate * FPM > NORMAL_MPS:
        return "Wait until established inbound."
    return (
        f"Wait until established: from there the fix was {miles(context.motion.distance_at(established_s), 1)} and "
        f"{inbound.duration_s:.0f} s away, and {text(high - low)} needs about {rate:.0f} ft/min."
    )


def _passes(states: States, descent: tuple[int, int], passed_s: float) -> bool:
    """Whether a level that was passed at an instant was passed between two states, or in rounding out after them."""
    first, last = descent
    return bool(states.time_s[first] - _BRIDGED_S <= passed_s <= states.time_s[last] + _BRIDGED_S)


def _begun(context: Context, states: States, first: int, last: int) -> float | None:
    """When a descent had left its level, as the step-down measures it; None where the states begin in it. [s]"""
    step = context.figures.descent
    if step is not None and states.time_s[first] - _BRIDGED_S <= step.start_s <= states.time_s[last]:
        return step.start_s
    if first == 0:
        return None
    left = first_below(states, float(states.altitude_m[first]) - _LEFT_M, first)
    return left if left is not None else float(states.time_s[first])
