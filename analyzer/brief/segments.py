"""The segments from established to the runway, each flown at one rate of descent on one course."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Literal, TypeAlias

import numpy as np

from analyzer.brief.final_descent import VISUAL_RAD
from analyzer.brief.gates import Gate
from analyzer.brief.plan import Plan
from analyzer.brief.stages import Stage
from analyzer.checks.phrases import height_unit
from analyzer.frozen import dataclass
from analyzer.physics.units import DEG
from analyzer.vocabulary import Leg

__all__ = ["Segment", "covered", "segments"]

_SAME_S = 0.5
_LEVEL_M = 1.0

SegmentEnd: TypeAlias = Literal["fix", "threshold", "minimum", "leave", "path", "descent"]


@dataclass(frozen=True)
class Segment:
    """A segment as planned.

    Attributes
    ----------
    to, ends
        Where it ends, in words and by kind: at a fix or the threshold; where the minimum is reached, or left for the runway;
        where the glide path is met; or where the rate of descent changes for an altitude charted farther on.
    least_m, most_m : float, optional
        Altitude to stay at or above until its end, and to be at or below there.
    visual : bool
        Whether it is flown by visual reference, below the minimum.
    """

    leg: Leg
    to: str
    ends: SegmentEnd
    course_rad: float
    heading_rad: float
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
        """Rate of descent. [m/s]"""
        return (self.altitude_start_m - self.altitude_end_m) / self.seconds if self.seconds > 0.0 else 0.0

    @property
    def level(self) -> bool:
        """Whether it is level."""
        return self.altitude_start_m - self.altitude_end_m < _LEVEL_M


def covered(plan: Plan) -> int:
    """Number of parts that the segments cover, the last of the plan: inbound and final. 0 without a final leg."""
    if plan.stages[-1].leg != "final" or not plan.profile.points:
        return 0
    return sum(stage.gate is not None for stage in plan.stages)


def segments(plan: Plan) -> tuple[Segment, ...]:
    """The segments after the last turn inbound; none if the plan has no final leg, or no altitudes."""
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
            heading_rad=float(path.heading_rad[last]),
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
    """The ends of segments between gates: time, name and kind; at one time, only the first of them."""
    final, minimum, height = plan.profile.final, plan.charted.minimum, height_unit(plan.charted.altitude_unit)
    marks: list[tuple[float, str, SegmentEnd]] = []
    if final is not None and minimum is not None:
        if final.minimum_s is not None:
            marks.append((final.minimum_s, f"{minimum.kind.upper()} {minimum.altitude_m / height.metres:.0f}", "minimum"))
        if final.leave_s is not None:
            path = f"{(plan.charted.glide_path_rad or VISUAL_RAD) / DEG:g}° path"
            name = "visual descent point" if minimum.visual_descent_point_m is not None else path
            marks.append((final.leave_s, name, "leave"))
    if final is not None and final.path_s is not None:
        marks.append((final.path_s, "glide path", "path"))
    named = [time for time, _, _ in marks]
    for time, altitude in plan.profile.points:
        if all(abs(time - other) > _SAME_S for other in named):
            marks.append((time, f"{altitude / height.metres:.0f} {height.name}", "descent"))
    return sorted(marks)


def _is_visual(plan: Plan, stage: Stage, time_s: float) -> bool:
    """Whether a segment that begins then is flown by visual reference: the minimum was reached, and may be left."""
    final = plan.profile.final
    if stage.leg != "final" or final is None or final.minimum_s is None or plan.stages[-1].gate is None:
        return False
    from_s = final.leave_s if final.leave_s is not None else final.minimum_s
    return plan.stages[-1].gate.role == "threshold" and time_s >= from_s - _SAME_S


def _least(plan: Plan, stage: Stage, gate: Gate) -> float | None:
    charted = plan.charted.levels_m.get(stage.leg)
    known = [value for value in (charted, gate.least_m) if value is not None]
    return max(known) if known else None
