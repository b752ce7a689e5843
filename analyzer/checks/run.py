"""All checks, in the order they are reported, and running them. A new check is one function and one row here."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from analyzer.checks.altitudes import altitude_floor
from analyzer.checks.courses import inbound_course, intercept, outbound_course
from analyzer.checks.figures import Figures
from analyzer.checks.model import Context, Finding
from analyzer.checks.reversal import distance_limit, no_reversal, reversal_side, speed_limit
from analyzer.checks.standard import Standard
from analyzer.checks.step_downs import descent_timing
from analyzer.checks.turns import offset_heading, offset_time, turn_bank, turn_rate
from analyzer.legs.model import Reversal
from analyzer.motion.model import Motion

__all__ = ["CHECKS", "run_checks"]

CHECKS: Mapping[str, Callable[[Context], tuple[Finding, ...]]] = {
    "distance_limit": distance_limit,
    "reversal_side": reversal_side,
    "no_reversal": no_reversal,
    "altitude_floor": altitude_floor,
    "descent_timing": descent_timing,
    "outbound_course": outbound_course,
    "inbound_course": inbound_course,
    "offset_heading": offset_heading,
    "offset_time": offset_time,
    "turn_bank": turn_bank,
    "turn_rate": turn_rate,
    "intercept": intercept,
    "speed_limit": speed_limit,
}


def run_checks(motion: Motion, reversal: Reversal, figures: Figures, standard: Standard) -> tuple[Finding, ...]:
    """The findings of every check for one approach."""
    context = Context(motion, reversal, figures, standard)
    return tuple(finding for check in CHECKS.values() for finding in check(context))
