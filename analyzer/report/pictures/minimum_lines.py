"""When each minimum of an approach applies, for the profile and the altitude strip.

A minimum is left out while a higher one applies: that of a step-down fix while the leg's is higher, that of the approach until
the last step-down fix is passed.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from analyzer.checks.final_fixes import fix_stretches
from analyzer.frozen import dataclass
from analyzer.vocabulary import FLOWN_LEGS, Leg

if TYPE_CHECKING:
    from analyzer.debriefs.data import Approach, DebriefData

__all__ = ["MinimumLine", "minimum_lines"]


@dataclass(frozen=True)
class MinimumLine:
    """A minimum from one instant to another, of a leg, or of a fix if one is named. [m, s]"""

    altitude_m: float
    start_s: float
    end_s: float
    leg: Leg | None = None
    fix: str | None = None


def minimum_lines(debrief: DebriefData, approach: Approach) -> tuple[MinimumLine, ...]:
    """The minimums of the legs flown, then those of the fixes passed, each in the order flown."""
    reversal, levels = approach.reversal, debrief.motion.charted.levels_m
    of_legs = [
        MinimumLine(levels[leg], start, end, leg=leg)
        for leg in FLOWN_LEGS
        if leg in levels
        for start, end in reversal.leg_spans(leg)
    ]
    of_fixes = [
        MinimumLine(
            stretch.fix.minimum_m,
            stretch.start_s,
            stretch.passed_s if stretch.passed_s is not None else reversal.parts[-1].end_s,
            fix=stretch.fix.name,
        )
        for stretch in fix_stretches(debrief.motion, reversal)
        if stretch.fix.minimum_m is not None and stretch.fix.role != "missed-approach-point"
    ]
    lines = (*of_legs, *of_fixes)
    binding = (replace(line, start_s=_binds_from(line, lines)) for line in lines)
    return tuple(line for line in binding if line.end_s > line.start_s)


def _binds_from(line: MinimumLine, lines: Sequence[MinimumLine]) -> float:
    """The instant from which no higher minimum applies. [s]"""
    start = line.start_s
    for other in sorted(lines, key=lambda other: other.start_s):
        if other.altitude_m > line.altitude_m and other.start_s <= start < other.end_s:
            start = other.end_s
    return start
