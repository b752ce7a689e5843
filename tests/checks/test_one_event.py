"""Each event counts once: a finding that follows from another names it and is not assessed; independent ones still count.

A strict examiner counts no fault twice, and misses none.
"""

from dataclasses import replace

import pytest
from checked import NOISY, PLAIN, all_of, debriefed, of_pattern, one_of
from descents import LANDING, descended
from patterns import fly_approach
from synthetic import Chart, Place

from analyzer.checks.events import once
from analyzer.checks.finding import Finding
from analyzer.checks.finding import Place as Instant
from analyzer.checks.overall import overall

APPROACH = fly_approach(replace(PLAIN, arrival_s=150.0, outbound_s=200.0, final_s=120.0))
OUT, TURN, BACK, IN = (
    APPROACH.outbound_passage_s,
    APPROACH.begin("reversal_turn"),
    APPROACH.rolled_out_s,
    APPROACH.inbound_passage_s,
)
FLOORS = {"arrival": 3000.0, "outbound": 2600.0, "reversal": 2600.0, "inbound": 1800.0}


def flown_at(*points: tuple[float, float], **tables):
    """The 45/180 with altitudes in feet at some seconds, interpolated linearly."""
    return debriefed(APPROACH, replace(NOISY, altitude_ft=list(points)), Chart(floors_ft=FLOORS, tables=tables))


def outside(approach) -> list[str]:
    return [finding.check for finding in approach.findings if finding.verdict == "outside"]


def followers(approach) -> dict[str, str]:
    """Findings that follow from another, with the name of it."""
    said = {f.check: str(f.reason) for f in approach.findings if "it follows from" in str(f.reason)}
    return {check: reason.split("follows from ")[1].split(" (")[0] for check, reason in said.items()}


GOOD = ((0.0, 3050.0), (OUT + 15.0, 3050.0), (OUT + 50.0, 2700.0), (BACK + 20.0, 2700.0), (BACK + 90.0, 1900.0), (1e5, 1900.0))


def test_a_good_flight_has_no_consequential_findings():
    assert (outside(flown_at(*GOOD)), followers(flown_at(*GOOD))) == ([], {})


def test_a_wrong_heading_follows_from_the_wrong_side():
    charted = {"offset_course_deg": Place().outbound_true_deg - Place().variation_deg - 45.0}
    approach = of_pattern(chart=Chart(side="left", reversal=charted))
    assert outside(approach) == ["reversal_side"]
    heading = one_of(approach, "offset_heading")
    assert heading.verdict == "not assessed"
    assert "reversal side" in str(heading.reason)
    assert heading.measured is not None  # still reported
    # on the right side a wrong heading counts
    right = {"offset_course_deg": Place().outbound_true_deg - Place().variation_deg + 45.0}
    assert "offset_heading" in outside(of_pattern(replace(PLAIN, leg_deg=62.0), chart=Chart(reversal=right)))


def test_an_early_descent_below_the_minimum_is_one_event():
    early = (*GOOD[:3], (TURN - 10.0, 2700.0), (TURN + 60.0, 1900.0), (1e5, 1900.0))
    approach = flown_at(*early)
    assert outside(approach) == ["altitude_floor"]
    timing = [f for f in all_of(approach, "descent_timing") if "altitude floor" in str(f.reason)]
    assert len(timing) == 1
    assert timing[0].measured is not None
    assert overall(approach.findings, approach.reversal)[0] == "outside"


def test_an_undershoot_long_before_an_early_descent_is_another_event():
    # 300 ft below the minimum outbound, back up to it, and then down before being established
    twice = (
        *GOOD[:3],
        (OUT + 70.0, 2300.0),
        (OUT + 90.0, 2300.0),
        (OUT + 120.0, 2700.0),
        (TURN + 10.0, 2700.0),
        (TURN + 70.0, 1900.0),
        (1e5, 1900.0),
    )
    found = outside(flown_at(*twice))
    assert found.count("altitude_floor") == 2  # outbound, and in the reversal
    assert set(found) <= {"altitude_floor", "altitude_hold"}


def test_a_level_left_downwards_below_the_minimum_is_one_event():
    dip = (*GOOD[:3], (OUT + 90.0, 2700.0), (OUT + 110.0, 2450.0), (OUT + 130.0, 2700.0), *GOOD[3:])
    approach = flown_at(*dip)
    assert outside(approach) == ["altitude_floor"]


