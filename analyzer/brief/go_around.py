"""The beginning of the missed approach on a planned path: at a decision altitude, at its point, or after its time."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from analyzer.brief.gates import missed_point
from analyzer.brief.missed_timing import begins_at, missed_seconds
from analyzer.brief.parts import PlannedPart
from analyzer.brief.plan import Plan
from analyzer.frozen import dataclass
from analyzer.legs.course_lines import final_course_rad
from analyzer.physics.units import FloatArray

__all__ = ["GoAround", "final_altitudes_m", "go_around", "parts_before"]

_ROUNDED_S = 1e-3
_FINAL = ("final-approach-fix", "reversal-fix")


@dataclass(frozen=True)
class GoAround:
    """The beginning of a missed approach.

    Attributes
    ----------
    where : str
        The place in words.
    time_s : float
        Time on the path of the plan; it may be beyond its end.
    north_m, east_m : float
        Place, from the reversal fix.
    altitude_m : float
        NaN if none is charted.
    course_rad, heading_rad : float
        The final course, true, and the heading that holds it.
    """

    where: str
    time_s: float
    north_m: float
    east_m: float
    altitude_m: float
    course_rad: float
    heading_rad: float


def go_around(plan: Plan) -> GoAround:
    """Where the missed approach of a plan begins.

    It is where the descent reaches a decision altitude; else the missed approach point, the charted time, or without either the
    end of the plan, which is usually the threshold.
    """
    where, time = _begins(plan)
    path, end = plan.path, float(plan.path.time_s[-1])
    last = plan.stages[-1]
    course = last.course_rad if last.course_rad is not None else plan.charted.inbound_true_rad
    speed = last.air.hold_course(course)[1]
    beyond = max(0.0, time - end) * speed
    north, east = (float(np.interp(time, path.time_s, place)) for place in (path.north_m, path.east_m))
    return GoAround(
        where=where,
        time_s=time,
        north_m=north + beyond * math.cos(course),
        east_m=east + beyond * math.sin(course),
        altitude_m=float(np.interp(time, path.time_s, final_altitudes_m(plan))),
        course_rad=final_course_rad(plan.charted),
        heading_rad=last.air.hold_course(course)[0],
    )


def final_altitudes_m(plan: Plan) -> FloatArray:
    """Altitude at each node of the path if no runway comes in sight: a minimum descent altitude is held. [m]"""
    minimum = plan.charted.minimum
    if minimum is None or minimum.kind != "mda":
        return plan.altitude_m
    kept: FloatArray = np.maximum(plan.altitude_m, minimum.altitude_m)
    return kept


def _begins(plan: Plan) -> tuple[str, float]:
    charted, final, end = plan.charted, plan.profile.final, float(plan.path.time_s[-1])
    if charted.minimum is not None and charted.minimum.kind == "da" and final is not None and final.minimum_s is not None:
        return "the decision altitude", final.minimum_s
    point = missed_point(charted)
    if point is not None:
        return point.name, _abeam_s(plan, point.north_m, point.east_m)
    seconds, begun = missed_seconds(plan), _final_begun_s(plan)
    if seconds is not None and begun is not None:
        return f"{seconds:.0f} s after {begins_at(plan)}", begun + seconds
    gate = plan.stages[-1].gate
    if gate is not None and gate.role == "threshold":
        return "the threshold", end
    return gate.name if gate is not None else charted.procedure.fix.name, end


def _abeam_s(plan: Plan, north_m: float, east_m: float) -> float:
    """When the last leg of the plan comes abeam a place; beyond its end, at the same ground speed. [s]"""
    path, course = plan.path, final_course_rad(plan.charted)
    ahead = (north_m - path.north_m) * math.cos(course) + (east_m - path.east_m) * math.sin(course)
    if ahead[-1] > 0.0:
        last = plan.parts[-1]
        return float(path.time_s[-1]) + float(ahead[-1]) / last.ground_speed_mps
    first = int(np.flatnonzero(ahead > 0.0)[-1]) if (ahead > 0.0).any() else 0
    share = float(ahead[first] / (ahead[first] - ahead[first + 1]))
    return float(path.time_s[first] + share * (path.time_s[first + 1] - path.time_s[first]))


def _final_begun_s(plan: Plan) -> float | None:
    """When the fix that the missed approach is timed from is passed inbound; None if it is not. [s]"""
    for stage, node in zip(plan.stages, plan.path.ends, strict=True):
        if stage.gate is not None and stage.gate.role in _FINAL and stage.gate.name == begins_at(plan):
            return float(plan.path.time_s[node])
    return None


def parts_before(plan: Plan, beginning: GoAround) -> tuple[PlannedPart, ...]:
    """The parts of a plan up to the missed approach; the last is cut there, or extended to it."""
    kept: list[PlannedPart] = []
    begun, altitude = 0.0, final_altitudes_m(plan)
    for number, part in enumerate(plan.parts):
        if begun >= beginning.time_s - _ROUNDED_S:
            break
        share = (beginning.time_s - begun) / part.seconds if part.seconds > 0.0 else 1.0
        share = share if number == len(plan.parts) - 1 else min(1.0, share)
        end = float(np.interp(begun + share * part.seconds, plan.path.time_s, altitude))
        start = kept[-1].altitude_end_m if kept else part.altitude_start_m
        whole = replace(part, altitude_start_m=start, altitude_end_m=end)
        kept.append(whole if share == 1.0 else _cut(plan, whole, share, beginning))
        begun += part.seconds
    return tuple(kept)


def _cut(plan: Plan, part: PlannedPart, share: float, beginning: GoAround) -> PlannedPart:
    distance = math.hypot(beginning.north_m, beginning.east_m)
    return replace(
        part,
        seconds=share * part.seconds,
        length_m=share * part.length_m,
        end_distance_m=distance,
        end_slant_m=math.hypot(distance, part.altitude_end_m - plan.charted.fix_elevation_m),
    )
