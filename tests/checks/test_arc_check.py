"""Radius of an arc against the published mile: inside, outside, at the limit, and not assessed.

The arcs are laid out about the fix. They are joined from the fix's side, out along a radial and round by 90° and some, so that
nothing but the arc itself lies near its radius.
"""

import math
from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from checked import NOISY, all_of, debriefed, one_of
from missed_flights import laid
from patterns import radius_nm
from synthetic import HERE, KT, NM, START_S, Chart, Flown, Straight, Turn, fly, standard_rate_bank

from analyzer import debrief

RATE_ONE = standard_rate_bank(120.0)
CHARTED_NM = 10.0


@cache
def arc_at(distance_nm: float, rounds: int = 0) -> Flown:
    """Out to an arc, left around it at a distance from the fix, and off it with the lead for the inbound course.

    With `rounds` the arc is all around as often, before that.
    """
    radius = radius_nm()
    within = distance_nm - radius  # of the centres of the turns on and off, which touch the arc from within
    lead = math.degrees(math.asin(radius / within))
    bank = math.degrees(math.atan((120.0 * KT) ** 2 / (9.80665 * distance_nm * NM)))
    join_nm = math.sqrt(within**2 - radius**2)
    path = [
        Straight("arrival", (join_nm - 5.0) * 30.0),
        Turn("arc_turn", -(90.0 + lead), RATE_ONE),
        Turn("arc", -(360.0 * rounds + 90.0 - 2.0 * lead), bank),
        Turn("reversal_turn", -(90.0 + lead), RATE_ONE),
        Straight("inbound", distance_nm * 30.0 + 60.0),
    ]
    return fly(path, (5.0, 0.0), 90.0)


def chart(side: int = 1) -> Chart:
    centre = {"latitude_deg": HERE.latitude_deg, "longitude_deg": HERE.longitude_deg, "radius_nm": CHARTED_NM}
    arc = {"kind": "arc", "turn": "left" if side > 0 else "right"}
    return Chart(side=None, within_nm=None, reversal=arc, tables={"arc": centre})


def test_the_flight_is_built_as_described():
    flown = arc_at(9.5)
    on_arc = (flown.time_s >= flown.begins["arc"]) & (flown.time_s <= flown.begins["reversal_turn"])
    assert flown.distance_nm[on_arc] == pytest.approx(9.5, abs=0.001)
    assert float(flown.x_nm[-1]) == pytest.approx(0.0, abs=0.005)


@pytest.mark.parametrize(
    ("off_nm", "verdict"),
    [
        (0.5, "inside"),
        (-0.5, "inside"),
        (1.0, "too close to call"),
        (-1.0, "too close to call"),
        (1.4, "outside"),
        (-1.4, "outside"),
    ],
)
@pytest.mark.parametrize("side", [1, -1])
def test_a_mile_off_the_arc(off_nm, verdict, side):
    # FAA-S-ACS-8C IR.V.A.S6: DME arc ±1 NM.
    flown = arc_at(CHARTED_NM + off_nm)
    finding = one_of(debriefed(flown if side > 0 else flown.mirrored(), chart=chart(side)), "arc_radius")
    assert (finding.verdict, finding.limit, finding.unit) == (verdict, 1.0, "NM")
    assert finding.measured == pytest.approx(abs(off_nm), abs=0.01)
    assert finding.details["rms_nm"] == pytest.approx(abs(off_nm), abs=0.02)
    assert ("outside it" if off_nm > 0.0 else "inside it") in finding.sentence
    assert "ACS-8C" in finding.source
    assert (finding.leg, finding.part) == ("outbound", "arc")


def test_the_finding_gives_place_and_time_of_the_greatest_departure():
    # charted about a point 0.6 NM before the fix, the same arc leads outwards all the way to the turn off it
    flown, (latitude, longitude) = arc_at(10.0), HERE.lay(np.array([0.0]), np.array([-0.6]))
    centre = {"latitude_deg": float(latitude[0]), "longitude_deg": float(longitude[0]), "radius_nm": CHARTED_NM}
    finding = one_of(debriefed(flown, chart=replace(chart(), tables={"arc": centre})), "arc_radius")
    at_end = flown.begins["reversal_turn"]
    farthest = math.hypot(float(flown.at(at_end, flown.x_nm)), float(flown.at(at_end, flown.y_nm)) + 0.6)
    assert finding.measured == pytest.approx(farthest - CHARTED_NM, abs=0.01)
    assert finding.place is not None
    assert finding.place.time_s - START_S == pytest.approx(at_end, abs=15.0)


