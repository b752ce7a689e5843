"""Timing of the missed approach point: the time from the final approach fix, by the ground speed of the final leg."""

from __future__ import annotations

from collections.abc import Iterator

from analyzer.brief.briefed_number import Number
from analyzer.brief.gates import Gate, gates, missed_point
from analyzer.brief.plan import Plan
from analyzer.checks.phrases import stopwatch
from analyzer.physics.units import KT, NM

__all__ = ["MISSED_TIME", "begins_at", "missed_seconds", "missed_time"]

MISSED_TIME = "time to the missed approach point"

_STEP_MPS = 10.0 * KT  # the time is also given for ground speeds that differ by this


def missed_time(plan: Plan) -> Iterator[Number]:
    """Time from the final approach fix, else the reversal fix, to the missed approach point.

    A charted time is scaled by the ground speed; without one, the charted distance is used.
    """
    charted, missed = plan.charted, plan.charted.missed
    begin, point = _begins(plan), missed_point(charted)
    if begin is None:
        return
    way = _way(plan, begin, point) if point is not None and point.along_m > begin.along_m else None
    speed = way[0] / way[1] if way is not None else _speed(plan)
    if missed is not None and missed.time_s is not None and missed.time_at_mps is not None:
        length = missed.time_s * missed.time_at_mps
        how = f"{stopwatch(missed.time_s)} charted at {missed.time_at_mps / KT:.0f} kt, in proportion to"
    elif way is not None:
        length, how = way[0], f"{way[0] / NM:.1f} NM at"
    else:
        return
    seconds = length / speed
    slower, faster = (stopwatch(length / (speed + step)) for step in (-_STEP_MPS, _STEP_MPS))
    others = f"{slower} at 10 kt less, {faster} at 10 kt more"
    how = f"{stopwatch(seconds)} from {begin.name}: {how} {speed / KT:.0f} kt over the ground; {others}"
    yield Number("final", MISSED_TIME, seconds, "s", how)


def missed_seconds(plan: Plan) -> float | None:
    """Time to the missed approach point; None if not known. [s]"""
    return next((number.value for number in missed_time(plan)), None)


def _begins(plan: Plan) -> Gate | None:
    """The gate that is timed from."""
    wanted = ("final-approach-fix",) if plan.charted.on_field else ("final-approach-fix", "reversal-fix")
    candidates = [gate for gate in gates(plan.charted) if gate.role in wanted]
    return min(candidates, key=lambda gate: wanted.index(gate.role)) if candidates else None


def begins_at(plan: Plan) -> str:
    """Name of the fix that is timed from; empty if there is none."""
    begin = _begins(plan)
    return begin.name if begin is not None else ""


def _way(plan: Plan, begin: Gate, point: Gate) -> tuple[float, float]:
    """Length and time from one gate to another, over those between. [m, s]"""
    between = [
        gate for gate in gates(plan.charted) if begin.along_m < gate.along_m < point.along_m and gate.role != "threshold"
    ]
    air, length, seconds = plan.conditions.leg(plan.charted, "final"), 0.0, 0.0
    here = begin
    for gate in (*between, point):
        way = gate.apart_m(here)
        length, seconds = length + way, seconds + way / air.hold_course(gate.course_from(here))[1]
        here = gate
    return length, seconds


def _speed(plan: Plan) -> float:
    """Ground speed on the final leg; on the inbound course if no final leg is planned. [m/s]"""
    finals = [part for part in plan.parts if part.leg == "final"]
    if finals:
        return sum(part.length_m for part in finals) / sum(part.seconds for part in finals)
    return plan.conditions.leg(plan.charted, "final").hold_course(plan.charted.inbound_true_rad)[1]
