"""Minimum altitudes and step-downs against the published rules: inside, outside, at the limit, and not to be told."""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import pytest
from checked import NOISY, PLAIN, all_of, debriefed, one_of
from patterns import fly_approach
from synthetic import START_S, Chart, Log, Straight, fly

from analyzer import debrief

APPROACH = fly_approach(replace(PLAIN, arrival_s=150.0, final_s=120.0))
OUT, BACK, IN = APPROACH.outbound_passage_s, APPROACH.rolled_out_s, APPROACH.inbound_passage_s
FLOORS = {"arrival": 3000.0, "outbound": 2600.0, "reversal": 2600.0, "inbound": 1800.0, "final": 640.0}
FPM = 700.0


def stepped(*steps: tuple[float, float], start_ft: float = 3100.0) -> list[tuple[float, float]]:
    """Height over time: level, then down (or up) at 700 ft/min from each second given to each height given."""
    points, height = [(0.0, start_ft)], start_ft
    for second, feet in steps:
        points += [(second, height), (second + abs(feet - height) / FPM * 60.0, feet)]
        height = feet
    return [*points, (1e5, height)]


GOOD = stepped((OUT + 10.0, 2700.0), (BACK + 15.0, 1900.0), (IN + 10.0, 750.0))


def flown_at(heights: Sequence[tuple[float, float]] | float | None, floors: dict[str, float] = FLOORS, log: Log = NOISY):
    return debriefed(APPROACH, replace(log, altitude_ft=heights), Chart(floors_ft=floors))


def verdicts(approach, check: str) -> dict[str, str]:
    return {finding.leg: finding.verdict for finding in all_of(approach, check)}


def test_a_good_descent_is_inside_everywhere():
    approach = flown_at(GOOD)
    assert verdicts(approach, "altitude_floor") == dict.fromkeys(FLOORS, "inside")
    lowest = {finding.leg: finding.measured for finding in all_of(approach, "altitude_floor")}
    assert lowest["arrival"] == pytest.approx(3100.0, abs=5.0)
    assert lowest["reversal"] == pytest.approx(2700.0, abs=5.0)
    assert lowest["final"] == pytest.approx(750.0, abs=5.0)
    assert set(verdicts(approach, "descent_timing").values()) == {"inside"}


@pytest.mark.parametrize(
    ("above_ft", "verdict"),
    [(50.0, "inside"), (-50.0, "inside"), (-100.0, "too close to call"), (-150.0, "outside"), (-400.0, "outside")],
)
def test_a_hundred_feet_below_the_minimum_of_the_reversal(above_ft, verdict):
    # FAA-S-ACS-8C IR.VI.A.S9: ±100 ft before the final segment; AIM 5-4-9 a: a minimum until established inbound.
    heights = stepped((OUT + 10.0, 2600.0 + above_ft), (BACK + 15.0, 1900.0))
    finding = one_of(flown_at(heights), "altitude_floor", leg="reversal")
    assert finding.verdict == verdict
    assert finding.measured == pytest.approx(2600.0 + above_ft, abs=5.0)
    assert finding.margin == pytest.approx(above_ft + 100.0, abs=5.0)
    assert (finding.limit, finding.tolerance, finding.unit) == (2600.0, 100.0, "ft")
    assert "ACS-8C" in finding.source


def test_each_leg_has_its_own_minimum():
    for leg, start, end in (("outbound", OUT + 60.0, OUT + 90.0), ("inbound", BACK + 100.0, BACK + 130.0)):
        dipped = [point for point in GOOD if not start - 40.0 < point[0] < end + 40.0]
        level = 2700.0 if leg == "outbound" else 1900.0
        dip = [(start - 40.0, level), (start, level - 300.0), (end, level - 300.0), (end + 40.0, level)]
        found = verdicts(flown_at(sorted([*dipped, *dip])), "altitude_floor")
        assert found == {**dict.fromkeys(FLOORS, "inside"), leg: "outside"}


def test_where_it_was_lowest():
    bottom = APPROACH.begin("reversal_turn") + 30.0
    heights = sorted([*GOOD, (bottom - 40.0, 2700.0), (bottom, 2300.0), (bottom + 40.0, 2700.0)])
    finding = one_of(flown_at(heights), "altitude_floor", leg="reversal")
    assert finding.place is not None
    assert finding.place.time_s - START_S == pytest.approx(bottom, abs=3.0)
    assert finding.part == "reversal_turn"


@pytest.mark.parametrize(("height_ft", "verdict"), [(750.0, "inside"), (690.0, "inside"), (500.0, "not assessed")])
def test_the_minimum_descent_altitude(height_ft, verdict):
    # FAA-S-ACS-8C IR.VI.A.S12: +100/-0 ft; with the runway in sight one may go below it, which a log does not tell.
    heights = stepped((OUT + 10.0, 2700.0), (BACK + 15.0, 1900.0), (IN + 5.0, height_ft))
    finding = one_of(flown_at(heights), "altitude_floor", leg="final")
    assert finding.verdict == verdict
    assert finding.tolerance == 0.0
    if verdict == "not assessed":
        assert finding.reason is not None
        assert "runway in sight" in finding.reason


