"""Routes charted without a reversal, entry sectors, and shapes that the chart prescribes."""

import math
from dataclasses import replace
from typing import Any

import pytest
from checked import NOISY, all_of, debriefed, one_of
from patterns import Pattern, fly_approach
from synthetic import START_S, Chart, Place, Straight, Turn, fly

from analyzer import debrief
from analyzer.checks.finding import INSIDE, OUTSIDE
from analyzer.checks.overall import overall
from analyzer.debriefs.data import Approach

MAGNETIC = Place().outbound_true_deg - Place().variation_deg  # of the outbound course, which is north in the plane


def routes(*rows: tuple[str, float, bool], minimum_ft: float = 2500.0, **floors_ft: float) -> Chart:
    """A procedure turn with arrivals: name, course to the fix relative to the outbound course, and whether it needs one."""
    tables = [
        {"name": name, "course_deg": (MAGNETIC + course) % 360.0, "minimum_ft": minimum_ft, "reversal": reversal}
        for name, course, reversal in rows
    ]
    return Chart(floors_ft=floors_ft, tables={"arrivals": tables})


BOTH = routes(("KELDO", 180.0, False), ("BRUNO", 0.0, True))
TURNED = Pattern(roll_deg_s=5.0, intercept=True)


def straight_in(aside_nm: float = 0.0, heading_deg: float = 180.0) -> Approach:
    return debriefed(fly([Straight("in", 420.0)], (aside_nm, 10.0), heading_deg), chart=BOTH)


def test_straight_in_from_a_nopt_route_is_inside():
    approach = straight_in()
    finding = one_of(approach, "no_reversal")
    assert (finding.verdict, finding.measured, finding.limit) == ("inside", "none", "none")
    assert "91.175(j)" in finding.source
    assert "KELDO" in finding.sentence
    assert overall(approach.findings, approach.reversal)[0] == INSIDE


@pytest.mark.parametrize(("on_s", "verdict"), [(15.0, "not assessed"), (60.0, "inside")])
def test_who_turns_off_as_the_fix_is_passed_may_begin_the_reversal_there(on_s, verdict):
    """A minute of the turn outbound is in the log, and no more: a procedure turn begins like that, too."""
    flown = fly([Straight("in", 300.0 + on_s), Turn("out", 100.0, 20.0), Straight("on", 15.0)], (0.0, 10.0), 180.0)
    assert one_of(debriefed(flown, chart=BOTH), "no_reversal").verdict == verdict


# level until the fix, which is passed 300 s from the start, then down to the inbound minimum
INWARD = [(0.0, 2371.0), (300.0, 2371.0), (330.0, 1900.0), (1e5, 1900.0)]


def floors_of(chart: Chart, heights: list[tuple[float, float]]) -> list[tuple[str, str, int, bool]]:
    """Leg, verdict, minimum, and whether the route is named, of each finding on a minimum of a straight-in."""
    flown = fly([Straight("in", 420.0)], (0.0, 10.0), 180.0)
    found = all_of(debriefed(flown, replace(NOISY, altitude_ft=heights), chart), "altitude_floor")
    return [(f.leg, f.verdict, round(f.limit), "KELDO" in f.sentence) for f in found]


@pytest.mark.parametrize("into_s", [60.0, 110.0])
def test_a_log_that_begins_on_the_way_out_does_not_show_the_route(into_s):
    """Home on the course of the route that needs no reversal: the minimum of that one is not known to hold."""
    approach = fly_approach(replace(TURNED, arrival_deg=-60.0))
    chart = routes(("KELDO", 180.0, False), minimum_ft=3000.0, inbound=1800.0)
    track = replace(NOISY, altitude_ft=2000.0).of(approach.flown)
    later = track.time_s >= START_S + approach.outbound_passage_s + into_s
    names = ("time_s", "latitude_rad", "longitude_rad", "altitude_m")
    (flown,) = debrief(replace(track, **{name: getattr(track, name)[later] for name in names}), chart.at()).approaches
    found = all_of(flown, "altitude_floor")
    assert [(finding.leg, finding.verdict) for finding in found] == [("inbound", "inside")]
    assert "KELDO" not in found[0].sentence


def test_the_minimum_of_the_route_applies_until_the_fix():
    # AIM 5-4-5: a route has its own minimum. The 1,800 ft inbound do not apply before the fix.
    chart = routes(("KELDO", 180.0, False), minimum_ft=3000.0, arrival=3000.0, inbound=1800.0)
    assert floors_of(chart, INWARD) == [("inbound", "outside", 3000, True)]
    finding = one_of(
        debriefed(fly([Straight("in", 420.0)], (0.0, 10.0), 180.0), replace(NOISY, altitude_ft=INWARD), chart), "altitude_floor"
    )
    assert (finding.measured, finding.margin) == (pytest.approx(2371.0, abs=15.0), pytest.approx(-629.0, abs=15.0))
    assert "arrival KELDO" in finding.sentence
    assert finding.source == "charted"  # not by the rule of the procedure turn
    # the aircraft may descend at the fix
    kept = [(0.0, 3100.0), (310.0, 3100.0), (400.0, 1900.0), (1e5, 1900.0)]
    assert floors_of(chart, kept) == [("inbound", "inside", 3000, True)]


