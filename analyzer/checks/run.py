"""All checks, in the order they are reported, and running them. A new check is one function and one row here."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from analyzer.checks.altitudes import altitude_floor
from analyzer.checks.arcs import arc_radius
from analyzer.checks.courses import inbound_course, intercept, outbound_course
from analyzer.checks.finals import final_alignment, glide_path, stabilised_descent
from analyzer.checks.holds import hold_entry, hold_timing
from analyzer.checks.levels import altitude_hold
from analyzer.checks.model import Context, Finding
from analyzer.checks.passages import station_passage
from analyzer.checks.reversal import distance_limit, no_reversal, reversal_side, speed_limit
from analyzer.checks.step_downs import descent_timing
from analyzer.checks.turns import offset_heading, offset_time, outbound_length, turn_bank, turn_rate

__all__ = ["CHECKS", "run_checks"]

CHECKS: Mapping[str, Callable[[Context], tuple[Finding, ...]]] = {
    "distance_limit": distance_limit,
    "reversal_side": reversal_side,
    "no_reversal": no_reversal,
    "altitude_floor": altitude_floor,
    "descent_timing": descent_timing,
    "altitude_hold": altitude_hold,
    "outbound_course": outbound_course,
    "inbound_course": inbound_course,
    "outbound_length": outbound_length,
    "offset_heading": offset_heading,
    "offset_time": offset_time,
    "turn_bank": turn_bank,
    "turn_rate": turn_rate,
    "intercept": intercept,
    "speed_limit": speed_limit,
    "station_passage": station_passage,
    "hold_entry": hold_entry,
    "hold_timing": hold_timing,
    "arc_radius": arc_radius,
    "final_alignment": final_alignment,
    "glide_path": glide_path,
    "stabilised_descent": stabilised_descent,
}


def run_checks(context: Context) -> tuple[Finding, ...]:
    """The findings of every check for one approach."""
    return tuple(finding for check in CHECKS.values() for finding in check(context))