def test_the_climb_before_the_arrival_is_not_below_its_minimum():
    climb = [(0.0, 500.0), (60.0, 3100.0), *GOOD[1:]]
    assert one_of(flown_at(climb), "altitude_floor", leg="arrival").verdict == "inside"


def test_no_charted_minimum_no_finding():
    approach = flown_at(GOOD, {"reversal": 2600.0})
    assert verdicts(approach, "altitude_floor") == {"reversal": "inside"}
    assert all_of(approach, "descent_timing") == []


def test_no_altitude_is_no_pass():
    approach = flown_at(None)
    assert verdicts(approach, "altitude_floor") == dict.fromkeys(FLOORS, "not assessed")
    for finding in all_of(approach, "altitude_floor"):
        assert finding.reason
    assert set(verdicts(approach, "descent_timing").values()) == {"not assessed"}


def test_a_gap_in_a_leg_takes_its_pass_but_not_what_was_seen():
    hole = (APPROACH.begin("offset_leg") + 5.0, APPROACH.begin("offset_leg") + 30.0)
    found = verdicts(flown_at(GOOD, log=replace(NOISY, hole_s=hole)), "altitude_floor")
    assert found == {**dict.fromkeys(FLOORS, "inside"), "reversal": "not assessed"}
    low = stepped((OUT + 10.0, 2300.0), (BACK + 15.0, 1900.0))
    found = verdicts(flown_at(low, log=replace(NOISY, hole_s=hole)), "altitude_floor")
    assert found["reversal"] == "outside"


def without_altitude(heights: Sequence[tuple[float, float]], begin_s: float, end_s: float):
    """The same, with no altitude logged for a while."""
    track = replace(NOISY, altitude_ft=heights).of(APPROACH.flown)
    altitude, seconds = track.altitude_m.copy(), track.time_s - START_S
    altitude[(seconds > begin_s) & (seconds < end_s)] = np.nan
    (approach,) = debrief(replace(track, altitude_m=altitude), Chart(floors_ft=FLOORS).at()).approaches
    return approach


def test_a_dip_where_no_altitude_was_logged_is_not_a_pass():
    dip = (APPROACH.begin("offset_turn") + 10.0, 2000.0), (APPROACH.begin("reversal_turn") + 20.0, 2700.0)
    heights = stepped((OUT + 10.0, 2700.0), *dip, (BACK + 15.0, 1900.0))
    assert verdicts(flown_at(heights), "altitude_floor")["reversal"] == "outside"
    hidden = without_altitude(heights, APPROACH.begin("offset_turn") + 5.0, BACK + 10.0)
    assert verdicts(hidden, "altitude_floor")["reversal"] == "not assessed"


def test_legs_after_the_last_altitude_are_not_assessed():
    approach = without_altitude(GOOD, APPROACH.begin("offset_turn"), 1e9)
    found = verdicts(approach, "altitude_floor")
    assert (found["outbound"], found["inbound"], found["final"]) == ("inside", "not assessed", "not assessed")
    assert one_of(approach, "speed_limit").verdict == "not assessed"


@pytest.mark.parametrize(("leg", "hole"), [("inbound", (BACK + 5.0, BACK + 60.0)), ("outbound", (OUT - 20.0, OUT + 40.0))])
def test_a_step_down_in_a_gap_is_not_assessed(leg, hole):
    approach = flown_at(GOOD, log=replace(NOISY, hole_s=hole))
    assert verdicts(approach, "descent_timing")[leg] == "not assessed"
    descent = approach.figures.descent
    assert descent is None or descent.end_s is None or descent.end_s >= descent.start_s


def left(instant_s: float, from_ft: float, low_ft: float) -> list[tuple[float, float]]:
    """Level at 50 ft above a height, which is left by 100 ft below it at the instant given."""
    begin = instant_s - 150.0 / FPM * 60.0
    return [(begin, from_ft + 50.0), (begin + (from_ft + 50.0 - low_ft) / FPM * 60.0, low_ft)]


@pytest.mark.parametrize(
    ("after_s", "verdict"),
    [(60.0, "inside"), (15.0, "inside"), (0.0, "too close to call"), (-15.0, "outside"), (-60.0, "outside")],
)
def test_the_descent_waits_for_the_fix(after_s, verdict):
    # AIM 5-4-9 a.2: after crossing the fix and proceeding outbound.
    heights = [(0.0, 3050.0), *left(OUT + after_s, 3000.0, 2700.0), (1e5, 2700.0)]
    finding = one_of(flown_at(heights, {"arrival": 3000.0, "outbound": 2600.0}), "descent_timing")
    assert finding.verdict == verdict
    assert finding.measured == pytest.approx(after_s, abs=1.5)
    assert "AIM 5-4-9 a.2" in finding.source


