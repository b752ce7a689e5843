"""The racetrack and the teardrop under a barb: flown as briefed, on the charted side, inside the limit, as published."""

import math
from dataclasses import replace

import pytest
from briefed import OUT_MAGNETIC, briefed, everywhere, fly_by_numbers, number, parts_of, turn_chart, wind_text
from synthetic import CALM, NM, standard_rate_bank

from analyzer.brief.chances import Errors
from analyzer.brief.planned_track import planned_track
from analyzer.errors import BriefError
from analyzer.library.debrief import debrief
from analyzer.report.documents.brief_document import brief_document
from analyzer.report.words.brief_text import brief_text

FEW = Errors(flights=10)
SIDES = {"right": 1, "left": -1}
OUT = OUT_MAGNETIC % 360.0
WINDS = [CALM, (0.0, 25.0), (90.0, 25.0), (180.0, 20.0), (270.0, 25.0)]
HALF_ROLL_S = standard_rate_bank(120.0) / 5.0 / 2.0  # at 5°/s


def as_flown(made, side, wind, arrival):
    """Flown as briefed, it rolls out on the inbound course, is no farther out than briefed, and lies on the charted side."""
    flown = fly_by_numbers(brief_document(made), -SIDES[side], everywhere(wind), arrival)
    assert flown.across_nm("reversal_turn", 180.0) == pytest.approx(0.0, abs=0.05)
    assert flown.farthest_nm("reversal_turn") == pytest.approx(number(made, "greatest distance").value, abs=0.05)
    x, _ = flown.upto("outbound")
    assert SIDES[side] * float(x[-1]) > 0.5
    return flown


@pytest.mark.parametrize("side", SIDES)
@pytest.mark.parametrize(("wind", "outbound"), [(wind, "150s") for wind in WINDS] + [((60.0, 20.0), None), (CALM, "4")])
def test_a_racetrack_comes_out_on_the_course(side, wind, outbound):
    made = briefed(turn_chart(side), errors=FEW, shape="racetrack", outbound=outbound, winds=[wind_text(wind)])
    assert parts_of(brief_document(made)) == ["entry_turn", "outbound", "reversal_turn", "inbound"]
    as_flown(made, side, wind, 180.0)
    first, out, back = brief_document(made)["parts"][:3]
    assert first["turn"] == back["turn"] == {"right": "left", "left": "right"}[side]
    assert out["duration_s"] == pytest.approx({"150s": 150.0, None: 120.0, "4": 120.0}[outbound], abs=0.1)  # 4 NM at 120 kt
    assert f"Racetrack with {back['turn']} turns, {side} of the outbound course" in " ".join(brief_text(made).split())


@pytest.mark.parametrize("side", SIDES)
@pytest.mark.parametrize("wind", WINDS)
@pytest.mark.parametrize("arrival", [None, 0.0, 60.0])
def test_a_teardrop_comes_out_on_the_course(side, wind, arrival):
    given = {} if arrival is None else {"arrival_deg": (OUT + arrival) % 360.0}
    made = briefed(turn_chart(side), errors=FEW, shape="teardrop", winds=[wind_text(wind)], **given)
    as_flown(made, side, wind, arrival or 0.0)
    assert parts_of(brief_document(made))[-3:] == ["outbound", "reversal_turn", "inbound"]
    assert number(made, "track off the outbound course").unit == f"° {side}"


@pytest.mark.parametrize("side", SIDES)
@pytest.mark.parametrize(("minutes", "exact"), [(1.0, 35.31), (1.5, 23.96), (2.0, 18.09), (3.0, 12.11)])
def test_the_angle_of_a_teardrop_in_still_air(minutes, exact, side):
    # 2 atan(R/(V T)) at 3°/s, for which ICAO Doc 8168 Vol II, table I-4-3-App C-1 has 36/T; the roll begins half of it early
    seconds = 60.0 * minutes - HALF_ROLL_S
    made = briefed(turn_chart(side), errors=FEW, shape="teardrop", outbound=f"{seconds:.2f}s")
    assert number(made, "track off the outbound course").value == pytest.approx(exact, abs=0.1)
    heading = number(made, "outbound heading").value
    assert math.remainder(heading - OUT, 360.0) == pytest.approx(SIDES[side] * exact, abs=0.1)