def test_a_level_held_below_the_minimum_is_not_inside():
    low = (*GOOD[:2], (OUT + 50.0, 2300.0), (BACK + 20.0, 2300.0), *GOOD[4:])
    approach = flown_at(*low)
    assert set(outside(approach)) == {"altitude_floor"}
    held = {f.leg: f for f in all_of(approach, "altitude_hold")}
    assert held["outbound"].verdict == "not assessed"
    assert "follows from altitude floor" in str(held["outbound"].reason)
    assert held["outbound"].measured is not None  # still reported
    assert held["arrival"].verdict == "inside"


def test_a_level_left_upwards_is_independent_of_an_undershoot_on_another_leg():
    up = (*GOOD[:3], (OUT + 90.0, 2700.0), (OUT + 110.0, 2950.0), (OUT + 130.0, 2700.0), *GOOD[3:4])
    low = (*up, (BACK + 90.0, 1900.0), (IN - 60.0, 1900.0), (IN - 30.0, 1600.0), (1e5, 1600.0))
    assert "altitude_floor" in outside(flown_at(*low))
    held = [f for f in all_of(flown_at(*low), "altitude_hold") if f.leg == "outbound"]
    assert [f for f in held if "it follows" in str(f.reason)] == []


FAF = {"name": "TARRO", "role": "final-approach-fix", "distance_nm": 2.0, "minimum_ft": 1800}


def test_an_undershoot_of_a_fix_and_its_leg_counts_for_the_fix():
    low = (*GOOD[:4], (BACK + 90.0, 1500.0), (1e5, 1500.0))
    approach = flown_at(*low, fixes=[FAF])
    assert outside(approach) == ["step_down"]
    floor = one_of(approach, "altitude_floor", leg="inbound")
    assert (floor.verdict, round(floor.measured, -1)) == ("not assessed", 1500.0)
    assert "step down" in str(floor.reason)
    # without a charted fix it counts for the leg
    assert outside(flown_at(*low)) == ["altitude_floor"]


def test_an_undershoot_on_another_leg_minutes_before_counts_separately():
    low = (
        *GOOD[:3],
        (OUT + 80.0, 2300.0),
        (OUT + 110.0, 2300.0),
        (OUT + 150.0, 2700.0),
        *GOOD[3:4],
        (BACK + 90.0, 1500.0),
        (1e5, 1500.0),
    )
    assert sorted(outside(flown_at(*low, fixes=[FAF]))) == ["altitude_floor", "step_down"]


def test_undershoots_before_two_fixes_are_two_events():
    fixes = [
        {"name": "TARRO", "role": "final-approach-fix", "distance_nm": 0.5, "minimum_ft": 1700},
        {"name": "KESTA", "role": "step-down", "distance_nm": 2.5, "minimum_ft": 1300},
    ]
    heights = ((15.0, 1800.0), (5.5, 1500.0), (4.0, 1500.0), (3.0, 1000.0), (2.0, 950.0), *LANDING)
    found = [f for f in all_of(descended(heights, fixes=fixes), "step_down") if f.verdict == "outside"]
    assert [f.fix for f in found] == ["TARRO", "KESTA"]


def test_independent_faults_all_count():
    # the wrong side, too far, and a floor undershot outbound
    approach = fly_approach(replace(PLAIN, outbound_s=400.0, arrival_s=150.0))
    low = [
        (0.0, 3050.0),
        (OUT + 15.0, 3050.0),
        (OUT + 60.0, 2300.0),
        (OUT + 200.0, 2300.0),
        (OUT + 260.0, 2700.0),
        (1e5, 2700.0),
    ]
    found = outside(debriefed(approach, replace(NOISY, altitude_ft=low), Chart(side="left", floors_ft=FLOORS)))
    assert {"distance_limit", "reversal_side", "altitude_floor"} <= set(found)


def finding(check: str, verdict: str = "outside", time_s: float = 0.0, leg: str = "inbound") -> Finding:
    return Finding(check, leg, None, "A sentence.", verdict, margin=-1.0, place=Instant(time_s, 0.8, -0.6))


FOLLOWS = [("established", "inbound_course"), ("established", "intercept"), ("step_down", "altitude_floor")]


@pytest.mark.parametrize(("cause", "effect"), [*FOLLOWS, ("reversal_side", "offset_heading")])
def test_only_a_finding_outside_can_be_a_cause(cause, effect):
    for verdict in ("inside", "too close to call", "not assessed"):
        assert once([finding(cause, verdict), finding(effect)])[1].verdict == "outside"
        assert once([finding(cause), finding(effect, verdict)])[1].verdict == verdict
    assert once([finding(cause), finding(effect)])[1].verdict == "not assessed"
    assert once([finding(effect), finding(cause)])[0].verdict == "not assessed"  # in any order


