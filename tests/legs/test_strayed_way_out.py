"""A 45/180 or 80/260 flown to its charted side, from a way out that strayed to the other side of the outbound course.

It had been taken for a teardrop on the other side, and so for a reversal on the wrong one.
"""

import pytest
from found import found
from synthetic import Chart, Flown, Log, Segment, Straight, Turn, fly, standard_rate_bank

from analyzer import debrief

SPEED_KT, CUT_DEG = 120.0, 30.0
RATE_ONE = standard_rate_bank(SPEED_KT)


def strayed(shape: str, off_deg: float, out_s: float) -> Flown:
    """To the left in calm air, out on a track that many degrees to the right of the course."""
    path: list[Segment] = [Straight("arrival", 90.0), Turn("off", off_deg, RATE_ONE / 2.0), Straight("outbound", out_s)]
    offset = 45.0 if shape == "45/180" else 80.0
    path.append(Turn("offset_turn", -offset - off_deg, RATE_ONE))
    path += [Straight("offset_leg", 60.0)] if shape == "45/180" else []
    path.append(Turn("reversal_turn", offset + 180.0 + CUT_DEG, RATE_ONE))

    def end(seconds: float, *then: Segment) -> Flown:
        closing = Straight("intercept", seconds), Turn("onto", -CUT_DEG, RATE_ONE)
        return fly([*path, *closing, *then], (0.0, -3.0), 0.0, SPEED_KT, roll_deg_s=5.0)

    near, far = (float(end(seconds).x_nm[-1]) for seconds in (10.0, 20.0))
    seconds = 10.0 - 10.0 * near / (far - near)  # the offset from the course is linear in them
    assert seconds > 0.0, "the turn back has to end to the right of the course"
    return end(seconds, Straight("inbound", 300.0))


@pytest.mark.parametrize("side", [-1, 1])
@pytest.mark.parametrize(
    ("shape", "off_deg", "out_s"), [("45/180", 14.0, 150.0), ("45/180", 10.0, 220.0), ("80/260", 15.0, 130.0)]
)
def test_a_reversal_is_on_the_side_it_was_turned_off_to(shape, off_deg, out_s, side):
    flown = strayed(shape, off_deg, out_s)
    (one,) = found(flown if side < 0 else flown.mirrored(), Log(noise_m=1.0), chart=Chart(side="left" if side < 0 else "right"))
    assert (one.flown, one.side) == (shape, side)
    (turn,) = [part for part in one.parts if part.name == "offset_turn"]
    assert turn.start_s - Log().of(flown).time_s[0] == pytest.approx(flown.begins["offset_turn"], abs=6.0)


def test_it_is_no_reversal_on_the_wrong_side():
    (one,) = debrief(Log(noise_m=1.0).of(strayed("45/180", 14.0, 150.0)), Chart(side="left").at()).approaches
    assert {finding.verdict for finding in one.findings if finding.check == "reversal_side"} == {"inside"}