def test_a_gap_makes_inside_not_assessed_but_leaves_outside():
    for off_nm, verdict in ((0.5, "not assessed"), (1.4, "outside")):
        flown = arc_at(CHARTED_NM + off_nm)
        middle = (flown.begins["arc"] + flown.begins["reversal_turn"]) / 2.0
        approach = debriefed(flown, replace(NOISY, hole_s=(middle, middle + 20.0)), chart())
        finding = one_of(approach, "arc_radius")
        assert finding.verdict == verdict
        assert (finding.reason is not None) == (verdict == "not assessed")


def test_a_gap_elsewhere_changes_nothing():
    flown = arc_at(CHARTED_NM + 0.5)
    late = flown.begins["inbound"] + 100.0
    assert one_of(debriefed(flown, replace(NOISY, hole_s=(late, late + 20.0)), chart()), "arc_radius").verdict == "inside"


def test_an_arc_needs_no_altitude():
    assert one_of(debriefed(arc_at(10.5), replace(NOISY, altitude_ft=None), chart()), "arc_radius").verdict == "inside"


def test_no_arc_flown_or_none_charted_no_finding():
    straight = fly([Straight("in", 400.0)], (0.0, 10.0), 180.0)
    assert all_of(debriefed(straight, chart=chart()), "arc_radius") == []
    without = Chart(side=None, within_nm=None, reversal={"kind": "none"})
    assert all_of(debriefed(arc_at(10.5), chart=without), "arc_radius") == []


@pytest.mark.parametrize("late_deg", [4.0, 12.0])
@pytest.mark.parametrize("side", [1, -1])
def test_who_stays_on_the_arc_beyond_the_inbound_course_has_overshot_it(late_deg, side):
    # one mile: common practice, no source
    radius = radius_nm()
    lead = math.degrees(math.asin(radius / (CHARTED_NM - radius)))
    bank = math.degrees(math.atan((120.0 * KT) ** 2 / (9.80665 * CHARTED_NM * NM)))
    join_nm = math.sqrt((CHARTED_NM - radius) ** 2 - radius**2)

    def path(cut_s: float) -> list[Straight | Turn]:
        """Round to some degrees beyond the course, then back at 30° to it."""
        return [
            Straight("arrival", (join_nm - 5.0) * 30.0), Turn("arc_turn", -(90.0 + lead), RATE_ONE),
            Turn("arc", -(90.0 - lead + late_deg), bank), Turn("reversal_turn", -(120.0 - late_deg), RATE_ONE),
            Straight("cut", cut_s), Turn("intercept", 30.0, RATE_ONE),
        ]  # fmt: skip

    near, far = (float(fly(path(seconds), (5.0, 0.0), 90.0).x_nm[-1]) for seconds in (20.0, 30.0))
    flown = fly([*path(20.0 - 10.0 * near / (far - near)), Straight("inbound", 200.0)], (5.0, 0.0), 90.0)
    beyond = -float(flown.x_nm.min())
    finding = one_of(debriefed(flown if side > 0 else flown.mirrored(), chart=chart(side)), "intercept")
    assert (finding.verdict, finding.measured) == ("outside", pytest.approx(beyond, abs=0.03))
    turned_in_time = arc_at(CHARTED_NM) if side > 0 else arc_at(CHARTED_NM).mirrored()
    assert one_of(debriefed(turned_in_time, chart=chart(side)), "intercept").measured == pytest.approx(0.0, abs=0.03)


@pytest.mark.parametrize("charted", ["left", "right"])
@pytest.mark.parametrize("flown", ["left", "right"])
def test_the_way_round_the_centre_is_the_charted_one(flown, charted):
    turned = arc_at(CHARTED_NM) if flown == "left" else arc_at(CHARTED_NM).mirrored()
    finding = one_of(debriefed(turned, chart=chart(1 if charted == "left" else -1)), "reversal_side")
    assert (finding.measured, finding.limit) == (flown, charted)
    assert finding.verdict == ("inside" if flown == charted else "outside")


@pytest.mark.parametrize("flown_nm", [8.0, 12.0])
def test_an_arc_two_miles_off_is_the_charted_one_flown_badly(flown_nm):
    # FAA-S-ACS-8C IR.V.A.S6: DME arc ±1 NM
    finding = one_of(debriefed(arc_at(flown_nm), chart=chart()), "arc_radius")
    assert (finding.verdict, finding.measured) == ("outside", pytest.approx(2.0, abs=0.02))


def greatest_nm(flown: Flown, x_nm: float, y_nm: float) -> float:
    """The greatest departure from the charted radius about a point, on the arc as it was flown."""
    on_arc = (flown.time_s >= flown.begins["arc"]) & (flown.time_s <= flown.begins["reversal_turn"])
    return float(np.abs(np.hypot(flown.x_nm - x_nm, flown.y_nm - y_nm)[on_arc] - CHARTED_NM).max())


