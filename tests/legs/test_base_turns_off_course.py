"""Base turns flown off their outbound course, or to the other side: approaches all the same, with that as the fault."""

import math
from collections.abc import Sequence

import pytest
from checked import NOISY, one_of
from scipy.optimize import brentq
from synthetic import HERE, Chart, Flown, Segment, Straight, Turn, fly, standard_rate_bank

from analyzer import debrief
from analyzer.debriefs.data import Approach

RATE_ONE = standard_rate_bank(120.0)
MAGNETIC = HERE.outbound_true_deg - HERE.variation_deg  # the reciprocal of the inbound course
ANGLE_DEG = 20.0  # of the base turn


def base_turn(side: int) -> Chart:
    """A base turn that goes out on a side of the inbound course, 20° off it."""
    courses = {"outbound_course_deg": MAGNETIC + side * ANGLE_DEG, "inbound_course_deg": (MAGNETIC + 180.0) % 360.0}
    turn = "left" if side > 0 else "right"
    return Chart(side=None, within_nm=None, reversal={"kind": "base-turn", "turn": turn, "leg_time_s": 120.0, **courses})


def flown_out(heading_deg: float, way: int, aside_nm: float = 0.0) -> Flown:
    """Over the fix, or past it so far aside, two minutes out on a heading, round `way`, and home on the inbound course."""
    before = [Straight("arrival", 90.0), Straight("outbound", 120.0)]
    home_deg = way * 180.0
    east, north = (f(math.radians(heading_deg)) for f in (math.sin, math.cos))
    start = -3.0 * east + aside_nm * north, -3.0 * north - aside_nm * east

    def run(path: Sequence[Segment]) -> Flown:
        return fly(path, start, heading_deg, roll_deg_s=5.0)

    for cut_deg in (30.0, -30.0, 60.0, -60.0):

        def path(seconds: float, cut_deg: float = cut_deg) -> list[Segment]:
            turn = Turn("reversal_turn", home_deg + cut_deg - heading_deg, RATE_ONE)
            return [*before, turn, Straight("cut", seconds), Turn("join", -cut_deg, 15.0)]

        ends = [float(run(path(seconds)).x_nm[-1]) for seconds in (1.0, 150.0)]
        if ends[0] * ends[1] < 0.0:
            seconds = float(brentq(lambda s, path=path: float(run(path(s)).x_nm[-1]), 1.0, 150.0))
            joined = run(path(seconds))
            return run([*path(seconds), Straight("inbound", max(0.0, float(joined.y_nm[-1])) * 30.0 + 90.0)])
    raise ValueError(f"{heading_deg}: no intercept comes out on the course")


def approaches(flown: Flown, side: int) -> tuple[Approach, ...]:
    return debrief(NOISY.of(flown), base_turn(side).at()).approaches


@pytest.mark.parametrize("side", [1, -1])
@pytest.mark.parametrize("off_deg", [-24.0, -18.0, 18.0, 24.0])
def test_a_base_turn_off_its_course_is_one_whose_outbound_course_was_not_kept(off_deg, side):
    # half of full scale of a VOR is 5°, three quarters 7.5°: FAA-S-ACS-8C IR.VI.A.S8
    (one,) = approaches(flown_out(side * (ANGLE_DEG + off_deg), -side), side)
    assert (one.reversal.flown, one.reversal.side, one.reversal.turn) == ("base-turn", side, -side)
    finding = one_of(one, "outbound_course")
    assert finding.verdict == "outside"
    assert finding.measured == pytest.approx(abs(off_deg), abs=1.0)
    assert one_of(one, "reversal_side").verdict == "inside"


@pytest.mark.parametrize("side", [1, -1])
def test_a_mirrored_base_turn_is_on_the_wrong_side_and_counts_once(side):
    # AIM 5-4-9 a.4: a charted teardrop is flown as depicted; a.1: the charted side is the one to manoeuvre on
    (one,) = approaches(flown_out(-side * ANGLE_DEG, side), side)
    assert (one.reversal.flown, one.reversal.side, one.reversal.turn) == ("base-turn", -side, side)
    assert one_of(one, "reversal_side").verdict == "outside"
    course = one_of(one, "outbound_course")
    assert course.verdict == "not assessed"
    assert "follows from reversal side" in str(course.reason)


@pytest.mark.parametrize("side", [1, -1])
def test_what_goes_out_elsewhere_is_no_base_turn(side):
    # 40° off the course and not mirrored; and beside the fix by more than half a mile, where radar leads
    assert "base-turn" not in [one.reversal.flown for one in approaches(flown_out(side * (ANGLE_DEG + 40.0), -side), side)]
    aside = approaches(flown_out(side * (ANGLE_DEG + 24.0), -side, aside_nm=side * 1.2), side)
    assert "base-turn" not in [one.reversal.flown for one in aside]


@pytest.mark.parametrize("side", [1, -1])
@pytest.mark.parametrize("across_deg", [60.0, 70.0, 80.0])
def test_a_base_turn_joined_from_across_its_course_is_no_racetrack(across_deg, side):
    """A turn at the fix leads onto the outbound track, along the charted course: beside it a racetrack lies two radii off."""
    out_deg = ANGLE_DEG
    before = [Straight("arrival", 90.0), Turn("entry", -across_deg, RATE_ONE), Straight("outbound", 120.0)]
    heading = math.radians(out_deg + across_deg)
    start = -3.0 * math.sin(heading), -3.0 * math.cos(heading)

    def path(seconds: float) -> list[Segment]:
        return [*before, Turn("back", -(180.0 + out_deg - 30.0), RATE_ONE), Straight("cut", seconds), Turn("join", -30.0, 15.0)]

    def ends(seconds: float) -> float:
        return float(fly(path(seconds), start, out_deg + across_deg, roll_deg_s=5.0).x_nm[-1])

    seconds = float(brentq(ends, 1.0, 150.0)) if ends(1.0) * ends(150.0) < 0.0 else 1.0
    flown = fly([*path(seconds), Straight("inbound", 200.0)], start, out_deg + across_deg, roll_deg_s=5.0)
    (one,) = approaches(flown if side > 0 else flown.mirrored(), side)
    assert (one.reversal.flown, one_of(one, "reversal_shape").verdict) == ("base-turn", "inside")
