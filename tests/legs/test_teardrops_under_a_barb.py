"""Teardrops under a barb, where AIM 5-4-9 a.1 leaves the turn to the pilot, told from 45/180s by the track over the ground."""

import math

import pytest
from found import found
from synthetic import CALM, Chart, Flown, Log, Segment, Straight, Turn, Wind, fly, holding, standard_rate_bank

from analyzer import debrief

SPEED_KT = 120.0
RATE_ONE = standard_rate_bank(SPEED_KT)


def teardrop(off_deg: float, out_s: float, wind: Wind = CALM, halfway_deg: float = 0.0) -> Flown:
    """Out from over the fix on a ground track to the right of the outbound course, and round to the left onto the inbound one.

    The heading that holds the track is worked out from the wind. `halfway_deg` is a correction to the right half way out.
    """

    def hold(course: float) -> float:
        return holding(course, SPEED_KT, wind)

    out, over = hold(off_deg), hold(0.0)
    path: list[Segment] = [Straight("arrival", 90.0), Turn("off", out - over, RATE_ONE), Straight("outbound", out_s / 2.0)]
    if halfway_deg:
        path.append(Turn("more", halfway_deg, RATE_ONE / 2.0))
    path.append(Straight("further", out_s / 2.0))
    before = 90.0 * (SPEED_KT * math.cos(math.radians(over)) - wind[1] * math.cos(math.radians(wind[0]))) / 3600.0
    for cut in (hold(-180.0 + angle) for angle in (30.0, -30.0, 45.0, -45.0, 15.0, -15.0)):

        def end(seconds: float, *then: Segment, cut: float = cut) -> Flown:
            home = Turn("reversal_turn", cut - out - halfway_deg, RATE_ONE), Straight("intercept", seconds)
            onto = Turn("onto", hold(-180.0) - cut, RATE_ONE / 2.0)
            return fly([*path, *home, onto, *then], (0.0, -before), over, SPEED_KT, wind, 5.0)

        near, far = (float(end(seconds).x_nm[-1]) for seconds in (10.0, 20.0))
        seconds = 10.0 - 10.0 * near / (far - near)  # the offset from the course is linear in them
        if seconds > 0.0:
            return end(seconds, Straight("inbound", 240.0))
    raise ValueError("no intercept comes out on the course")


@pytest.mark.parametrize("side", [-1, 1])
@pytest.mark.parametrize("wind", [CALM, (90.0, 25.0), (60.0, 30.0), (120.0, 20.0)])
def test_the_track_over_the_ground_tells_a_teardrop(wind, side):
    # FAA-H-8083-15B figure 7-44: off by 30° for a minute. Held into the wind, the heading is up to 44° off the course.
    flown = teardrop(30.0, 75.0, wind)
    (one,) = found(flown if side > 0 else flown.mirrored(), Log(noise_m=1.0), chart=Chart(side="right" if side > 0 else "left"))
    assert (one.flown, one.side) == ("base-turn", side)
    assert one.part("offset_leg") is None


@pytest.mark.parametrize(
    ("off_deg", "out_s", "wind", "more_deg"), [(24.0, 100.0, (70.0, 15.0), 8.0), (22.0, 80.0, (90.0, 20.0), 11.0)]
)
def test_a_correction_on_the_way_out_is_no_offset_turn(off_deg, out_s, wind, more_deg):
    (one,) = debrief(Log(noise_m=1.0).of(teardrop(off_deg, out_s, wind, more_deg)), Chart().at()).approaches
    assert one.reversal.flown == "base-turn"
    # out off the course on purpose
    assert "outbound_course" not in {finding.check for finding in one.findings}


def test_a_turn_of_45_degrees_over_the_fix_is_no_teardrop():
    # the offset leg of a 45/180, begun at once
    (one,) = found(teardrop(45.0, 75.0), Log(noise_m=1.0))
    assert one.flown == "45/180"


def test_no_altitude_is_asked_of_a_leg_that_takes_no_time():
    heights = Log(noise_m=1.0, altitude_ft=2600.0)
    floors = {"outbound": 2500.0, "reversal": 2500.0}
    (one,) = debrief(heights.of(teardrop(45.0, 75.0)), Chart(floors_ft=floors).at()).approaches
    judged = [finding for finding in one.findings if finding.check == "altitude_floor"]
    assert {finding.verdict for finding in judged} == {"inside"}
