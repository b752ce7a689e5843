"""The overshoot of the inbound course ends once the aircraft is established: what comes after that is how it is tracked.

AIM 5-4-9 a.5 and the Pilot/Controller Glossary, Procedure Turn Inbound: the reversal is complete when the aircraft is
established inbound. Distances are those of the path in the plane; the reversal lies to the right, so that beyond the inbound
course is left of the outbound one, where x is negative.
"""

import numpy as np
import pytest
from checked import TURN_BACK, debriefed, homeward, one_of
from synthetic import Chart, Flown, Segment, Straight, Turn, fly

OUT: list[Segment] = [Straight("arrival", 90.0), Straight("outbound", 300.0)]
CHART = Chart(within_nm=15.0)


def inbound(then: list[Segment], longer_s: float = 0.0) -> Flown:
    """A 45/180 to the right, the cut to the inbound course longer by some seconds than takes it there, and what follows."""
    on_it = homeward(OUT, (0.0, -3.0), 0.0).begins
    cut_s = on_it["intercept"] - on_it["cut"] + longer_s
    path = [*OUT, Turn("offset_turn", 45.0, 18.0), Straight("offset_leg", 45.0), *TURN_BACK]
    path += [Straight("cut", cut_s), Turn("intercept", -30.0, 15.0), *then]
    return fly(path, (0.0, -3.0), 0.0, roll_deg_s=5.0)


def spaced(degrees: float) -> list[Segment]:
    """Two miles on the course, off it at an angle for 80 s, back to it, and on."""
    off = [Straight("settled", 60.0), Turn("off", degrees, 18.0), Straight("away", 80.0)]
    return [
        *off,
        Turn("back", -2.0 * degrees, 18.0),
        Straight("cut_back", 80.0),
        Turn("on", degrees, 18.0),
        Straight("on", 180.0),
    ]


@pytest.mark.parametrize("degrees", [50.0, -50.0])
def test_a_deviation_after_being_established_is_one_of_the_course_and_no_overshoot(degrees):
    flown = inbound(spaced(degrees))
    assert np.abs(flown.x_nm[flown.time_s > flown.begins["off"]]).max() > 2.0
    result = debriefed(flown, chart=CHART)
    finding = one_of(result, "intercept")
    rolled_out = (flown.time_s > flown.begins["cut"]) & (flown.time_s < flown.begins["off"])
    assert finding.verdict == "inside"
    assert finding.measured == pytest.approx(max(0.0, -float(flown.x_nm[rolled_out].min())), abs=0.02)
    assert [f.check for f in result.findings if f.verdict == "outside"] == ["inbound_course"]
    assert finding.lesson is None


@pytest.mark.parametrize("longer_s", [20.0, 40.0])
def test_an_overshoot_is_measured_to_where_it_ends_even_if_established_on_the_way(longer_s):
    # within 5° of the course, and the track within 15°, while still leading beyond it
    flown = inbound([Straight("parallel", 90.0), Turn("home", -20.0, 15.0), Straight("on", 60.0)], longer_s)
    beyond = -float(flown.x_nm[(flown.time_s > flown.begins["cut"]) & (flown.time_s < flown.begins["home"])].min())
    assert beyond > 0.3
    assert one_of(debriefed(flown, chart=CHART), "intercept").measured == pytest.approx(beyond, abs=0.02)


def test_an_overshoot_before_being_established_counts():
    back: list[Segment] = [Turn("home", -40.0, 15.0), Straight("to", 50.0), Turn("on", 40.0, 15.0), Straight("on", 180.0)]
    flown = inbound([Straight("parallel", 40.0), *back], 80.0)
    beyond = -float(flown.x_nm.min())
    assert beyond > 1.1
    finding = one_of(debriefed(flown, chart=CHART), "intercept")
    assert finding.verdict == "outside"  # one mile: common practice, no source
    assert finding.measured == pytest.approx(beyond, abs=0.02)
