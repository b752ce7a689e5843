"""A single turn back: its side of the course is where the aircraft was, and its overshoot is beyond the course from there.

AIM 5-4-9 a.1: the barb shows the side of the outbound course on which the turn is made.
"""

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest
from checked import NOISY, debriefed, one_of, solve
from synthetic import Chart, Flown, Segment, Straight, Turn, fly, standard_rate_bank

from analyzer import debrief

BANK = standard_rate_bank(120.0)


def closing(make: Callable[[float], list[Segment]]) -> list[Segment]:
    """Segments whose seconds end them on the course, from which the distance is linear in the seconds."""
    near, far = (float(fly(make(seconds), (0.0, -3.0), roll_deg_s=5.0).x_nm[-1]) for seconds in (20.0, 30.0))
    return make(20.0 - 10.0 * near / (far - near))


def turned_back(way: float, aside_deg: float = 0.0, beyond_s: float | None = None) -> Flown:
    """Out on a heading so far off the course to the right for five miles, one turn back, and at 30° onto the inbound course.

    The turn goes on beyond the course's direction where it was begun on the course, and stops short of it where it was begun
    aside. The cut may lead beyond the course by some seconds, and back to it from the other side.
    """
    cut_deg = -30.0 if aside_deg else 30.0
    out: list[Segment] = [Straight("arrival", 90.0), Turn("aside", aside_deg, BANK), Straight("outbound", 150.0)]
    out = [segment for segment in out if segment.name != "aside" or aside_deg]

    def cut(seconds: float) -> list[Segment]:
        return [*out, Turn("reversal_turn", way * (180.0 + cut_deg) - aside_deg, BANK), Straight("cut", seconds)]

    path = closing(lambda seconds: [*cut(seconds), Turn("intercept", -way * cut_deg, BANK)])
    if beyond_s is not None:
        on = next(segment.seconds for segment in path if isinstance(segment, Straight) and segment.name == "cut")
        over = [*cut(on + beyond_s), Turn("return", -way * 2.0 * cut_deg, BANK)]
        path = closing(lambda seconds: [*over, Straight("to", seconds), Turn("intercept", way * cut_deg, BANK)])
    return fly([*path, Straight("inbound", 200.0)], (0.0, -3.0), roll_deg_s=5.0)


@pytest.mark.parametrize("way", [1.0, -1.0])
@pytest.mark.parametrize("charted", ["right", "left"])
def test_a_turn_begun_on_the_course_is_on_the_side_that_it_turns_to(way, charted):
    flown = turned_back(way)
    beyond = flown.time_s > flown.begins["reversal_turn"]
    assert (way * flown.x_nm[beyond]).min() > -0.05  # never on the other side
    approach = debriefed(flown, chart=Chart(side=charted))
    assert approach.reversal.flown == "base-turn"
    side = one_of(approach, "reversal_side")
    assert side.measured == ("right" if way > 0.0 else "left")
    assert side.verdict == ("inside" if side.measured == charted else "outside")
    intercept = one_of(approach, "intercept")
    assert (intercept.verdict, intercept.measured) == ("inside", pytest.approx(0.0, abs=0.1))


def test_who_crosses_the_course_after_it_has_overshot_it():
    flown = turned_back(-1.0, beyond_s=30.0)
    beyond = float(flown.x_nm[flown.time_s > flown.begins["cut"]].max())
    assert beyond > 0.4  # half a minute at 2 NM a minute and 30°
    intercept = one_of(debriefed(flown, chart=Chart(side="left")), "intercept")
    assert intercept.measured == pytest.approx(beyond, abs=0.03)


@pytest.mark.parametrize(("charted", "verdict"), [("right", "inside"), ("left", "outside")])
def test_a_teardrop_out_on_one_side_and_back_across_it_is_on_that_side(charted, verdict):
    flown = turned_back(-1.0, aside_deg=25.0)
    turn_nm = float(flown.at(flown.begins["reversal_turn"], flown.x_nm))
    assert turn_nm > 1.5  # right of the course
    approach = debriefed(flown, chart=Chart(side=charted))
    assert approach.reversal.flown == "base-turn"
    side = one_of(approach, "reversal_side")
    assert (side.measured, side.verdict) == ("right", verdict)


def crossed_twice(degrees: float) -> Flown:
    """Over the fix, five miles on along the outbound course, round by the right, and straight on."""
    way = [Straight("arrival", 90.0), Straight("out", 150.0), Turn("round", degrees, BANK), Straight("back", 250.0)]
    return fly(way, (0.0, -3.0), roll_deg_s=5.0)


def misses_nm(degrees: float) -> float:
    """How far right of the fix it comes back."""
    flown = crossed_twice(degrees)
    back = flown.time_s > flown.begins["back"]
    return float(np.interp(0.0, flown.y_nm[back][::-1], flown.x_nm[back][::-1]))


@pytest.mark.parametrize(("altitude_ft", "count"), [(6000.0, 0), (3100.0, 1)])
def test_a_fix_crossed_high_above_the_chart_and_crossed_again_off_the_course_is_no_approach(altitude_ft, count):
    flown = crossed_twice(solve(misses_nm, 0.0, 185.0, 210.0))
    log = replace(NOISY, altitude_ft=altitude_ft)
    charted = Chart(side="right", floors_ft={"arrival": 3000.0, "outbound": 2500.0})
    assert len(debrief(log.of(flown), charted.at()).approaches) == count
