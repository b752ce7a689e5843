"""Altitudes that a flight held, leg by leg: what the charted minima will not have been above."""

from __future__ import annotations

import itertools
import math

import numpy as np

from analyzer.checks.levels import level_stretches
from analyzer.legs.model import Reversal
from analyzer.motion.model import Motion
from analyzer.physics.units import FT
from analyzer.vocabulary import LEGS

__all__ = ["levels_ft"]

_ROUND_FT, _SHORT_FT = (
    100.0,
    15.0,
)  # minima are whole hundreds, at or below what was flown; a level may be a little short of one
_BELOW_FT = 150.0
_SHARED_S = 20.0  # of a level part inside a leg for it to count there


def levels_ft(motion: Motion, reversal: Reversal) -> dict[str, float]:
    """The lowest level held in each leg, down to a whole hundred feet.

    Legs without a level part are absent, and those that went well below it without levelling there.
    """
    if not motion.has_altitude:
        return {}
    levels = level_stretches(motion.states.between(reversal.parts[0].start_s, reversal.parts[-1].end_s))
    found: dict[str, float] = {}
    for leg in LEGS:
        held = []
        for start, end in reversal.leg_spans(leg):
            for level in levels:
                inside = level.between(start, end)
                if len(inside) >= _SHARED_S:
                    held.append(float(np.median(inside.altitude_m)) / FT)
        lowest = min((_lowest_ft(motion, *span) for span in reversal.leg_spans(leg)), default=np.inf)
        if held and lowest > min(held) - _BELOW_FT:
            found[leg] = math.floor((min(held) + _SHORT_FT) / _ROUND_FT) * _ROUND_FT
    # minima do not rise on the way in: a leg flown higher than the one before is not charted above it
    return dict(zip(found, itertools.accumulate(found.values(), min), strict=True))


def _lowest_ft(motion: Motion, start_s: float, end_s: float) -> float:
    return float(np.fmin.reduce(motion.states.between(start_s, end_s).altitude_m, initial=np.inf)) / FT
