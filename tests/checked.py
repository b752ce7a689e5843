"""Debriefs of invented approaches, and the findings of one check in them."""

import math
from collections.abc import Callable, Sequence

from patterns import Approach, Pattern, fly_approach
from scipy.optimize import brentq
from synthetic import CHARTED, HERE, Chart, Flown, Log, Place, Segment, Straight, Turn, fly

from analyzer import debrief
from analyzer.checks.finding import Finding
from analyzer.debriefs.data import Approach as Debriefed

NOISY = Log(noise_m=1.0)
PLAIN = Pattern(roll_deg_s=5.0)  # 45/180 to the right at 120 kt in still air, from 3,000 ft level


def debriefed(flown: Flown | Approach, log: Log = NOISY, chart: Chart = CHARTED, place: Place = HERE) -> Debriefed:
    """The one approach of a flight, debriefed by the built-in standard."""
    path = flown.flown if isinstance(flown, Approach) else flown
    (approach,) = debrief(log.of(path, place), chart.at(place)).approaches
    return approach


def of_pattern(pattern: Pattern = PLAIN, log: Log = NOISY, chart: Chart = CHARTED) -> Debriefed:
    return debriefed(fly_approach(pattern), log, chart)


def all_of(approach: Debriefed, check: str) -> list[Finding]:
    return [finding for finding in approach.findings if finding.check == check]


def one_of(approach: Debriefed, check: str, part: str | None = None, leg: str | None = None) -> Finding:
    """The one finding of a check, of a part or leg where several are made."""
    chosen = [f for f in all_of(approach, check) if part in (None, f.part) and leg in (None, f.leg)]
    assert len(chosen) == 1, [(f.check, f.leg, f.part) for f in approach.findings]
    return chosen[0]


def solve(measured: Callable[[float], float], wanted: float, low: float, high: float) -> float:
    """What makes a measure of a flown pattern come to a value."""
    return float(brentq(lambda x: measured(x) - wanted, low, high, xtol=1e-6))


TURN_BACK = (Turn("reversal_turn", -195.0, 18.0),)


def homeward(out: list[Segment], start_nm: tuple[float, float], heading_deg: float, back: Sequence[Turn] = TURN_BACK) -> Flown:
    """What was flown outbound, then the rest of a 45/180 to the right: back at 30° to the inbound course and home on it."""
    on = heading_deg + sum(segment.degrees for segment in out if isinstance(segment, Turn))
    path = [*out, Turn("offset_turn", 45.0 - on, 18.0), Straight("offset_leg", 45.0), *back]
    off_course_nm = float(fly([*path, Straight("cut", 10.0)], start_nm, heading_deg, roll_deg_s=5.0).x_nm[-1])
    cut_s = 10.0 + off_course_nm / (120.0 * math.sin(math.radians(30.0))) * 3600.0
    path += [Straight("cut", cut_s), Turn("intercept", -30.0, 15.0), Straight("inbound", 300.0)]
    return fly(path, start_nm, heading_deg, roll_deg_s=5.0)
