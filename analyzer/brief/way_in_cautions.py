"""Cautions on the way in: descents that are too steep, maximum and minimum altitudes that are not met."""

from __future__ import annotations

import math
from collections.abc import Iterator

from analyzer.brief.gates import gates, missed_point
from analyzer.brief.plan import Plan
from analyzer.brief.segments import covered, segments
from analyzer.brief.steadiest_descent import NORMAL_MPS
from analyzer.checks.phrases import height_unit
from analyzer.physics.units import FPM, NM

__all__ = ["way_in_cautions"]

_INSIDE_M = 0.05 * NM
_ABOVE_M = 1.0


def way_in_cautions(plan: Plan) -> Iterator[str]:
    """The cautions on the way in, a sentence each."""
    if not covered(plan):
        return
    yield from _inside(plan)
    if plan.charted.fixes:
        yield from _steep(plan)
    yield from _above(plan)
    yield from _late(plan)


def _inside(plan: Plan) -> Iterator[str]:
    """The inbound course is met inside the final approach fix."""
    faf = next((gate for gate in gates(plan.charted) if gate.role == "final-approach-fix"), None)
    ahead = [stage.gate.name for stage in plan.stages if stage.gate is not None]
    if faf is not None and faf.name not in ahead:
        node = plan.path.ends[len(plan.stages) - covered(plan) - 1]
        beyond = math.hypot(float(plan.path.north_m[node]) - faf.north_m, float(plan.path.east_m[node]) - faf.east_m)
        inside = f"{beyond / NM:.1f} NM " if beyond > _INSIDE_M else ""
        yield (
            f"The inbound course is met {inside}inside the final approach fix {faf.name}, which is not passed inbound. Begin "
            "the turn back farther out."
        )


def _steep(plan: Plan) -> Iterator[str]:
    """Charted altitudes that need more than the normal rate between them."""
    times = [float(plan.path.time_s[end]) for end in plan.path.ends]
    for steep in plan.profile.steeps:
        begin, end = (_named(plan, times, at) for at in (steep.start_s, steep.end_s))
        yield (
            f"From {begin} to {end} the charted altitudes need {steep.needed_mps / FPM:,.0f} ft/min; the plan keeps to "
            f"{NORMAL_MPS / FPM:,.0f} ft/min and stays above them."
        )


def _named(plan: Plan, times: list[float], time_s: float) -> str:
    """The place passed at a time, by the stage that ends there."""
    if abs(times[len(plan.stages) - covered(plan) - 1] - time_s) < 1.0:
        return "where established"
    for stage, time in zip(plan.stages, times, strict=True):
        if stage.gate is not None and abs(time - time_s) < 1.0:
            return "the threshold" if stage.gate.role == "threshold" else stage.gate.name
    end = float(plan.path.time_s[-1])
    left = (end - time_s) * plan.parts[-1].ground_speed_mps / NM
    return f"{left:.1f} NM before the end of final"


def _above(plan: Plan) -> Iterator[str]:
    for segment in segments(plan):
        if segment.most_m is not None and segment.altitude_end_m > segment.most_m + _ABOVE_M:
            height = height_unit(plan.charted.altitude_unit)
            over = height.text(segment.altitude_end_m - segment.most_m)
            yield (
                f"{segment.to} is passed {over} above its maximum of {height.text(segment.most_m)}: begin the descent "
                "earlier, or fly slower."
            )


def _late(plan: Plan) -> Iterator[str]:
    """A minimum descent altitude not reached before the missed approach point or the visual descent point."""
    minimum, final, point = plan.charted.minimum, plan.profile.final, missed_point(plan.charted)
    if minimum is None or minimum.kind != "mda" or final is None:
        return
    last = plan.stages[-1].gate
    mapt = float(plan.path.time_s[-1])
    if point is not None and last is not None:
        mapt -= max(0.0, last.along_m - point.along_m) / plan.parts[-1].ground_speed_mps
    vdp = minimum.visual_descent_point_m
    by = mapt if vdp is None else min(mapt, float(plan.path.time_s[-1]) - vdp / plan.parts[-1].ground_speed_mps)
    where = "the missed approach point" if by == mapt else "the visual descent point"
    if final.minimum_s is None or final.minimum_s > by + 1.0:
        normal = f"{NORMAL_MPS / FPM:,.0f} ft/min"
        altitude = height_unit(plan.charted.altitude_unit).text(minimum.altitude_m)
        yield f"The minimum of {altitude} is not reached before {where} at {normal}."