def test_an_undershoot_at_another_time_on_another_leg_does_not_follow_from_the_step_down():
    near, far = (finding("altitude_floor", time_s=second, leg="outbound") for second in (60.0, 300.0))
    assert [f.verdict for f in once([finding("step_down"), near, far])] == ["outside", "not assessed", "outside"]


def test_place_and_numbers_are_unchanged():
    kept = once([finding("established"), finding("intercept", time_s=5.0)])[1]
    assert (kept.margin, kept.place.time_s) == (-1.0, 5.0)


@pytest.mark.parametrize("before_s", [24.0, 26.0, 27.0, 30.0])
def test_a_descent_close_to_having_been_begun_in_time_is_one_event_with_the_floor_it_went_below(before_s):
    """600 ft/min from 100 ft above the floor, passing 100 ft below it within seconds of being established."""
    late = (*GOOD[:3], (BACK - before_s, 2700.0), (BACK - before_s + 80.0, 1900.0), (1e5, 1900.0))
    approach = flown_at(*late)
    assert outside(approach) == ["altitude_floor"]
    assert [f.verdict for f in all_of(approach, "descent_timing") if f.verdict in ("outside", "too close to call")] == []


def test_a_low_that_lasts_from_one_leg_into_the_next_counts_once_where_it_was_lowest():
    """150 ft below the minimum of both legs from a minute before the turn back on, and 40 ft lower in it."""
    flown = fly_approach(replace(PLAIN, outbound_s=150.0))
    turn = flown.begin("reversal_turn")
    heights = [(0.0, 3000.0), (turn - 90.0, 3000.0), (turn - 50.0, 2450.0), (turn, 2450.0), (turn + 20.0, 2410.0)]
    log = replace(NOISY, altitude_ft=[*heights, (turn + 30.0, 2500.0), (turn + 60.0, 2700.0)])
    lows = all_of(debriefed(flown, log, Chart(floors_ft={"outbound": 2600.0, "reversal": 2600.0})), "altitude_floor")
    by_leg = {finding.leg: finding for finding in lows}
    assert by_leg["reversal"].verdict == "outside"
    assert by_leg["outbound"].verdict == "not assessed"
    assert "it is one event with altitude floor (reversal" in str(by_leg["outbound"].reason)


def test_two_lows_minutes_apart_count_twice():
    flown = fly_approach(replace(PLAIN, outbound_s=240.0))
    turn = flown.begin("reversal_turn")
    heights = [(0.0, 3000.0), (turn - 200.0, 3000.0), (turn - 170.0, 2450.0), (turn - 130.0, 2800.0), (turn, 2800.0)]
    log = replace(NOISY, altitude_ft=[*heights, (turn + 20.0, 2410.0), (turn + 60.0, 2800.0)])
    lows = all_of(debriefed(flown, log, Chart(floors_ft={"outbound": 2600.0, "reversal": 2600.0})), "altitude_floor")
    assert [finding.verdict for finding in lows if finding.leg in ("outbound", "reversal")] == ["outside", "outside"]


def shared(*points: tuple[float, float], limit_ft: float = 2600.0, maximum: bool = False):
    """The findings on a minimum or maximum that outbound and reversal leg share, for altitudes in feet at some seconds."""
    limit = {f"{leg}{'_maximum' if maximum else ''}_ft": limit_ft for leg in ("outbound", "reversal")}
    approach = debriefed(APPROACH, replace(NOISY, altitude_ft=list(points)), Chart(tables={"altitudes": limit}))
    return all_of(approach, "maximum_altitude" if maximum else "altitude_floor")


BETWEEN = (APPROACH.begin("offset_turn") - 60.0, TURN + 30.0)  # of two minutes and more


@pytest.mark.parametrize("off_ft", [-60.0, -150.0, -400.0])
def test_one_level_below_a_minimum_that_two_legs_share_is_one_event_however_long(off_ft):
    level = 2600.0 + off_ft
    found = shared((0.0, 3000.0), (OUT + 5.0, 3000.0), (OUT + 45.0, level), (TURN, level - 30.0), (BACK, level), (1e5, level))
    assert TURN - OUT > 200.0
    assert sorted(f.verdict for f in found) == ["not assessed", "outside"]
    counted = next(f for f in found if f.verdict == "outside")
    assert counted.measured == min(f.measured for f in found)  # where it was lowest


