"""The table of all checks, in the order they are reported, and running them.

A new check is a row in the `CHECKS` of the module of its function; DEVELOPERS.md has the rest of the recipe.
"""

from __future__ import annotations

from collections.abc import Mapping

from analyzer.checks import (
    altitudes,
    arcs,
    banks,
    ceilings,
    course_tracking,
    final_fixes,
    finals,
    glide_path,
    hold_courses,
    hold_entries,
    hold_laps,
    hold_timing,
    intercepts,
    leg_limits,
    levels,
    manoeuvre,
    minimums,
    missed,
    passages,
    reversal,
    routes,
    shapes,
    speeds,
    step_downs,
)
from analyzer.checks.check import Check
from analyzer.checks.events import once
from analyzer.checks.finding import Context, Finding
from analyzer.vocabulary import CHECK_NAMES, CheckName, Entry

__all__ = ["CHECKS", "LIMITS", "OPTIONAL_LIMITS", "run_checks"]

_MODULES = (
    altitudes,
    arcs,
    banks,
    ceilings,
    course_tracking,
    final_fixes,
    finals,
    glide_path,
    hold_courses,
    hold_entries,
    hold_laps,
    hold_timing,
    intercepts,
    leg_limits,
    levels,
    manoeuvre,
    minimums,
    missed,
    passages,
    reversal,
    routes,
    shapes,
    speeds,
    step_downs,
)
_ROWS = {check.name: check for module in _MODULES for check in module.CHECKS}
CHECKS: Mapping[CheckName, Check] = {name: _ROWS[name] for name in CHECK_NAMES}
# Limits of a standard by name, each with the units that it may be given in.
LIMITS: Mapping[str, tuple[str, ...]] = {name: units for check in CHECKS.values() for name, units in check.limits.items()}
# The limits that a standard may omit.
OPTIONAL_LIMITS: frozenset[str] = frozenset().union(*(check.optional for check in CHECKS.values()))


def run_checks(context: Context) -> tuple[Finding, ...]:
    """The findings of all checks on one approach or hold, each event counted once."""
    entry: Entry = "hold" if context.hold is not None else "approach"
    findings = [finding for check in CHECKS.values() if entry in check.of for finding in check.function(context)]
    return once(findings, context.motion.states)