@pytest.mark.parametrize(("after_s", "verdict"), [(20.0, "inside"), (0.0, "too close to call"), (-20.0, "outside")])
def test_the_descent_waits_until_established_inbound(after_s, verdict):
    # AIM 5-4-9 a: the altitude of the procedure turn is a minimum until established inbound.
    level = flown_at(2700.0, {})
    established = level.reversal.established_s
    assert established is not None
    heights = [(0.0, 2650.0), *left(established - START_S + after_s, 2600.0, 1900.0), (1e5, 1900.0)]
    finding = one_of(flown_at(heights, {"reversal": 2600.0, "inbound": 1800.0}), "descent_timing")
    assert finding.verdict == verdict
    assert finding.measured == pytest.approx(after_s, abs=1.5)
    assert finding.place is not None
    assert finding.place.time_s == pytest.approx(established + after_s, abs=1.5)
    assert "until established inbound" in finding.source


def test_equal_minima_make_no_step_down():
    approach = flown_at(GOOD, {"outbound": 2600.0, "reversal": 2600.0, "inbound": 2600.0})
    assert all_of(approach, "descent_timing") == []


@pytest.mark.parametrize("floors", [{"arrival": 3000.0, "reversal": 2600.0}, {"arrival": 3000.0, "inbound": 1800.0}])
def test_a_leg_without_a_minimum_may_be_descended_in(floors):
    assert verdicts(flown_at(GOOD, floors), "descent_timing")["outbound"] == "inside"


def test_the_step_down_in_figures():
    # Left 2,700 ft 15 s after the roll-out, down to 1,900 ft at 700 ft/min; counted from 50 ft below to 50 ft above.
    descent = flown_at(GOOD).figures.descent
    assert descent is not None
    assert descent.end_s is not None
    assert descent.start_s - START_S == pytest.approx(BACK + 15.0 + 50.0 / FPM * 60.0, abs=3.0)
    assert descent.end_s - START_S == pytest.approx(BACK + 15.0 + 750.0 / FPM * 60.0, abs=3.0)
    assert (descent.from_m / 0.3048, descent.to_m / 0.3048) == (
        pytest.approx(2700.0, abs=20.0),
        pytest.approx(1900.0, abs=20.0),
    )


@pytest.mark.parametrize("floors", [FLOORS, {}])
def test_the_step_down_of_a_straight_in(floors):
    """Ten miles out at 3,100 ft, left at 100 s for 1,900 ft at 700 ft/min."""
    flown = fly([Straight("in", 400.0)], (0.0, 10.0), 180.0)
    approach = debriefed(flown, replace(NOISY, altitude_ft=stepped((100.0, 1900.0))), Chart(floors_ft=floors))
    descent = approach.figures.descent
    assert descent.start_s - START_S == pytest.approx(100.0 + 50.0 / FPM * 60.0, abs=3.0)
    assert descent.end_s - START_S == pytest.approx(100.0 + 1150.0 / FPM * 60.0, abs=3.0)


def test_a_log_that_begins_in_the_step_down_does_not_tell_when_it_began():
    flown = fly([Straight("in", 400.0)], (0.0, 10.0), 180.0)
    falling = [(-60.0, 3800.0), (160.0, 3800.0 - 220.0 / 60.0 * FPM), (1e5, 3800.0 - 220.0 / 60.0 * FPM)]
    assert debriefed(flown, replace(NOISY, altitude_ft=falling), Chart(floors_ft=FLOORS)).figures.descent is None


def test_level_below_the_minimum_of_the_arrival_is_no_climb_after_take_off():
    low = [(0.0, 2500.0), (OUT - 20.0, 2500.0), (OUT - 2.0, 3050.0), (1e5, 3050.0)]
    assert one_of(flown_at(low), "altitude_floor", leg="arrival").verdict == "not assessed"
    climbing = [(0.0, 1400.0), (OUT - 20.0, 3050.0), (1e5, 3050.0)]
    assert one_of(flown_at(climbing), "altitude_floor", leg="arrival").verdict == "inside"


def test_an_altitude_never_reached_was_not_left():
    for heights in (stepped(start_ft=2700.0), stepped((OUT + 20.0, 3100.0), start_ft=2700.0)):
        finding = next(f for f in all_of(flown_at(heights), "descent_timing") if "outbound" in f.sentence)
        assert (finding.verdict, finding.place) == ("not assessed", None)
        assert "not reached before" in str(finding.reason)


def test_an_altitude_left_in_an_earlier_leg_is_dated_there():
    early = flown_at(stepped((OUT + 10.0, 1900.0)))
    finding = next(f for f in all_of(early, "descent_timing") if "inbound altitude" in f.sentence)
    assert (finding.verdict, finding.part) == ("outside", "outbound")
    # from 3,100 ft at 700 ft a minute, 2,500 ft is passed 51 s after the descent began
    assert finding.place is not None
    assert finding.place.time_s - START_S == pytest.approx(OUT + 10.0 + 51.4, abs=1.0)
