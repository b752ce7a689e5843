"""Altitudes charted as a maximum, of a leg and at a fix: inside, outside, at the limit, and not assessed."""

from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from checked import NOISY, all_of, debriefed, one_of
from patterns import Pattern, fly_approach
from synthetic import START_S, Chart, Straight, fly

from analyzer import debrief

FLOWN = fly_approach(Pattern(roll_deg_s=5.0, intercept=True))
WAY_IN = fly([Straight("inbound", 600.0)], (0.0, 10.0), 180.0)  # the fix after 300 s, one 4 NM beyond it after 420 s


def straight_in(**fix: Any) -> Chart:
    row = {"name": "ZULEK", "role": "final-approach-fix", "distance_nm": 4.0, **fix}
    return Chart(side=None, within_nm=None, reversal={"kind": "none"}, tables={"fixes": [row]})


def crossing(altitude_ft: float, log: Any = NOISY, **fix: Any):
    """The finding on a fix crossed at an altitude, descending at 600 ft/min through it."""
    heights = [
        (0.0, altitude_ft + 1200.0),
        (300.0, altitude_ft + 1200.0),
        (500.0, altitude_ft - 800.0),
        (1e4, altitude_ft - 800.0),
    ]
    return one_of(debriefed(WAY_IN, replace(log, altitude_ft=heights), straight_in(**fix)), "maximum_altitude")


@pytest.mark.parametrize(
    ("altitude_ft", "verdict"),
    [(1800.0, "inside"), (2080.0, "inside"), (2100.0, "too close to call"), (2130.0, "outside"), (2400.0, "outside")],
)
@pytest.mark.parametrize("minimum_ft", [None, 2000.0])
def test_a_fix_is_crossed_no_higher_than_its_maximum(altitude_ft, verdict, minimum_ft):
    # FAA-S-ACS-8C IR.VI.A.S9: altitude ±100 ft; a mandatory altitude is a maximum as well as a minimum
    finding = crossing(altitude_ft, maximum_ft=2000.0, **({} if minimum_ft is None else {"minimum_ft": minimum_ft}))
    assert finding.measured == pytest.approx(altitude_ft, abs=12.0)  # a second's descent
    assert (finding.verdict, finding.fix, finding.limit, finding.tolerance) == (verdict, "ZULEK", 2000.0, 100.0)
    assert finding.place is not None
    assert finding.place.time_s - START_S == pytest.approx(420.0, abs=1.0)


@pytest.mark.parametrize(("minimum_ft", "called"), [(None, "maximum"), (1500.0, "maximum"), (2000.0, "mandatory altitude")])
def test_a_minimum_that_is_also_a_maximum_is_called_mandatory(minimum_ft, called):
    # AIM 5-4-5: an altitude with lines above and below it is mandatory, one with a line above it a maximum
    given = {"maximum_ft": 2000.0, **({} if minimum_ft is None else {"minimum_ft": minimum_ft})}
    assert f" ft above the {called} of 2,000 ft (100 ft above it allowed)." in crossing(2400.0, **given).sentence
    not_passed = crossing(2000.0, replace(NOISY, end_s=400.0), **given)
    assert not_passed.sentence == f"{called.capitalize()} of 2,000 ft at ZULEK."


@pytest.mark.parametrize(("minimum_ft", "called"), [(2600.0, "maximum"), (3000.0, "mandatory altitude")])
def test_a_leg_with_equal_minimum_and_maximum_has_a_mandatory_altitude(minimum_ft, called):
    chart = Chart(tables={"altitudes": {"outbound_ft": minimum_ft, "outbound_maximum_ft": 3000.0}})
    finding = one_of(debriefed(FLOWN, replace(NOISY, altitude_ft=3200.0), chart), "maximum_altitude")
    assert f" ft above the {called} of 3,000 ft" in finding.sentence
    without_altitude = one_of(debriefed(FLOWN, replace(NOISY, altitude_ft=None), chart), "maximum_altitude")
    assert without_altitude.sentence == f"{called.capitalize()} of 3,000 ft on the outbound leg."


