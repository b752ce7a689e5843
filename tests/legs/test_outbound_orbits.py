"""An orbit on the outbound leg, for spacing: the reversal after it is found, and the orbit is said and is no fault."""

import datetime as dt
import math

import pytest
from checked import NOISY, PLAIN, all_of, one_of
from hold_flights import entered
from patterns import fly_approach
from synthetic import CALM, HERE, Chart, Flown, Segment, Straight, Turn, Wind, fly, holding

from analyzer import debrief
from analyzer.debriefs.data import Approach
from analyzer.legs.outbound_orbits import without_orbits
from analyzer.motion.smooth import analyse_motion
from analyzer.procedure.charted import resolve

SPEED_KT, BANK = 120.0, 18.0
ORBIT_S = 120.0  # twice round half a turn at 3° a second


def out_and_back(*between: Segment, wind: Wind = CALM) -> Flown:
    """Over the fix outbound, something on the way out, then a 45/180 to the right and home on the inbound course."""
    out, home = holding(0.0, SPEED_KT, wind), holding(180.0, SPEED_KT, wind)
    offset, cut = 45.0, holding(180.0 + 30.0, SPEED_KT, wind)
    path: list[Segment] = [Straight("arrival", 120.0), Straight("out", 90.0), *between, Straight("on", 60.0)]
    path += [
        Turn("offset_turn", offset - out, BANK),
        Straight("offset_leg", 45.0),
        Turn("reversal_turn", cut - offset - 360.0, BANK),
    ]
    start = _before_fix(out, wind)
    low, high = 0.0, 400.0
    for _ in range(40):
        middle = 0.5 * (low + high)
        joined = fly([*path, Straight("cut", middle), Turn("join", home - cut, 15.0)], start, out, SPEED_KT, wind, 5.0)
        low, high = (middle, high) if joined.x_nm[-1] > 0.0 else (low, middle)
    path += [Straight("cut", low), Turn("join", home - cut, 15.0), Straight("inbound", 420.0)]
    return fly(path, start, out, SPEED_KT, wind, 5.0)


def _before_fix(heading_deg: float, wind: Wind) -> tuple[float, float]:
    to_fix = fly([Straight("arrival", 120.0)], (0.0, 0.0), heading_deg, SPEED_KT, wind)
    return -float(to_fix.x_nm[-1]), -float(to_fix.y_nm[-1])


def the_approach(flown: Flown, charted: Chart) -> Approach:
    (approach,) = debrief(NOISY.of(flown), charted.at()).approaches
    return approach


@pytest.mark.parametrize("turn", [360.0, -360.0])
@pytest.mark.parametrize("wind", [CALM, (290.0, 15.0)])
def test_the_reversal_after_an_orbit_is_found(turn, wind):
    approach = the_approach(out_and_back(Turn("orbit", turn, BANK), wind=wind), Chart())
    assert (approach.reversal.flown, approach.reversal.side) == ("45/180", 1)
    outbound = approach.reversal.part("outbound")
    assert outbound is not None
    assert outbound.duration_s == pytest.approx(90.0 + ORBIT_S + 60.0, abs=12.0)
    assert not [finding.check for finding in approach.findings if finding.verdict == "outside"]


def test_the_orbit_is_said_and_the_course_is_intercepted_again_after_it():
    course = one_of(the_approach(out_and_back(Turn("orbit", 360.0, BANK), wind=(290.0, 15.0)), Chart()), "outbound_course")
    assert course.verdict == "not assessed"
    assert course.reason == "an orbit was flown off it; what is measured is the rest"
    assert course.measured < 5.0


def test_the_time_of_the_leg_is_not_judged_with_an_orbit_in_it():
    limited = Chart(reversal={"maximum_time_s": 200.0})
    (with_orbit,) = all_of(the_approach(out_and_back(Turn("orbit", 360.0, BANK)), limited), "leg_limit")
    assert (with_orbit.verdict, with_orbit.reason) == ("not assessed", "an orbit was flown on it, which the time includes")
    (without,) = all_of(the_approach(out_and_back(), limited), "leg_limit")
    assert without.verdict == "inside"


def states_of(flown: Flown):
    return analyse_motion(NOISY.of(flown), resolve(Chart().at(), dt.date(2026, 6, 1))).states


OUTBOUND_RAD = math.radians(HERE.outbound_true_deg)


def test_only_a_full_turn_is_an_orbit():
    """What turns back, as a reversal, or goes straight in between, as a lap of a hold, is left as it is."""
    orbited = states_of(out_and_back(Turn("orbit", 360.0, BANK)))
    rest = without_orbits(orbited, OUTBOUND_RAD, float(orbited.time_s[0]))
    assert rest is not None
    assert len(orbited) - len(rest) == pytest.approx(ORBIT_S - 20.0, abs=6.0)  # 30° of track on both sides of it stay
    for flown in (out_and_back(), fly_approach(PLAIN).flown, entered("direct", 2).flown):
        states = states_of(flown)
        assert without_orbits(states, OUTBOUND_RAD, float(states.time_s[0])) is None