def test_the_higher_of_two_minimums_applies():
    low_route = routes(("KELDO", 180.0, False), minimum_ft=1500.0, inbound=1800.0)
    assert floors_of(low_route, INWARD) == [("inbound", "inside", 1800, False)]
    high_route = routes(("KELDO", 180.0, False), minimum_ft=2200.0, inbound=1800.0)
    assert floors_of(high_route, INWARD) == [("inbound", "inside", 2200, True)]


def test_the_minimum_of_a_route_not_flown_does_not_apply():
    chart = routes(("KELDO", 140.0, False), minimum_ft=3000.0, inbound=1800.0)
    assert floors_of(chart, INWARD) == [("inbound", "inside", 1800, False)]


@pytest.mark.parametrize(("minimum_ft", "verdict", "named"), [(3500.0, "outside", True), (2500.0, "inside", False)])
def test_the_minimum_of_a_route_applies_before_a_reversal_too(minimum_ft, verdict, named):
    chart = routes(("BRUNO", 0.0, True), minimum_ft=minimum_ft, arrival=2900.0)
    finding = one_of(debriefed(fly_approach(replace(TURNED, arrival_s=150.0)), chart=chart), "altitude_floor", leg="arrival")
    assert (finding.verdict, "BRUNO" in finding.sentence) == (verdict, named)
    assert finding.limit == pytest.approx(max(minimum_ft, 2900.0))


@pytest.mark.parametrize("course", [0.0, 60.0])
def test_a_reversal_on_a_route_charted_nopt_is_outside(course):
    # 14 CFR 91.175(j): no procedure turn where NoPT is charted, unless cleared
    chart = routes(("KELDO", course, False), ("BRUNO", 120.0, True))
    approach = debriefed(fly_approach(replace(TURNED, arrival_deg=course, arrival_s=150.0)), chart=chart)
    finding = one_of(approach, "no_reversal")
    assert (finding.verdict, finding.measured, finding.limit) == ("outside", "45/180", "none")
    assert "91.175(j)" in finding.source
    assert "a clearance would excuse it" in finding.sentence
    assert finding.lesson is not None
    assert "KELDO" in str(finding.lesson.advice)
    assert overall(approach.findings, approach.reversal)[0] == OUTSIDE


def test_a_reversal_on_a_route_that_needs_one_has_no_finding():
    chart = routes(("KELDO", 180.0, False), ("BRUNO", 0.0, True))
    assert all_of(debriefed(fly_approach(replace(TURNED, arrival_s=150.0)), chart=chart), "no_reversal") == []


@pytest.mark.parametrize("course", [30.0, -40.0, 180.0])
def test_a_route_not_flown_does_not_apply(course):
    # within 5° or 1 NM of its course for 3 NM; three miles out, 1 NM is 18°
    chart = routes(("KELDO", course, False))
    assert all_of(debriefed(fly_approach(replace(TURNED, arrival_s=150.0)), chart=chart), "no_reversal") == []


def test_a_straight_in_where_a_reversal_is_charted_is_not_assessed():
    flown = fly([Straight("in", 420.0)], (0.0, 10.0), 180.0)
    for chart in (Chart(), routes(("BRUNO", 180.0, True))):
        finding = one_of(debriefed(flown, chart=chart), "no_reversal")
        assert (finding.verdict, finding.measured, finding.limit) == ("not assessed", "none", "procedure-turn")


def test_the_route_of_an_arrival_shorter_than_three_miles_is_unknown():
    chart = routes(("KELDO", 0.0, False))
    assert all_of(debriefed(fly_approach(replace(TURNED, arrival_s=80.0)), chart=chart), "no_reversal") == []


@pytest.mark.parametrize(
    ("arrival_deg", "verdict"),
    [(0.0, "inside"), (25.0, "inside"), (-25.0, "inside"), (30.0, "too close to call"), (40.0, "outside"), (-75.0, "outside")],
)
@pytest.mark.parametrize("given", ["chart", "standard"])
def test_a_reversal_is_entered_from_within_thirty_degrees_of_the_outbound_track(arrival_deg, verdict, given):
    # ICAO Doc 8168 Vol II I-4-3 3.5.3
    approach = fly_approach(replace(TURNED, arrival_deg=arrival_deg, arrival_s=120.0))
    chart = Chart(reversal={"entry_within_deg": 30.0} if given == "chart" else {})
    standard = "faa-instrument" if given == "chart" else "icao-ops"
    (result,) = debrief(NOISY.of(approach.flown), chart.at(), standard).approaches
    finding = one_of(result, "entry_sector")
    assert finding.measured == pytest.approx(abs(arrival_deg), abs=1.0)
    assert (finding.verdict, finding.limit, finding.unit) == (verdict, pytest.approx(30.0), "deg")
    if arrival_deg:
        assert ("right of" if arrival_deg > 0 else "left of") in finding.sentence