@pytest.mark.parametrize("side", [1, -1])
@pytest.mark.parametrize("distance_nm", [6.6, 7.6, 12.4, 13.5])
def test_an_arc_at_another_distance_is_the_charted_one_flown_badly(distance_nm, side):
    flown = arc_at(distance_nm)
    finding = one_of(debriefed(flown if side > 0 else flown.mirrored(), chart=chart(side)), "arc_radius")
    assert finding.verdict == "outside"
    assert finding.measured == pytest.approx(abs(distance_nm - CHARTED_NM), abs=0.1)


@pytest.mark.parametrize(("x_nm", "y_nm"), [(-4.0, 0.0), (0.0, -4.0), (3.0, 0.0), (0.0, 2.0), (3.0, -3.0)])
def test_an_arc_about_another_point_is_measured_whole(x_nm, y_nm):
    """Beginning or ending off the charted radius, drifting in or out: the limit does not choose what it judges."""
    spot = laid(x_nm, y_nm)
    charted = replace(chart(), tables={"arc": {**spot, "radius_nm": CHARTED_NM}})
    finding = one_of(debriefed(arc_at(CHARTED_NM), chart=charted), "arc_radius")
    assert finding.verdict == "outside"
    assert finding.measured == pytest.approx(greatest_nm(arc_at(CHARTED_NM), x_nm, y_nm), abs=0.35)  # half a minute at each end


@cache
def arc_left(off_deg: float, deep_nm: float, before_deg: float = 25.0, after_deg: float = 25.0) -> tuple[Flown, float]:
    """An arc that is left inwards at an angle to the tangent and joined again at the same; how deep it came in. [NM]

    The corners of the two legs are where the arc is left, a point so deep, and the arc again; turns touch both their sides.
    """
    radius = radius_nm()
    within = CHARTED_NM - radius
    lead, join_nm = math.degrees(math.asin(radius / within)), math.sqrt(within**2 - radius**2)
    bank = math.degrees(math.atan((120.0 * KT) ** 2 / (9.80665 * CHARTED_NM * NM)))
    off = math.radians(off_deg)
    half = off - math.acos(math.cos(off) / (1.0 - deep_nm / CHARTED_NM))  # of the bearing swept meanwhile, by the law of sines
    leg_nm = CHARTED_NM * math.sin(half) / math.cos(off - half)
    corner_nm, middle_nm = radius * math.tan(off / 2.0), radius * math.tan(off - half)
    before, after = (of - math.degrees(corner_nm / CHARTED_NM) for of in (before_deg, after_deg))
    leg_s = (leg_nm - corner_nm - middle_nm) * 30.0
    path = [
        Straight("arrival", (join_nm - 5.0) * 30.0), Turn("arc_turn", -(90.0 + lead), RATE_ONE), Turn("arc", -before, bank),
        Turn("off", -off_deg, RATE_ONE), Straight("in", leg_s), Turn("middle", 2.0 * math.degrees(off - half), RATE_ONE),
        Straight("out", leg_s), Turn("on", -off_deg, RATE_ONE), Turn("arc2", -after, bank),
        Turn("reversal_turn", -(90.0 + lead), RATE_ONE), Straight("inbound", 360.0),
    ]  # fmt: skip
    # the fix lies so that the whole ends on the inbound course: the way out to the arc is turned by what it then lacks
    first_deg = 180.0 - sum(turn.degrees for turn in path if isinstance(turn, Turn))
    flown = fly(path, (5.0 * math.sin(math.radians(first_deg)), 5.0 * math.cos(math.radians(first_deg))), first_deg)
    left = (flown.time_s >= flown.begins["off"]) & (flown.time_s <= flown.begins["arc2"])
    return flown, CHARTED_NM - float(flown.distance_nm[left].min())


@pytest.mark.parametrize("side", [1, -1])
@pytest.mark.parametrize(
    ("off_deg", "deep_nm", "verdict"),
    [(25.0, 0.7, "inside"), (45.0, 1.6, "outside"), (45.0, 2.2, "outside"), (60.0, 2.5, "outside")],
)
def test_an_arc_that_is_left_and_joined_again_is_measured_whole(off_deg, deep_nm, verdict, side):
    flown, inside_nm = arc_left(off_deg, deep_nm)
    finding = one_of(debriefed(flown if side > 0 else flown.mirrored(), chart=chart(side)), "arc_radius")
    assert (finding.verdict, finding.measured) == (verdict, pytest.approx(inside_nm, abs=0.05))


