"""The turn from the arrival course onto the outbound course, solved in the wind.

A turn of up to 120 degrees is led: it begins before the fix. A greater one begins over the fix, the shorter way round or, if
neither is much shorter, over the manoeuvring side, where there is more room; it continues past the outbound heading, and the
course is intercepted from there. Common practice, no source.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace

from analyzer.brief.conditions import Conditions
from analyzer.brief.patterns import Pattern
from analyzer.brief.stages import Stage, fly_stages
from analyzer.frozen import dataclass
from analyzer.nominal.fly import Straight, Turn
from analyzer.nominal.solve import solve
from analyzer.physics.units import DEG, wrap
from analyzer.procedure.charted import Charted

__all__ = ["Begun", "begin"]

_LEAST_RAD, _MOST_RAD = 20.0 * DEG, 120.0 * DEG  # a smaller change needs no lead, a greater one begins over the fix
_EITHER_WAY_RAD = 170.0 * DEG  # from here on, neither way round is much shorter
_CUTS_RAD = (30.0 * DEG, 45.0 * DEG, 60.0 * DEG)  # intercept angles for the outbound course, the first that works in time
_LONGEST_CLOSING_S = 300.0


@dataclass(frozen=True)
class Begun:
    """The beginning of a flight.

    Attributes
    ----------
    heading_rad, start_m
        Heading and place, north and east of the fix.
    stages : tuple of Stage
        The stages from there on.
    lead_m : float, optional
        Distance before the fix at which the turn onto the outbound course begins; None if it is not led.
    """

    heading_rad: float
    start_m: tuple[float, float]
    stages: tuple[Stage, ...]
    lead_m: float | None


def begin(charted: Charted, conditions: Conditions, pattern: Pattern, stages: tuple[Stage, ...]) -> Begun:
    """Begin a pattern on the arrival course, if one is given and the outbound course can be reached from it in time.

    Otherwise it begins on the outbound course, as the pattern does.
    """
    plain = Begun(pattern.start_heading_rad, pattern.start_m, stages, None)
    arrival = conditions.arrival_rad
    if arrival is None or pattern.shape not in ("45/180", "80/260", "base-turn"):
        return plain
    change = float(wrap(charted.outbound_true_rad - arrival))
    if abs(change) <= _LEAST_RAD:
        return plain
    begun = (_led if abs(change) <= _MOST_RAD else _over_the_fix)(charted, arrival, change, stages)
    return begun or plain


def _led(charted: Charted, arrival: float, change: float, stages: tuple[Stage, ...]) -> Begun | None:
    """A single turn, begun before the fix so that it ends on the outbound course."""
    out, air = charted.outbound_true_rad, stages[0].air
    heading = air.hold_course(arrival)[0]
    turn = Stage("outbound_turn", "outbound", Turn(air.hold_course(out)[0], _direction(change), air.bank_rad), air)
    path = fly_stages((turn,), heading)
    lead = float(path.across_m(out)[-1]) / math.sin(arrival - out)
    start = -lead * math.cos(arrival), -lead * math.sin(arrival)
    rest = _rest(charted, stages, start[0] + float(path.north_m[-1]), start[1] + float(path.east_m[-1]))
    return Begun(heading, start, (turn, *rest), lead) if rest is not None else None


def _over_the_fix(charted: Charted, arrival: float, change: float, stages: tuple[Stage, ...]) -> Begun | None:
    """A turn begun over the fix, and an intercept of the outbound course from its end."""
    out, air = charted.outbound_true_rad, stages[0].air
    heading, outward = air.hold_course(arrival)[0], air.hold_course(out)[0]
    direction = _direction(change)
    if abs(change) >= _EITHER_WAY_RAD and charted.side is not None:
        direction = -charted.side
    for cut, sign in ((cut, sign) for cut in _CUTS_RAD for sign in (direction, -direction)):
        around = Turn(air.hold_course(out + sign * cut)[0], direction, air.bank_rad)

        def joining(seconds: float, around: Turn = around, sign: int = sign) -> tuple[Stage, ...]:
            return (
                Stage("outbound_turn", "outbound", around, air),
                Stage("outbound", "outbound", Straight(seconds), air),
                Stage("outbound", "outbound", Turn(outward, -sign, air.bank_rad), air),
            )

        def across(seconds: float, joining: Callable[[float], tuple[Stage, ...]] = joining) -> float:
            return float(fly_stages(joining(seconds), heading).across_m(out)[-1])

        seconds = solve(across, 0.0, _LONGEST_CLOSING_S)
        if seconds is None:
            continue
        path = fly_stages(joining(seconds), heading)
        rest = _rest(charted, stages, float(path.north_m[-1]), float(path.east_m[-1]))
        if rest is not None:
            return Begun(heading, (0.0, 0.0), (*joining(seconds), *rest), None)
    return None


def _rest(charted: Charted, stages: tuple[Stage, ...], north_m: float, east_m: float) -> tuple[Stage, ...] | None:
    """The stages from a place on the outbound course, with the same end of the outbound leg; None beyond that end."""
    out, first = charted.outbound_true_rad, stages[0]
    if not isinstance(first.segment, Straight):
        return None
    along = north_m * math.cos(out) + east_m * math.sin(out)
    seconds = first.segment.seconds - along / first.air.hold_course(out)[1]
    return (replace(first, segment=Straight(seconds)), *stages[1:]) if seconds > 0.0 else None


def _direction(change: float) -> int:
    return 1 if change > 0.0 else -1
