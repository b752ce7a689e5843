"""What a gap of the log may hide of an approach: holes near the fix in which whole turns may have been flown."""

from __future__ import annotations

import math

from analyzer.legs.bounds import reversal_reach_m
from analyzer.legs.named import clock
from analyzer.motion.knots import LONG_HOLE_S
from analyzer.motion.motion import Motion

__all__ = ["gap_words"]


def gap_words(motion: Motion, start_s: float = -math.inf, end_s: float = math.inf) -> str:
    """The gaps of the log in a stretch of time that may hide turns of a reversal, as a clause; empty if there is none.

    Such as ``the log has a gap from 09:16:50 to 09:18:20``. They begin or end as near to the fix as reversals are flown.
    `start_s` and `end_s` are in seconds.
    """
    reach = reversal_reach_m(motion.charted)
    holes = [hole for hole in motion.holes_between(start_s, end_s, LONG_HOLE_S) if min(map(motion.distance_at, hole)) < reach]
    spans = [" to ".join(map(clock, hole)) for hole in holes]
    return f"the log has {'a gap' if len(spans) == 1 else 'gaps'} from {', from '.join(spans)}" if spans else ""
