"""The 45/180 and the 80/260 of FAA-H-8083-15B chapter 7 (figures 7-42, 7-43), flown with `synthetic` from arrival to final.

In still air and as drawn they are the handbook's patterns. In wind, or where asked, the inbound course is met by an intercept
at 30° (less where that is too much) whose length is worked out, so that every approach ends on the course.
"""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from synthetic import CALM, KT, NM, Flown, Segment, Straight, Turn, Wind, fly, holding, standard_rate_bank

TWO_OVER_RATE_S = 2.0 / math.radians(3.0)  # the offset leg that closes exactly in still air: 38.197 s
_CUTS_DEG = (30.0, 20.0, 10.0, 5.0, 2.0)


@dataclass(frozen=True)
class Pattern:
    """How to fly. `side` is +1 right; `arrival_deg` the heading at the fix from the outbound course; `closing_deg` the angle
    that the outbound course is closed at; `leg_s` is wings level."""

    side: int = 1
    shape: str = "45/180"
    speed_kt: float = 120.0
    bank_deg: float | None = None
    back_bank_deg: float | None = None
    outbound_s: float = 120.0
    leg_s: float = TWO_OVER_RATE_S
    leg_deg: float = 45.0
    arrival_deg: float = 0.0
    arrival_s: float = 90.0
    closing_deg: float = 25.0
    wind: Wind = CALM
    roll_deg_s: float | None = None
    intercept: bool = False
    reversal_kt: float | None = None
    final_s: float = 60.0


@dataclass(frozen=True, eq=False)
class Approach:
    """A flown pattern, the instants abeam the fix, and the end of the turn that came out on the inbound course. [s]"""

    flown: Flown
    outbound_passage_s: float
    inbound_passage_s: float
    rolled_out_s: float

    def begin(self, name: str) -> float:
        return self.flown.begins[name]


def _ground_kt(course_deg: float, pattern: Pattern) -> float:
    heading = holding(course_deg, pattern.speed_kt, pattern.wind)
    against = pattern.wind[1] * math.cos(math.radians(pattern.wind[0] - course_deg))
    return pattern.speed_kt * math.cos(math.radians(heading - course_deg)) - against


def _gentle(name: str, degrees: float, bank_deg: float) -> Turn:
    """A small change of heading, at no more bank than half its degrees (FAA-H-8083-15B chapter 7)."""
    return Turn(name, degrees, min(bank_deg, abs(degrees) / 2.0))


def _closing_s(make: Callable[[float], Sequence[Segment]], run: Callable[[Sequence[Segment]], Flown]) -> float:
    """Seconds on a straight segment after which the flight ends on the course: its offset there is linear in them."""
    near, far = (float(run(make(seconds)).x_nm[-1]) for seconds in (10.0, 20.0))
    return 10.0 - 10.0 * near / (far - near)


def fly_approach(pattern: Pattern) -> Approach:
    """Fly a pattern."""
    p, side = pattern, pattern.side
    bank = p.bank_deg or standard_rate_bank(p.speed_kt)

    def hold(course: float) -> float:
        return holding(course, p.speed_kt, p.wind)

    arrive = _ground_kt(p.arrival_deg, p) * p.arrival_s / 3600.0
    start = tuple(-arrive * f(math.radians(p.arrival_deg)) for f in (math.sin, math.cos))

    def run(segments: Sequence[Segment]) -> Flown:
        return fly(segments, start, hold(p.arrival_deg), p.speed_kt, p.wind, p.roll_deg_s)

    path: list[Segment] = [Straight("arrival", p.arrival_s)]
    out = hold(0.0)
    if p.arrival_deg:
        cut = -math.copysign(min(p.closing_deg, 0.4 * abs(p.arrival_deg)), p.arrival_deg)
        first, second = hold(cut) - hold(p.arrival_deg), out - hold(cut)

        def join(seconds: float) -> Sequence[Segment]:
            turns = Turn("outbound_turn", first, bank), _gentle("closing_turn", second, bank)
            return [*path, turns[0], Straight("closing", seconds), turns[1]]

        closing = _closing_s(join, run)
        if closing <= 0.0:
            raise ValueError(f"{p}: the turns alone lead across the outbound course")
        path = list(join(closing))
    path.append(Straight("outbound", p.outbound_s, p.reversal_kt))
    leg = side * (p.leg_deg if p.shape == "45/180" else 80.0)
    path.append(Turn("offset_turn", leg - out, bank))
    if p.shape == "45/180":
        path.append(Straight("offset_leg", p.leg_s))
    path += _turn_back(p, path, leg, run)
    rolled_out = run(path)
    home_s = float(rolled_out.y_nm[-1]) / _ground_kt(180.0, p) * 3600.0
    flown = run([*path, Straight("inbound", home_s + p.final_s)])
    end = float(rolled_out.time_s[-1])
    return Approach(flown, p.arrival_s, end + home_s, end)


def _turn_back(p: Pattern, path: list[Segment], leg: float, run: Callable[[Sequence[Segment]], Flown]) -> list[Segment]:
    bank = p.back_bank_deg or p.bank_deg or standard_rate_bank(p.speed_kt)

    def hold(course: float) -> float:
        return holding(course, p.speed_kt, p.wind)

    home = -180.0 * p.side
    if not p.intercept and p.wind == CALM:
        return [Turn("reversal_turn", home - leg, bank)]
    for cut in (home + side * p.side * angle for angle in _CUTS_DEG for side in (1, -1)):
        turns = Turn("reversal_turn", hold(cut) - leg, bank), _gentle("intercept_turn", hold(home) - hold(cut), bank)

        def back(seconds: float, turns: tuple[Turn, Turn] = turns) -> Sequence[Segment]:
            return [turns[0], Straight("intercept", seconds), turns[1]]

        seconds = _closing_s(lambda s, back=back: [*path, *back(s)], run)
        if seconds > 0.0:
            return list(back(seconds))
    raise ValueError(f"{p}: no intercept comes out on the course")


def radius_nm(speed_kt: float = 120.0, rate_deg_s: float = 3.0) -> float:
    """Radius of a turn at a rate."""
    return speed_kt * KT / math.radians(rate_deg_s) / NM