@pytest.mark.parametrize("side", [1, -1])
@pytest.mark.parametrize(
    ("off_deg", "deep_nm", "before_deg", "after_deg"),
    [(45.0, 1.6, 45.0, 12.0), (45.0, 2.2, 45.0, 20.0), (60.0, 2.5, 45.0, 20.0)],
)
def test_a_long_arc_before_it_was_left_belongs_to_the_same(off_deg, deep_nm, before_deg, after_deg, side):
    """It had been an approach of its own, in which the radius was held well."""
    flown, inside_nm = arc_left(off_deg, deep_nm, before_deg, after_deg)
    finding = one_of(debriefed(flown if side > 0 else flown.mirrored(), chart=chart(side)), "arc_radius")
    assert (finding.verdict, finding.measured) == ("outside", pytest.approx(inside_nm, abs=0.05))


def test_vectors_to_the_course_are_no_arc():
    """Straight legs past the centre at about the charted distance, and turns at standard rate between them."""
    path = [Straight("arrival", 300.0), Turn("base", -90.0, RATE_ONE), Straight("leg", 200.0)]
    start = fly([*path, Turn("onto", -90.0, RATE_ONE)], (0.0, 0.0), 0.0)
    back = fly([*path, Turn("onto", -90.0, RATE_ONE), Straight("inbound", 500.0)], (-float(start.x_nm[-1]), -2.0), 0.0)
    assert all_of(debriefed(back, chart=chart()), "arc_radius") == []


@pytest.mark.parametrize("side", [1, -1])
@pytest.mark.parametrize("within_nm", [1.2, 1.5])
def test_a_straight_line_past_the_centre_that_leads_to_the_arc_is_none_of_it(within_nm, side):
    """As after a missed approach: from afar along a chord a mile and more within it at its middle, and round on it."""
    bank = math.degrees(math.atan((120.0 * KT) ** 2 / (9.80665 * CHARTED_NM * NM)))
    half = math.degrees(math.acos(1.0 - within_nm / CHARTED_NM))  # of the chord; the turn at its end is by as much
    chord_nm, lead_nm = 2.0 * CHARTED_NM * math.sin(math.radians(half)), radius_nm() * math.tan(math.radians(half / 2.0))
    lead = math.degrees(math.asin(radius_nm() / (CHARTED_NM - radius_nm())))
    sweep = 60.0 - math.degrees(lead_nm / CHARTED_NM)
    path = [
        Straight("afar", 90.0), Straight("chord", (chord_nm - lead_nm) * 30.0), Turn("on", -half, RATE_ONE),
        Turn("arc", -(sweep - lead), bank), Turn("reversal_turn", -(90.0 + lead), RATE_ONE), Straight("inbound", 360.0),
    ]  # fmt: skip
    first_deg = 180.0 - sum(turn.degrees for turn in path if isinstance(turn, Turn))
    ahead = math.radians(first_deg)
    beside = CHARTED_NM - within_nm  # of the centre, which lies to the left
    back = chord_nm / 2.0 + 3.0
    start = beside * math.cos(ahead) - back * math.sin(ahead), -beside * math.sin(ahead) - back * math.cos(ahead)
    flown = fly(path, start, first_deg)
    finding = one_of(debriefed(flown if side > 0 else flown.mirrored(), chart=chart(side)), "arc_radius")
    assert finding.verdict == "inside"


@pytest.mark.parametrize("side", [1, -1])
def test_an_arc_all_around_overshoots_no_course_that_it_only_passes(side):
    """A flight inspection goes around a station before it turns in; it was outside by the radius of the arc."""
    flown = arc_at(CHARTED_NM, rounds=1)
    finding = one_of(debriefed(flown if side > 0 else flown.mirrored(), chart=chart(side)), "intercept")
    assert finding.verdict == "inside"
    assert finding.measured == pytest.approx(0.0, abs=0.05)


def test_a_log_that_begins_at_the_end_of_the_turn_off_the_arc_may_hold_less_than_was_flown():
    """It is flown straight in from there, and says nothing of the arc."""
    flown = arc_at(10.0)
    track = NOISY.of(flown)
    kept = track.time_s - START_S > flown.begins["inbound"] - 8.0
    arrays = {name: getattr(track, name)[kept] for name in ("time_s", "latitude_rad", "longitude_rad", "altitude_m")}
    (approach,) = debrief(replace(track, **arrays), chart().at()).approaches
    finding = one_of(approach, "no_reversal")
    assert finding.verdict == "not assessed"
    assert "the log begins" in str(finding.reason)
    assert "may have been flown already" in str(finding.reason)
