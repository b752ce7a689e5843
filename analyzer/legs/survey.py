"""Survey lines: parallel lines flown one after another, each to the same side of the last, with turns of 180° between them.

A turn from one line to the next may be a 45/180 to the last detail. The lines show that it is none: who flies reversals or
holds comes back to the same course every time, and who surveys never does.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from analyzer.legs.segments import Segment, straight_segments
from analyzer.motion.model import Motion
from analyzer.physics.units import DEG, NM, wrap

__all__ = ["Survey", "find_surveys"]

_PARALLEL_RAD = 5.0 * DEG  # of the first line: in a crosswind the track of a line may differ from that of the next
_NEXT_S = 600.0  # from the end of a line to the next; some circle in between
# Lines flown the same way: a shorter step is the same line flown again, and a longer one leads to another area.
_LEAST_STEP_M, _MOST_STEP_M = 0.12 * NM, 3.0 * NM
_LEAST_LINES, _LEAST_EACH_WAY = 5, 2


@dataclass(frozen=True)
class Survey:
    """When a survey was flown, from the beginning of its first line to the end of its last, and the number of lines."""

    start_s: float
    end_s: float
    lines: int

    def holds(self, time_s: float) -> bool:
        """Whether an instant lies in it."""
        return self.start_s <= time_s <= self.end_s


@dataclass(frozen=True)
class _Line:
    segment: Segment
    forth: bool  # flown in the direction of the first of them
    across_m: float  # how far its middle lies right of a line through the fix in that direction


def find_surveys(motion: Motion) -> tuple[Survey, ...]:
    """The surveys in a flight, in order, of lines within sixteen miles of the fix."""
    surveys: list[Survey] = []
    segments = straight_segments(motion)
    taken = -math.inf
    for number, first in enumerate(segments):
        if first.start_s < taken:
            continue
        lines = _survey(first, segments[number:])
        each_way = min(sum(line.forth for line in lines), sum(not line.forth for line in lines))
        if len(lines) >= _LEAST_LINES and each_way >= _LEAST_EACH_WAY:
            taken = lines[-1].segment.end_s
            surveys.append(Survey(first.start_s, taken, len(lines)))
    return tuple(surveys)


def _survey(first: Segment, segments: Sequence[Segment]) -> list[_Line]:
    """The lines from the first on that move across their direction steadily, those flown either way to the same side."""
    lines: list[_Line] = []
    side = 0.0
    for segment in segments:
        if lines and segment.start_s - lines[-1].segment.end_s > _NEXT_S:
            break
        line = _line(segment, first.course_rad)
        if line is None:
            continue
        before = next((one for one in reversed(lines) if one.forth == line.forth), None)
        if before is not None:
            step_m = line.across_m - before.across_m
            side = side or math.copysign(1.0, step_m)
            if not _LEAST_STEP_M <= side * step_m <= _MOST_STEP_M:
                break
        lines.append(line)
    return lines


def _line(segment: Segment, course_rad: float) -> _Line | None:
    """A segment as a line parallel to a course; None where it is not."""
    off = float(wrap(segment.course_rad - course_rad))
    forth = abs(off) < 0.5 * math.pi
    if abs(off if forth else wrap(off - math.pi)) > _PARALLEL_RAD:
        return None
    return _Line(segment, forth, segment.along_m * math.sin(off) + segment.off_m * math.cos(off))