@pytest.mark.parametrize("side", SIDES)
@pytest.mark.parametrize(("seconds", "degrees", "rolls_out"), [(60, 30, 0.103), (120, 20, -0.172), (180, 10, 0.212)])
def test_the_handbooks_teardrops(seconds, degrees, rolls_out, side):
    """FAA-H-8083-15B ch. 7: 30° off for 1 minute, 20° for 2, 10° for 3, each begun with a turn off the outbound course.

    At 120 kt and 3°/s, R = 0.6366 NM, they roll out R (cos a + 1) - R (1 - cos a) - V T sin a inside the course that they were
    begun on. Half a roll's way is flown at the end of the first turn and at the beginning of the second, out on that heading.
    """
    made = briefed(turn_chart(side), errors=FEW, shape="teardrop", outbound=f"{seconds}s", arrival_deg=OUT)
    rule = number(made, "outbound heading").rule
    assert math.remainder(rule.value - OUT, 360.0) == pytest.approx(SIDES[side] * degrees, abs=1e-6)
    by_rule = number(made, "by the rule the turn rolls out")
    inside = rolls_out - 2.0 * HALF_ROLL_S * 120.0 / 3600.0 * math.sin(math.radians(degrees))
    # inside is away from the charted side of the outbound course: looking inbound, on the side of the same name
    assert by_rule.value == pytest.approx(abs(inside), abs=0.02)
    assert by_rule.unit == f"NM {side if inside > 0.0 else {'left': 'right', 'right': 'left'}[side]}"


def test_no_angle_of_the_handbook_beyond_its_minutes():
    made = briefed(turn_chart(), errors=FEW, shape="teardrop", outbound="200s")
    assert number(made, "outbound heading").rule is None


@pytest.mark.parametrize(("shape", "flown"), [("racetrack", "hold-direct"), ("teardrop", "base-turn")])
@pytest.mark.parametrize("side", SIDES)
def test_the_planned_track_debriefs_as_planned(shape, flown, side):
    made = briefed(turn_chart(side), errors=FEW, shape=shape, winds=[wind_text((90.0, 15.0))])
    (approach,) = debrief(planned_track(made.plan), made.charted.procedure).approaches
    assert approach.reversal.flown == flown == brief_document(made)["shape"]
    assert approach.reversal.side == SIDES[side]
    assert approach.figures.farthest.distance_m / NM == pytest.approx(number(made, "greatest distance").value, abs=0.02)


@pytest.mark.parametrize("shape", ["racetrack", "teardrop"])
def test_the_limit_is_kept(shape):
    tight = replace(turn_chart(), within_nm=4.0)
    made = briefed(tight, errors=FEW, shape=shape, winds=[wind_text((180.0, 20.0))])
    assert number(made, "greatest distance").value == pytest.approx(3.0, abs=0.01)  # a mile inside, asked for by default
    longest = number(made, "longest outbound leg").value
    again = briefed(tight, errors=FEW, shape=shape, winds=[wind_text((180.0, 20.0))], outbound=f"{longest:.3f}")
    assert number(again, "greatest distance").value == pytest.approx(3.0, abs=0.01)
    with pytest.raises(BriefError, match=r"beyond the limit of 4 NM; --outbound \d\.\d keeps 1.0 NM inside"):
        briefed(tight, errors=FEW, shape=shape, outbound="200s")


@pytest.mark.parametrize("shape", ["80/260", "racetrack", "teardrop"])
def test_a_track_charted_as_drawn_leaves_no_choice(shape):
    # AIM 5-4-9 a.1: some procedure turns are charted as a track that must be flown exactly as drawn
    drawn = turn_chart(depicted_track=True)
    with pytest.raises(BriefError, match=r"must be flown as drawn \(AIM 5-4-9 a\.1\), 45/180; leave --shape out"):
        briefed(drawn, errors=FEW, shape=shape)
    assert briefed(drawn, errors=FEW).plan.pattern.shape == "45/180"


@pytest.mark.parametrize(("from_inbound", "instead"), [(130.0, "teardrop"), (235.0, "45/180")])
@pytest.mark.parametrize("side", SIDES)
def test_no_racetrack_from_where_its_entry_is_not_direct(side, from_inbound, instead):
    # AIM 5-3-8 j.3: sectors of a hold with the racetrack's turns, which go away from the charted side
    arrival = (OUT + 180.0 - SIDES[side] * from_inbound) % 360.0
    with pytest.raises(BriefError, match=f"--shape racetrack: from course .*fly --shape {instead}"):
        briefed(turn_chart(side), errors=FEW, shape="racetrack", arrival_deg=arrival)
    assert briefed(turn_chart(side), errors=FEW, shape=instead, arrival_deg=arrival).plan.pattern.shape == instead


@pytest.mark.parametrize("side", SIDES)
def test_no_teardrop_from_where_a_racetrack_is_the_way(side):
    """On the inbound course the turn over the fix alone leads a turn's width aside."""
    arrival = (OUT + 180.0) % 360.0
    with pytest.raises(BriefError, match=r"--shape teardrop: from course .*fly --shape racetrack"):
        briefed(turn_chart(side), errors=FEW, shape="teardrop", arrival_deg=arrival)
    assert briefed(turn_chart(side), errors=FEW, shape="racetrack", arrival_deg=arrival).plan.pattern.solved


def test_a_teardrop_whose_turn_over_the_fix_could_lead_either_way_is_not_solved_at_the_jump():
    """From nearly the opposite course the shorter way round flips: that is no heading on which the turn back rolls out."""
    with pytest.raises(BriefError, match="fly --shape racetrack"):
        briefed(turn_chart(), errors=FEW, shape="teardrop", speeds=["150"], winds=["262.3/36.1"], arrival_deg=258.557832899461)
