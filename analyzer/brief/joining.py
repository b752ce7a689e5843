"""The turn onto the outbound course, led so that it comes out on that course: solved in the wind."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from analyzer.brief.conditions import Conditions
from analyzer.brief.patterns import Pattern
from analyzer.brief.stages import Stage, fly_stages
from analyzer.nominal.fly import Straight, Turn
from analyzer.physics.units import DEG, wrap
from analyzer.procedure.charted import Charted

__all__ = ["Begun", "begin"]

_LEAST_RAD, _MOST_RAD = 20.0 * DEG, 120.0 * DEG  # a smaller change needs no lead, a greater one is flown over the fix


@dataclass(frozen=True)
class Begun:
    """How a flight begins: heading and place (metres north and east of the fix), and the stages from there on.

    `lead_m` is how far before the fix the turn onto the outbound course begins, None where none is led.
    """

    heading_rad: float
    start_m: tuple[float, float]
    stages: tuple[Stage, ...]
    lead_m: float | None


def begin(charted: Charted, conditions: Conditions, pattern: Pattern, stages: tuple[Stage, ...]) -> Begun:
    """Begin a pattern with the turn from the arrival course where one can be led; else as the pattern does."""
    plain = Begun(pattern.start_heading_rad, pattern.start_m, stages, None)
    arrival, first = conditions.arrival_rad, stages[0]
    if arrival is None or charted.kind not in ("procedure-turn", "base-turn") or not isinstance(first.segment, Straight):
        return plain
    out, change = charted.outbound_true_rad, float(wrap(charted.outbound_true_rad - arrival))
    if not _LEAST_RAD < abs(change) <= _MOST_RAD:
        return plain
    air = first.air
    heading, ground_speed = air.hold_course(arrival)[0], air.hold_course(out)[1]
    turn = Stage("outbound_turn", "outbound", Turn(pattern.start_heading_rad, 1 if change > 0.0 else -1, air.bank_rad), air)
    path = fly_stages((turn,), heading)
    # moved back along the arrival course until it ends on the outbound course
    across = float(path.across_m(out)[-1])
    lead = across / math.sin(arrival - out)
    start = -lead * math.cos(arrival), -lead * math.sin(arrival)
    along = (start[0] + float(path.north_m[-1])) * math.cos(out) + (start[1] + float(path.east_m[-1])) * math.sin(out)
    seconds = first.segment.seconds - along / ground_speed
    if seconds <= 0.0:
        return plain
    return Begun(heading, start, (turn, replace(first, segment=Straight(seconds)), *stages[1:]), lead)
