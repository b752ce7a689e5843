"""Lessons on level flight: when the altitude was half the limit off, and how to correct from there."""

from __future__ import annotations

import math

import numpy as np

from analyzer.checks.finding import Context, Finding, Lesson
from analyzer.checks.phrases import clock, part_where
from analyzer.lessons.descents import rate_words
from analyzer.physics.units import FPM, FT

__all__ = ["learn_level"]

_LOOK_BACK_S = 300.0
_NEARLY = 0.9  # of the greatest error
_BACK_PER_MINUTE = 2.0  # feet per minute for each foot of error: FAA-H-8083-15B, altitude corrections; from memory


def learn_level(context: Context, finding: Finding) -> Lesson | None:
    """When and where the altitude was half the limit off and at what rate it continued, and the rate to correct it."""
    departure, level, place = finding.details.get("departure_ft"), finding.details.get("level_ft"), finding.place
    if departure is None or level is None or place is None or not isinstance(finding.limit, float):
        return None
    if finding.margin is not None and finding.margin >= 0.0:  # within the limit as far as the log shows
        return None
    half = finding.limit * context.height.metres / 2.0
    before = context.motion.states.between(place.time_s - _LOOK_BACK_S, place.time_s)
    off = math.copysign(1.0, departure) * (before.altitude_m - level * FT)
    within = np.flatnonzero(off < half)
    if not len(before) or not len(within) or within[-1] + 1 >= len(before):
        return None
    first = int(within[-1]) + 1
    begun = float(before.time_s[first])
    # up to where it was nearly as far off as it came: level flight there is no part of the rate
    there = first + int(np.argmax(off[first:] >= _NEARLY * abs(departure) * FT))
    seconds = float(before.time_s[there]) - begun
    text, part = context.height.text, context.reversal.part_at(begun)
    where = f" {part_where(part.name)}" if part is not None else ""
    way = "high" if departure > 0.0 else "low"
    rate = float(off[there] - half) / seconds if seconds >= 1.0 else 0.0
    went_on = f", and continued at {rate_words(rate)}" if rate >= 50.0 * FPM else ""
    back = f"{'descend' if departure > 0.0 else 'climb'} back at {rate_words(_BACK_PER_MINUTE * half / 60.0)}"
    in_turn = "; a turn needs back pressure" if part is not None and part.turn is not None and departure < 0.0 else ""
    return Lesson(f"It was {text(half)} {way} at {clock(begun)}{where}{went_on}.", f"At {text(half)} off {back}{in_turn}.")
