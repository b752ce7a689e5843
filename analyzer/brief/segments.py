"""The way in from established to the runway by segments, each flown at one rate of descent on one course."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal, TypeAlias

import numpy as np

from analyzer.brief.final_descent import VISUAL_RAD
from analyzer.brief.gates import Gate
from analyzer.brief.plan import Plan
from analyzer.brief.stages import Stage
from analyzer.checks.phrases import height_unit
from analyzer.physics.units import DEG
from analyzer.vocabulary import Leg

__all__ = ["Segment", "covered", "segments"]

_SAME_S = 0.5
_LEVEL_M = 1.0

SegmentEnd: TypeAlias = Literal["fix", "threshold", "minimum", "leave", "path", "descent"]


@dataclass(frozen=True)
class Segment:
    """A segment as planned: where it leads, and how it is flown there.

    `ends` is at a fix or the threshold; where the minimum is reached, or left on the way to the runway; where the glide path is
    met; or where the rate of descent changes for what is charted farther on. The aircraft stays at or above `least_m`
    until its end, and is at or below `most_m` there. `visual` is below the minimum.
    """

    leg: Leg
    to: str
    ends: SegmentEnd
    course_rad: float
    ground_speed_mps: float
    seconds: float
    length_m: float
    altitude_start_m: float
    altitude_end_m: float
    least_m: float | None
    most_m: float | None
    visual: bool

    @property
    def descent_mps(self) -> float:
        """Rate of descent."""
        return (self.altitude_start_m - self.altitude_end_m) / self.seconds if self.seconds > 0.0 else 0.0

    @property
    def level(self) -> bool:
        """Whether the altitude is kept."""
        return self.altitude_start_m - self.altitude_end_m < _LEVEL_M


def covered(plan: Plan) -> int:
    """How many of the last parts the segments tell of: inbound and final; none where the plan has no final leg."""
    if plan.stages[-1].leg != "final" or not plan.profile.points:
        return 0
    return sum(stage.gate is not None for stage in plan.stages)


def segments(plan: Plan) -> tuple[Segment, ...]:
    """The segments from where the last turn inbound comes out; none where the plan has no final leg, or no altitudes."""
    count = covered(plan)
    return tuple(segment for k in range(len(plan.stages) - count, len(plan.stages)) for segment in _of_stage(plan, k))


def _of_stage(plan: Plan, number: int) -> Iterator[Segment]:
    """The segments of the stage that leads to one gate."""
    stage, path = plan.stages[number], plan.path
    gate, first, last = stage.gate, path.ends[number - 1], path.ends[number]
    if gate is None:
        raise ValueError("a stage that leads to no gate")
    begin, end = float(path.time_s[first]), float(path.time_s[last])
    if end <= begin:
        return
    course = stage.course_rad or 0.0
    speed = math.hypot(path.north_m[last] - path.north_m[first], path.east_m[last] - path.east_m[first]) / (end - begin)
    times, heights = zip(*plan.profile.points, strict=True)
    marks = [mark for mark in _marks(plan) if begin + _SAME_S < mark[0] < end - _SAME_S]
    for time, to, ends in [*marks, (end, gate.name, "threshold" if gate.role == "threshold" else "fix")]:
        start_m, end_m = (float(np.interp(at, times, heights)) for at in (begin, time))
        visual = _is_visual(plan, stage, begin)
        yield Segment(
            leg=stage.leg,
            to=to,
            ends=ends,
            course_rad=course,
            ground_speed_mps=speed,
            seconds=time - begin,
            length_m=speed * (time - begin),
            altitude_start_m=start_m,
            altitude_end_m=end_m,
            least_m=None if visual else _least(plan, stage, gate),
            most_m=gate.most_m if ends == "fix" else None,
            visual=visual,
        )
        begin = time


def _marks(plan: Plan) -> list[tuple[float, str, SegmentEnd]]:
    """Where segments end between gates: instant, name and kind; of those at one instant the first."""
    final, minimum, height = plan.profile.final, plan.charted.minimum, height_unit(plan.charted.altitude_unit)
    found: list[tuple[float, str, SegmentEnd]] = []
    if final is not None and minimum is not None:
        if final.minimum_s is not None:
            found.append((final.minimum_s, f"{minimum.kind.upper()} {minimum.altitude_m / height.metres:.0f}", "minimum"))
        if final.leave_s is not None:
            path = f"{(plan.charted.glide_path_rad or VISUAL_RAD) / DEG:g}° path"
            name = "visual descent point" if minimum.visual_descent_point_m is not None else path
            found.append((final.leave_s, name, "leave"))
    if final is not None and final.path_s is not None:
        found.append((final.path_s, "glide path", "path"))
    named = [time for time, _, _ in found]
    for time, altitude in plan.profile.points:
        if all(abs(time - other) > _SAME_S for other in named):
            found.append((time, f"{altitude / height.metres:.0f} {height.name}", "descent"))
    return sorted(found)


def _is_visual(plan: Plan, stage: Stage, time_s: float) -> bool:
    """Whether a segment that begins then is flown with the runway in sight: the minimum was reached, and need not be kept."""
    final = plan.profile.final
    if stage.leg != "final" or final is None or final.minimum_s is None or plan.stages[-1].gate is None:
        return False
    from_s = final.leave_s if final.leave_s is not None else final.minimum_s
    return plan.stages[-1].gate.role == "threshold" and time_s >= from_s - _SAME_S


def _least(plan: Plan, stage: Stage, gate: Gate) -> float | None:
    charted = plan.charted.levels_m.get(stage.leg)
    known = [value for value in (charted, gate.least_m) if value is not None]
    return max(known) if known else None