def test_without_an_entry_sector_there_is_no_finding():
    assert all_of(debriefed(fly_approach(replace(TURNED, arrival_deg=75.0))), "entry_sector") == []


def base_turn(**reversal: Any) -> Chart:
    """A base turn to the right, its outbound track 20° left of the reciprocal of the inbound course."""
    out = {"outbound_course_deg": MAGNETIC - 20.0, "inbound_course_deg": (MAGNETIC + 180.0) % 360.0}
    return Chart(side=None, within_nm=None, reversal={"kind": "base-turn", "turn": "right", **out, **reversal})


@pytest.mark.parametrize(
    ("arrival_deg", "verdict"), [(-40.0, "inside"), (0.0, "inside"), (35.0, "outside"), (-60.0, "outside")]
)
def test_the_sector_of_a_base_turn_counts_from_its_outbound_track(arrival_deg, verdict):
    # from 50° left of the reciprocal of the inbound course to 10° right of it
    out = [Straight("arrival", 120.0), Turn("join", -20.0 - arrival_deg, 15.0), Straight("outbound", 120.0)]
    start = fly(out[:1], (0.0, 0.0), arrival_deg)
    way = [*out, Turn("reversal_turn", 200.0, 18.0), Straight("inbound", 200.0)]
    flown = fly(way, (-float(start.x_nm[-1]), -float(start.y_nm[-1])), arrival_deg, roll_deg_s=5.0)
    finding = one_of(debriefed(flown, chart=base_turn(entry_within_deg=30.0)), "entry_sector")
    assert (finding.verdict, finding.measured) == (verdict, pytest.approx(abs(arrival_deg + 20.0), abs=1.5))


def drawn(offset: bool) -> Chart:
    course = {"offset_course_deg": MAGNETIC + 45.0} if offset else {}
    return Chart(reversal={"depicted_track": True, **course})


@pytest.mark.parametrize(
    ("shape", "offset", "verdict"),
    [("45/180", True, "inside"), ("45/180", False, "inside"), ("80/260", True, "outside"), ("80/260", False, "inside")],
)
def test_a_depicted_track_is_binding(shape, offset, verdict):
    # AIM 5-4-9 a.1: a depicted track is flown exactly as depicted
    approach = debriefed(fly_approach(Pattern(roll_deg_s=5.0, shape=shape, intercept=True)), chart=drawn(offset))
    finding = one_of(approach, "reversal_shape")
    assert (finding.verdict, finding.measured) == (verdict, shape)
    assert "AIM 5-4-9 a.1" in finding.source
    if verdict == "outside":
        assert finding.lesson is not None


@pytest.mark.parametrize("shape", ["45/180", "80/260"])
def test_under_a_barb_the_shape_is_the_pilot_s_choice(shape):
    # AIM 5-4-9 a.1
    approach = debriefed(fly_approach(Pattern(roll_deg_s=5.0, shape=shape, intercept=True)), chart=Chart())
    assert all_of(approach, "reversal_shape") == []


def test_a_charted_base_turn_is_binding():
    # AIM 5-4-9 a.4: where a teardrop is depicted, it must be flown
    flown = fly([Straight("arrival", 120.0), Turn("join", -20.0, 15.0), Straight("outbound", 120.0),
                 Turn("reversal_turn", 200.0, 18.0), Straight("inbound", 200.0)], (0.0, -4.0), 0.0, roll_deg_s=5.0)  # fmt: skip
    approach = debriefed(flown, chart=base_turn())
    as_charted = one_of(approach, "reversal_shape")
    assert (as_charted.verdict, as_charted.measured) == ("inside", "base-turn")
    assert as_charted.sentence == "Reversal flown as charted: base turn."
    # out to the left of the reciprocal of the inbound course, it turns right, back to it
    side = one_of(approach, "reversal_side")
    assert (side.verdict, side.sentence) == ("inside", "Turned back to the right, as charted.")
    assert side.measured == side.limit == "right"
    out = [Straight("arrival", 120.0), Turn("join", -20.0, 15.0), Straight("outbound", 120.0), Turn("offset_turn", -45.0, 18.0),
           Straight("offset_leg", 40.0), Turn("reversal_turn", 215.0, 18.0)]  # fmt: skip
    off_course_nm = float(fly([*out, Straight("cut", 10.0)], (0.0, -4.0), 0.0, roll_deg_s=5.0).x_nm[-1])
    cut = Straight("cut", 10.0 - (off_course_nm + 0.1) / math.sin(math.radians(30.0)) * 30.0)
    other = fly([*out, cut, Turn("intercept", 30.0, 15.0), Straight("inbound", 200.0)], (0.0, -4.0), 0.0, roll_deg_s=5.0)
    finding = one_of(debriefed(other, chart=base_turn()), "reversal_shape")
    assert (finding.verdict, finding.measured, finding.limit) == ("outside", "45/180", "base-turn")
    assert "AIM 5-4-9 a.4" in finding.source
