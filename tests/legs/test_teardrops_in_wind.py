"""A teardrop is known by its track over the ground, whatever heading a wind makes it take; a 45/180 has an outbound leg.

AIM 5-4-9 a.1: under a barb the kind of turn is the pilot's choice, and teardrop and 45/180 are two of them.
"""

import pytest
from checked import debriefed, one_of
from synthetic import HERE, Chart, Flown, Segment, Straight, Turn, Wind, fly, holding, standard_rate_bank

START_NM = (0.0, -3.0)
BANK = standard_rate_bank(120.0)
FROM_RIGHT: Wind = (90.0, 25.0)


def out_and_back(off_deg: float, wind: Wind, outbound_s: float = 0.0) -> Flown:
    """Out on a track so far off the course to the right, from the fix or after some time outbound; back at 30° home."""
    ahead, aside = holding(0.0, 120.0, wind), holding(off_deg, 120.0, wind)
    back = holding(-150.0, 120.0, wind)
    out: list[Segment] = [Straight("outbound", outbound_s)] if outbound_s else []
    out = [Straight("arrival", 90.0), *out, Turn("aside", aside - ahead, BANK), Straight("away", 120.0)]
    out += [Turn("back", back - aside, BANK)]

    def flown(cut_s: float, *after: Segment) -> Flown:
        home = Turn("on", holding(180.0, 120.0, wind) - 360.0 - back, BANK)
        path = [*out, Straight("cut", cut_s), home, *after]
        return fly(path, START_NM, ahead, wind=wind, roll_deg_s=5.0)

    near, far = (float(flown(seconds).x_nm[-1]) for seconds in (10.0, 20.0))
    return flown(10.0 - 10.0 * near / (far - near), Straight("inbound", 260.0))


@pytest.mark.parametrize("wind", [(0.0, 0.0), FROM_RIGHT, (270.0, 20.0)])
@pytest.mark.parametrize("off_deg", [24.0, 30.0])
def test_a_track_from_the_fix_is_a_teardrop_in_any_wind(off_deg, wind):
    approach = debriefed(out_and_back(off_deg, wind))
    assert (approach.reversal.flown, approach.reversal.side) == ("base-turn", 1)
    assert not [finding for finding in approach.findings if finding.check == "outbound_course"]


def test_a_leg_of_45_degrees_after_an_outbound_leg_is_a_45_180_in_any_wind():
    for wind in ((0.0, 0.0), FROM_RIGHT):
        assert debriefed(out_and_back(45.0, wind, 60.0)).reversal.flown == "45/180"


def test_where_the_drawn_track_binds_a_teardrop_is_another_shape():
    offset = (HERE.outbound_true_deg + 45.0 - HERE.variation_deg) % 360.0
    bound = Chart(reversal={"depicted_track": True, "offset_course_deg": offset})
    assert one_of(debriefed(out_and_back(24.0, FROM_RIGHT), chart=bound), "reversal_shape").verdict == "outside"
