"""The first time that the fix is passed on an arrival, before the passage at which the approach begins.

What is flown between the two may be a lap of a hold or another reversal that is not recognised, because a gap hides its end or
because it never joined the course. The minimum of the arrival is sure to hold up to the first passage only.
"""

from __future__ import annotations

from analyzer.checks.finding import Context
from analyzer.checks.phrases import clock
from analyzer.legs.passages import find_passages
from analyzer.physics.units import NM

__all__ = ["MAY_BE_ENTRY", "first_passed_s", "perhaps_the_reversal"]

MAY_BE_ENTRY = "the log begins in the hold, so that this may be its entry, for which the minimum of the arrival no longer holds"

_OVER_M, _SINCE_S = 0.5 * NM, 40.0  # how near the fix is passed, and how long before the end of the arrival at least


def first_passed_s(context: Context) -> float | None:
    """When the fix is first passed on the arrival, well before its end; None where it is not. [s]"""
    arrival = context.reversal.parts[0]
    states = context.motion.states.between(arrival.start_s, arrival.end_s)
    if arrival.name != "arrival" or len(states) < 3:
        return None
    begin, end = float(states.time_s[0]), float(states.time_s[-1]) - _SINCE_S
    passages = (one for one in find_passages(states) if one.distance_m < _OVER_M)
    return next((one.time_s for one in passages if begin < one.time_s < end), None)


def perhaps_the_reversal(context: Context, passed_s: float) -> str:
    """Why what is flown on the arrival after the first passage is not assessed."""
    fix = context.motion.charted.procedure.fix.name
    return f"{fix} was first passed at {clock(passed_s)}, and what was flown from there may be a part of the reversal"
