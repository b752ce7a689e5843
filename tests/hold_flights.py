"""Flights that only hold: an entry and laps at a published hold, far from the charted approach.

The hold's fix is the origin of the plane of `synthetic`, its inbound course due south with turns to the right. In still air at
120 kt the laps are symmetric; in wind, headings hold the inbound course, and from the outbound heading the turn rolls out on
it. Turns are at 3°/s, rolled into at 5°/s.
"""

import math
from collections.abc import Sequence
from functools import cache

from checked import NOISY, solve
from missed_flights import BANK, Heights, Whole, course, laid
from synthetic import CALM, Chart, Flown, Log, Segment, Straight, Turn, Wind, fly, holding

from analyzer.debriefs.data import Approach as Debriefed

SPEED_KT, LEVEL_FT = 120.0, 4000.0
ARRIVAL_S = 150.0  # along the inbound course: longer than an inbound leg, so that the log does not seem to begin in one
AWAY_NM = (30.0, 0.0)  # the fix of the approach
# a level turn rolls out of its bank at 5° a second, in which the rate falls from 3° a second to none: what is left to turn when
# the track is within 15° of the course takes so long
ROLL_S = BANK / 5.0
ESTABLISHED_S = ROLL_S + (15.0 - 3.0 * ROLL_S / 2.0) / 3.0


def chart(**changed: object) -> Chart:
    """The hold, and a procedure turn 30 NM away from it; keys of the hold may be others, and None takes one away."""
    hold = {
        "name": "OSSIN",
        **laid(0.0, 0.0),
        "inbound_course_deg": course(180.0),
        "turn": "right",
        "leg_time_s": 60.0,
        **changed,
    }
    return Chart(fix=laid(*AWAY_NM), tables={"holds": [{key: value for key, value in hold.items() if value is not None}]})


def heading(ground_deg: float, wind: Wind) -> float:
    return holding(ground_deg, SPEED_KT, wind)


def inbound_s(path: Sequence[Segment], start_nm: tuple[float, float], first_deg: float, wind: Wind) -> float:
    """Seconds from the end of a path to the fix, southbound."""
    there = fly([*path, Straight("on", 1.0)], start_nm, first_deg, SPEED_KT, wind, 5.0)
    y_nm = there.at(there.time_s[-1] - 1.0, there.y_nm)
    return float(y_nm / (y_nm - there.y_nm[-1]))


def _entry(kind: str) -> tuple[list[Segment], float]:
    """From over the fix to the end of the turn inbound, and the heading that the fix is come to on, in still air."""

    def ending_on_course(make, low: float, high: float, first_deg: float) -> list[Segment]:
        seconds = solve(lambda s: float(fly(make(s), (0.0, 0.0), first_deg, SPEED_KT, CALM, 5.0).x_nm[-1]), 0.0, low, high)
        return make(seconds)

    if kind == "direct":  # on the inbound course
        return [Turn("away1", 180.0, BANK), Straight("out1", 60.0), Turn("back1", 180.0, BANK)], 180.0
    if kind == "teardrop":  # 30° into the hold from its outbound course, which the heading at the fix already is
        return ending_on_course(lambda s: [Straight("out1", s), Turn("back1", 210.0, BANK)], 30.0, 120.0, -30.0), -30.0

    def parallel(seconds: float) -> list[Segment]:
        out = [Turn("away1", -60.0, BANK), Straight("out1", 60.0), Turn("back1", -225.0, BANK)]
        return [*out, Straight("cut1", seconds), Turn("join1", 45.0, BANK)]

    return ending_on_course(parallel, 1.0, 60.0, 60.0), 60.0


@cache
def entered(kind: str, further: int = 1) -> Whole:
    """An entry by kind and further laps of a minute a leg, in still air; the log begins a minute and a half before the fix."""
    entry, first_deg = _entry(kind)
    start = tuple(-3.0 * f(math.radians(first_deg)) for f in (math.sin, math.cos))
    path: list[Segment] = [Straight("arrival", 90.0), *entry]
    path.append(Straight("in1", inbound_s(path, start, first_deg, CALM)))
    for lap in range(2, further + 2):
        path += [Turn(f"away{lap}", 180.0, BANK), Straight(f"out{lap}", 60.0)]
        path += [Turn(f"back{lap}", 180.0, BANK), Straight(f"in{lap}", 60.0)]
    return Whole(fly([*path, Straight("on", 40.0)], start, first_deg, SPEED_KT, CALM, 5.0), level())


def level(feet: float = LEVEL_FT) -> Heights:
    return [(0.0, feet), (1.0, feet)]


def correction_deg(out_s: float, wind: Wind) -> float:
    """The correction of the outbound heading, right positive, from which the turn inbound rolls out on the course."""
    first = heading(180.0, wind)

    def roll_out_nm(correction: float) -> float:
        path = [Turn("a", 180.0 + correction - (first - 180.0), BANK), Straight("o", out_s)]
        path.append(Turn("b", 180.0 - correction + (first - 180.0), BANK))
        return float(fly(path, (0.0, 0.0), first, SPEED_KT, wind, 5.0).x_nm[-1])

    return solve(roll_out_nm, 0.0, -60.0, 60.0)


def laps_in(wind: Wind, outs_s: Sequence[float]) -> Flown:
    """A direct entry from the inbound course and laps with their own times outbound, each home to the fix in a wind."""
    first, start = heading(180.0, wind), _before(wind)
    path: list[Segment] = [Straight("arrival", ARRIVAL_S)]
    for lap, out_s in enumerate(outs_s, 1):
        correction = correction_deg(out_s, wind)
        path += [Turn(f"away{lap}", 180.0 + correction - (first - 180.0), BANK), Straight(f"out{lap}", out_s)]
        path.append(Turn(f"back{lap}", 180.0 - correction + (first - 180.0), BANK))
        path.append(Straight(f"in{lap}", inbound_s(path, start, first, wind)))
    return fly([*path, Straight("on", 40.0)], start, first, SPEED_KT, wind, 5.0)


def _before(wind: Wind) -> tuple[float, float]:
    to_fix = fly([Straight("arrival", ARRIVAL_S)], (0.0, 0.0), heading(180.0, wind), SPEED_KT, wind)
    return -float(to_fix.x_nm[-1]), -float(to_fix.y_nm[-1])


def held(flight: Whole, charted: Chart | None = None, log: Log = NOISY) -> Debriefed:
    """The one hold of a flight, debriefed; nothing else is found in it."""
    found = flight.debrief(charted or chart(), log)
    assert found.approaches == ()
    (only,) = found.holds
    (laps,) = only.approaches
    return laps