def test_a_minimum_regained_between_two_lows_makes_two_events_even_soon_after():
    # 200 ft low until 40 s before the offset turn, at the minimum and above in the turn, 200 ft low again 40 s after it
    turn = APPROACH.begin("offset_turn")
    climb = ((turn - 40.0, 2400.0), (turn - 10.0, 2680.0), (turn + 10.0, 2680.0), (turn + 40.0, 2400.0))
    found = shared((0.0, 3000.0), (OUT + 5.0, 3000.0), (OUT + 45.0, 2400.0), *climb, (BACK, 2400.0), (1e5, 2400.0))
    assert [f.verdict for f in found] == ["outside", "outside"]


@pytest.mark.parametrize("above_ft", [140.0, 400.0])
def test_one_level_above_a_maximum_that_two_legs_share_is_one_event(above_ft):
    # FAA-S-ACS-8C IR.VI.A.S9: ±100 ft of an altitude
    level = 3000.0 + above_ft
    found = shared((0.0, level), (TURN, level), (TURN + 20.0, level + 30.0), (1e5, level + 30.0), limit_ft=3000.0, maximum=True)
    assert [(f.leg, f.verdict) for f in found] == [("outbound", "not assessed"), ("reversal", "outside")]
    assert "it is one event with maximum altitude (" in str(found[0].reason)


def test_a_maximum_regained_between_two_highs_makes_two_events():
    turn = APPROACH.begin("offset_turn")
    dip = ((turn - 40.0, 3250.0), (turn - 10.0, 2950.0), (turn + 10.0, 2950.0), (turn + 40.0, 3250.0))
    climb = ((0.0, 2950.0), (OUT + 20.0, 2950.0), (OUT + 50.0, 3250.0))
    found = shared(*climb, *dip, (1e5, 3250.0), limit_ft=3000.0, maximum=True)
    assert [f.verdict for f in found] == ["outside", "outside"]


def test_the_minimum_of_a_fix_and_of_the_leg_two_minutes_before_are_one_event_while_below_both():
    # below 1,800 ft from the reversal leg on, up to the final approach fix, whose minimum is the same
    low = (*GOOD[:3], (TURN, 2700.0), (TURN + 60.0, 1500.0), (1e5, 1450.0))
    floors = {"arrival": 3000.0, "outbound": 2600.0, "reversal": 1800.0, "inbound": 1800.0}
    log = replace(NOISY, altitude_ft=list(low))
    approach = debriefed(APPROACH, log, Chart(floors_ft=floors, tables={"fixes": [FAF]}))
    assert IN - BACK > 200.0
    assert [c for c in outside(approach) if c in ("altitude_floor", "step_down")] == ["step_down"]


def test_a_dip_below_the_minimum_and_back_is_one_event():
    # on a longer arrival 200 ft down from 80 ft above the minimum, and back to it
    longer = fly_approach(replace(PLAIN, arrival_s=300.0))
    dip = [(0.0, 3080.0), (110.0, 3080.0), (130.0, 2880.0), (140.0, 2880.0), (160.0, 3080.0), (1e5, 3080.0)]
    approach = debriefed(longer, replace(NOISY, altitude_ft=dip), Chart(floors_ft={"arrival": 3000.0}))
    assert outside(approach) == ["altitude_floor"]
    held = one_of(approach, "altitude_hold", leg="arrival")
    assert held.measured == pytest.approx(200.0, abs=10.0)
    assert "it follows from altitude floor" in str(held.reason)


def test_one_level_below_a_minimum_is_counted_once_and_what_follows_names_what_counts():
    # down from the arrival's level through the 2,600 ft of the next two legs, and level 250 ft below until inbound
    low = (*GOOD[:2], (OUT + 65.0, 2350.0), (BACK + 20.0, 2350.0), (BACK + 60.0, 1900.0), (1e5, 1900.0))
    approach = flown_at(*low)
    assert outside(approach) == ["altitude_floor"]
    counted = next(finding for finding in approach.findings if finding.verdict == "outside")
    for finding in approach.findings:
        if "it follows from" in str(finding.reason):
            assert f"altitude floor ({counted.leg})" in str(finding.reason)
    assert {"altitude_floor", "descent_timing"} <= set(followers(approach))
    # it was the descent of these legs that went too far, and not that to the inbound altitude begun too early
    assert counted.lesson is not None
    assert "continued through the minimum" in str(counted.lesson.cause)
    assert "begin to level off" in str(counted.lesson.advice)
