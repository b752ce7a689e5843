"""Survey lines: parallel lines flown one after another, each to the same side of the last, with turns of 180° between them.

A turn from one line to the next may be a 45/180 to the last detail. The lines show that it is none: who flies reversals or
holds comes back to the same course every time, and who surveys never does.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace

from analyzer.frozen import dataclass
from analyzer.legs.segments import Segment
from analyzer.physics.units import DEG, NM, wrap

__all__ = ["Survey", "find_surveys"]

_PARALLEL_RAD = 5.0 * DEG  # of the first line: in a crosswind the track of a line may differ from that of the next
_NEXT_S = 600.0  # from the end of a line to the next; some circle in between
# A step to the next line: a smaller one is the same line flown again, a greater one leads to another area. Courses flown badly
# lie apart as well, but not evenly, so that the greatest step is at most so many times the least.
_LEAST_STEP_M, _MOST_STEP_M, _EVEN = 0.12 * NM, 3.0 * NM, 2.5
_LEAST_LINES = 4
_NEXT_TO = 1.5  # mean steps
# Some fly a racetrack over several lines. Then the lines of either direction lie side by side; so many are needed of each.
_LEAST_EACH_WAY, _LEAST_LOOPED_STEP_M = 3, 0.2 * NM


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
    start_s: float
    end_s: float
    forth: bool  # flown in the direction of the first of them
    across_m: float  # how far its middle lies right of a line through the fix in that direction


def find_surveys(segments: Sequence[Segment]) -> tuple[Survey, ...]:
    """The surveys in a flight, in order, by its `straight_segments`: lines within sixteen miles of the fix."""
    surveys: list[Survey] = []
    taken = -math.inf
    for number, first in enumerate(segments):
        if first.start_s < taken:
            continue
        lines = _lines(first, segments[number:])
        many = max(_to_and_fro(lines), _looped(lines))
        if not many:
            continue
        many = _with_those_out_of_step(lines, many)
        taken = lines[many - 1].end_s
        if surveys and first.start_s - surveys[-1].end_s < _NEXT_S:
            surveys[-1] = replace(surveys[-1], end_s=taken, lines=surveys[-1].lines + many)
        else:
            surveys.append(Survey(first.start_s, taken, many))
    return tuple(surveys)


def _lines(first: Segment, segments: Sequence[Segment]) -> tuple[_Line, ...]:
    """The lines parallel to the first, from that one on, each begun soon after the one before; pieces of a line are joined."""
    lines: list[_Line] = []
    for one in _parallel(first, segments):
        before = lines[-1] if lines else None
        if before is not None and before.forth == one.forth and abs(one.across_m - before.across_m) < _LEAST_STEP_M:
            lines[-1] = replace(before, end_s=one.end_s)
        else:
            lines.append(one)
    return tuple(lines)


def _parallel(first: Segment, segments: Sequence[Segment]) -> Iterator[_Line]:
    before_s = first.start_s
    for segment in segments:
        if segment.start_s - before_s > _NEXT_S:
            return
        off = float(wrap(segment.course_rad - first.course_rad))
        forth = abs(off) < 0.5 * math.pi
        if abs(off if forth else float(wrap(off - math.pi))) > _PARALLEL_RAD:
            continue
        across_m = segment.along_m * math.sin(off) + segment.off_m * math.cos(off)
        yield _Line(segment.start_s, segment.end_s, forth, across_m)
        before_s = segment.end_s


def _to_and_fro(lines: Sequence[_Line]) -> int:
    """How many of the first lines lie each next to the one before, flown the other way; 0 where they are too few."""
    many = 1
    steps: list[float] = []
    while many < len(lines) and lines[many].forth is not lines[many - 1].forth:
        steps.append(lines[many].across_m - lines[many - 1].across_m)
        if not _steady(steps, _LEAST_STEP_M):
            break
        many += 1
    return many if many >= _LEAST_LINES else 0


def _looped(lines: Sequence[_Line]) -> int:
    """How many of the first lines lie each next to the last one flown the same way; 0 where they are too few of either."""
    last: dict[bool, float] = {}
    each_way = {True: 0, False: 0}
    steps: list[float] = []
    many = 0
    for line in lines:
        if line.forth in last:
            steps.append(line.across_m - last[line.forth])
            if not _steady(steps, _LEAST_LOOPED_STEP_M):
                break
        last[line.forth] = line.across_m
        each_way[line.forth] += 1
        many += 1
    return many if min(each_way.values()) >= _LEAST_EACH_WAY else 0


def _with_those_out_of_step(lines: Sequence[_Line], many: int) -> int:
    """How many of the first lines belong to a survey of so many, with those after it that are flown again or out of order.

    They lie between its lines, or next to the outermost of them.
    """
    across = [line.across_m for line in lines[:many]]
    step_m = _NEXT_TO * (max(across) - min(across)) / (many - 1)
    while many < len(lines) and min(across) - step_m <= lines[many].across_m <= max(across) + step_m:
        across.append(lines[many].across_m)
        many += 1
    return many


def _steady(steps_m: Sequence[float], least_m: float) -> bool:
    """Whether steps are to one side, large enough, and even."""
    one_side = min(steps_m) > 0.0 or max(steps_m) < 0.0
    sizes = [abs(step) for step in steps_m]
    return one_side and min(sizes) >= least_m and max(sizes) <= min(_MOST_STEP_M, _EVEN * min(sizes))
