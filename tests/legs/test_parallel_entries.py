"""Parallel entries from all of their sector, on a chart whose turns are known, and the mirrored hold."""

import math

import pytest
from scipy.optimize import brentq
from synthetic import Chart, Flown, Log, Segment, Straight, Turn, fly, standard_rate_bank

from analyzer import debrief

BANK = standard_rate_bank(120.0)
CUT_DEG = 45.0


def chart(turn: str) -> Chart:
    return Chart(side=None, within_nm=10.0, reversal={"kind": "hold", "turn": turn, "leg_time_s": 60.0})


def start(heading_deg: float) -> tuple[float, float]:
    """Three miles before the fix on a heading."""
    return -3.0 * math.sin(math.radians(heading_deg)), -3.0 * math.cos(math.radians(heading_deg))


def parallel(from_inbound_deg: float) -> Flown:
    """Right turns: a minute outbound on the non-holding side, left through 225°, the inbound course met at 45° (AIM 5-3-8)."""
    heading = (180.0 + from_inbound_deg) % 360.0
    onto = Turn("in", -heading if heading <= 180.0 else 360.0 - heading, BANK)
    before: list[Segment] = [Straight("arrival", 90.0), onto, Straight("out", 60.0), Turn("back", -180.0 - CUT_DEG, BANK)]

    def run(seconds: float) -> Flown:
        return fly([*before, Straight("cut", seconds), Turn("on", CUT_DEG, BANK)], start(heading), heading, 120.0)

    near, far = float(run(10.0).x_nm[-1]), float(run(20.0).x_nm[-1])
    cut_s = max(0.0, 10.0 - 10.0 * near / (far - near))
    path = [*before, Straight("cut", cut_s), Turn("on", CUT_DEG, BANK), Straight("home", 150.0)]
    return fly(path, start(heading), heading, 120.0)


@pytest.mark.parametrize("from_inbound_deg", [190.0, 200.0, 220.0, 240.0, 260.0, 275.0, 288.0])
@pytest.mark.parametrize("turn", ["right", "left"])
def test_a_parallel_entry(from_inbound_deg, turn):
    flown = parallel(from_inbound_deg)
    flown = flown if turn == "right" else flown.mirrored()
    (approach,) = debrief(Log(noise_m=1.0).of(flown), chart(turn).at()).approaches
    assert approach.reversal.flown == "hold-parallel"
    assert approach.reversal.side == (-1 if turn == "right" else 1)
    (entry,) = (finding for finding in approach.findings if finding.check == "hold_entry")
    assert (entry.verdict, entry.measured, entry.limit) == ("inside", "parallel", "parallel")


@pytest.mark.parametrize("from_inbound_deg", [-40.0, 0.0, 40.0])
def test_a_direct_entry_into_the_mirrored_hold(from_inbound_deg):
    heading = 180.0 + from_inbound_deg
    path = [Straight("arrival", 90.0), Turn("in", -heading, BANK), Straight("out", 60.0), Turn("back", -180.0, BANK)]
    flown = fly([*path, Straight("home", 150.0)], start(heading), heading, 120.0)
    (approach,) = debrief(Log(noise_m=1.0).of(flown), chart("right").at()).approaches
    assert (approach.reversal.flown, approach.reversal.side) == ("hold-direct", 1)
    verdicts = {finding.check: finding.verdict for finding in approach.findings}
    assert verdicts["reversal_side"] == "outside"
    assert verdicts["hold_entry"] == "not assessed"


@pytest.mark.parametrize("turn", ["right", "left"])
def test_an_entry_that_meets_the_course_no_sooner_than_the_fix(turn):
    """Cut so short outbound that 45° to the inbound course leads to the fix itself: entered, and never established."""
    heading = 30.0

    def run(out_s: float, cut_s: float) -> Flown:
        path = [
            Straight("arrival", 90.0), Turn("in", -heading, BANK), Straight("out", out_s),
            Turn("back", -180.0 - CUT_DEG, BANK), Straight("cut", cut_s),
        ]  # fmt: skip
        return fly(path, start(heading), heading, 120.0)

    def crossing(out_s: float) -> tuple[float, float]:
        """When the course is crossed, and how far before the fix."""
        one, two = run(out_s, 10.0), run(out_s, 20.0)
        seconds = 10.0 - 10.0 * float(one.x_nm[-1]) / float(two.x_nm[-1] - one.x_nm[-1])
        return seconds, float(run(out_s, seconds).y_nm[-1])

    short = brentq(lambda out_s: crossing(out_s)[1], 5.0, 200.0)
    flown = run(short, crossing(short)[0] + 90.0)
    flown = flown if turn == "right" else flown.mirrored()
    (approach,) = debrief(Log(noise_m=1.0).of(flown), chart(turn).at()).approaches
    assert approach.reversal.flown == "hold-parallel"
    assert approach.reversal.established_s is None
    assert approach.reversal.passage("inbound") is not None