@pytest.mark.parametrize(("minimum_ft", "called"), [(None, "maximum"), (2000.0, "mandatory altitude")])
def test_the_advice_after_crossing_too_high_is_to_level_off_before_the_fix(minimum_ft, called):
    # from 3,800 ft to 2,600 and 2,000 ft in the 420 s to the fix: 171 and 257 ft/min; a rate rounded up would go below
    finding = crossing(2600.0, maximum_ft=2000.0, **({} if minimum_ft is None else {"minimum_ft": minimum_ft}))
    assert finding.lesson is not None
    assert "170 ft/min was flown in the 420 s to ZULEK" in str(finding.lesson.cause)
    assert f"its {called} requires 260 ft/min" in str(finding.lesson.cause)
    assert finding.lesson.advice == "Descend at a normal rate to 2,000 ft and level off before ZULEK."


def test_no_descent_is_advised_below_the_minimum_of_the_leg_before():
    heights = [(0.0, 3000.0), (200.0, 3000.0), (420.0, 2600.0), (470.0, 2500.0)]
    chart = replace(straight_in(maximum_ft=2000.0), floors_ft={"inbound": 2500.0})
    finding = one_of(debriefed(WAY_IN, replace(NOISY, altitude_ft=heights), chart), "maximum_altitude")
    assert finding.lesson is not None
    # the fix is passed at 2,500 ft or above
    assert finding.lesson.advice == "Once QRL is passed, descend at a normal rate to 2,000 ft and level off before ZULEK."


def test_a_fix_that_the_log_does_not_reach_is_not_assessed():
    finding = crossing(2000.0, replace(NOISY, end_s=400.0), maximum_ft=2000.0)
    assert (finding.verdict, finding.fix) == ("not assessed", "ZULEK")
    assert finding.reason


def test_a_fix_without_a_maximum_has_no_finding():
    assert all_of(debriefed(WAY_IN, chart=straight_in(minimum_ft=2000.0)), "maximum_altitude") == []


def outbound(heights: list[tuple[float, float]] | float | None):
    chart = Chart(tables={"altitudes": {"outbound_maximum_ft": 3000.0}})
    return one_of(debriefed(FLOWN, replace(NOISY, altitude_ft=heights), chart), "maximum_altitude")


@pytest.mark.parametrize(("altitude_ft", "verdict"), [(2900.0, "inside"), (3070.0, "inside"), (3150.0, "outside")])
def test_a_leg_is_flown_no_higher_than_its_maximum(altitude_ft, verdict):
    finding = outbound(altitude_ft)
    assert (finding.verdict, finding.leg, finding.fix) == (verdict, "outbound", None)
    assert finding.measured == pytest.approx(altitude_ft, abs=2.0)


def test_a_leg_begun_in_a_descent_counts_once_its_maximum_is_reached():
    passed = FLOWN.outbound_passage_s
    down = [(0.0, 4000.0), (passed, 4000.0), (passed + 60.0, 2950.0), (1e4, 2950.0)]
    assert outbound(down).verdict == "inside"
    again = [*down[:3], (passed + 70.0, 2950.0), (passed + 100.0, 3300.0), (1e4, 3300.0)]
    finding = outbound(again)
    assert (finding.verdict, finding.measured) == ("outside", pytest.approx(3300.0, abs=30.0))


def test_no_altitude_no_verdict():
    finding = outbound(None)
    assert (finding.verdict, finding.reason) == ("not assessed", "the log has no altitude")


def test_a_fix_passed_without_altitude_is_not_assessed():
    heights = [(0.0, 3000.0), (300.0, 3000.0), (500.0, 1000.0), (1e4, 1000.0)]
    track = replace(NOISY, altitude_ft=heights).of(WAY_IN)
    second = track.time_s - START_S
    track = replace(track, altitude_m=np.where((second > 405.0) & (second < 435.0), np.nan, track.altitude_m))
    (approach,) = debrief(track, straight_in(maximum_ft=2000.0).at()).approaches
    assert one_of(approach, "maximum_altitude").verdict == "not assessed"
