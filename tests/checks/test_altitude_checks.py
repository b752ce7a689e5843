"""Minimum altitudes and step-downs against the published rules: inside, outside, at the limit, and not assessed."""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import pytest
from checked import NOISY, PLAIN, all_of, debriefed, one_of
from patterns import fly_approach
from synthetic import START_S, Chart, Log, Straight, Turn, fly

from analyzer import debrief

APPROACH = fly_approach(replace(PLAIN, arrival_s=150.0, final_s=120.0))
OUT, BACK, IN = APPROACH.outbound_passage_s, APPROACH.rolled_out_s, APPROACH.inbound_passage_s
BEFORE_FINAL = {"arrival": 3000.0, "outbound": 2600.0, "reversal": 2600.0, "inbound": 1800.0}
FLOORS = {**BEFORE_FINAL, "final": 640.0}  # which is a minimum descent altitude, and has a check of its own
FPM = 700.0


def stepped(*steps: tuple[float, float], start_ft: float = 3100.0) -> list[tuple[float, float]]:
    """Altitude over time: level, then at 700 ft/min from each second to each altitude of the arguments."""
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


def test_a_correct_descent_is_inside_on_every_leg():
    approach = flown_at(GOOD)
    assert verdicts(approach, "altitude_floor") == dict.fromkeys(BEFORE_FINAL, "inside")
    lowest = {finding.leg: finding.measured for finding in all_of(approach, "altitude_floor")}
    assert lowest["arrival"] == pytest.approx(3100.0, abs=5.0)
    assert lowest["reversal"] == pytest.approx(2700.0, abs=5.0)
    assert one_of(approach, "minimum_altitude").measured == pytest.approx(750.0, abs=5.0)
    assert set(verdicts(approach, "descent_timing").values()) == {"inside"}


@pytest.mark.parametrize(
    ("above_ft", "verdict"),
    [(50.0, "inside"), (-20.0, "too close to call"), (-50.0, "outside"), (-100.0, "outside"), (-400.0, "outside")],
)
def test_nothing_is_allowed_below_the_minimum_of_the_reversal(above_ft, verdict):
    # AIM 5-4-9 a: a minimum until established inbound. The ±100 ft of FAA-S-ACS-8C IR.VI.A.S9 apply to altitudes that are held
    # and do not lower a charted minimum; up to 2 × 20 ft below it is too close to call.
    heights = stepped((OUT + 10.0, 2600.0 + above_ft), (BACK + 15.0, 1900.0))
    # of the reversal alone: one level below a minimum that two legs share counts on one of them
    finding = one_of(flown_at(heights, {"reversal": 2600.0}), "altitude_floor", leg="reversal")
    assert finding.verdict == verdict
    assert finding.measured == pytest.approx(2600.0 + above_ft, abs=5.0)
    assert finding.margin == pytest.approx(above_ft, abs=5.0)
    assert (finding.limit, finding.tolerance, finding.unit) == (2600.0, 0.0, "ft")
    assert "AIM 5-4-9 a" in finding.source


def test_each_leg_has_its_own_minimum():
    for leg, start, end in (("outbound", OUT + 60.0, OUT + 90.0), ("inbound", BACK + 100.0, BACK + 130.0)):
        dipped = [point for point in GOOD if not start - 40.0 < point[0] < end + 40.0]
        level = 2700.0 if leg == "outbound" else 1900.0
        dip = [(start - 40.0, level), (start, level - 300.0), (end, level - 300.0), (end + 40.0, level)]
        found = verdicts(flown_at(sorted([*dipped, *dip])), "altitude_floor")
        assert found == {**dict.fromkeys(BEFORE_FINAL, "inside"), leg: "outside"}


def test_the_finding_gives_place_and_time_of_the_lowest_altitude():
    bottom = APPROACH.begin("reversal_turn") + 30.0
    heights = sorted([*GOOD, (bottom - 40.0, 2700.0), (bottom, 2300.0), (bottom + 40.0, 2700.0)])
    finding = one_of(flown_at(heights), "altitude_floor", leg="reversal")
    assert finding.place is not None
    assert finding.place.time_s - START_S == pytest.approx(bottom, abs=3.0)
    assert finding.part == "reversal_turn"


AIRBORNE = [(0.0, 1400.0), (OUT - 20.0, 3050.0), (1e5, 3050.0)]


def test_the_minimum_applies_from_the_start_of_an_arrival_in_the_air():
    # from 1,400 ft at 120 kt, climbing to 3,000 ft by the fix: not a take-off, however low
    finding = one_of(flown_at(AIRBORNE), "altitude_floor", leg="arrival")
    assert finding.verdict == "outside"
    assert finding.measured == pytest.approx(1400.0, abs=5.0)
    assert finding.sentence.startswith(
        "The arrival began at 1,400 ft, 1,600 ft below the minimum of 3,000 ft, and climbed to it by "
    )
    assert finding.place is not None
    assert finding.place.time_s == START_S


def take_off(climb_s: float, level: tuple[float, float] | None = None):
    """A take-off and climb to 3,100 ft in some seconds, perhaps with level flight on the way, to the fix and a 45/180."""
    path = [
        Straight("parked", 120.0),
        Straight("roll", 30.0, 120.0),
        Straight("arrival", 300.0),
        Straight("outbound", 120.0),
        Turn("offset_turn", 45.0, 18.0),
    ]
    path += [Straight("offset_leg", 38.2), Turn("reversal_turn", -225.0, 18.0), Straight("inbound", 200.0)]
    flown = fly(path, (0.0, -10.5), 0.0, 1.0, roll_deg_s=5.0)
    heights = [(0.0, 300.0), (150.0, 300.0), *(level_at(level) if level else []), (150.0 + climb_s, 3100.0), (1e5, 3100.0)]
    return debriefed(flown, replace(NOISY, altitude_ft=heights), Chart(floors_ft=FLOORS))


def level_at(level: tuple[float, float]) -> list[tuple[float, float]]:
    height, seconds = level
    return [(180.0, height), (180.0 + seconds, height)]


def test_the_climb_after_take_off_is_not_below_the_minimum_of_the_arrival():
    finding = one_of(take_off(120.0), "altitude_floor", leg="arrival")
    assert (finding.verdict, finding.measured) == ("inside", pytest.approx(3100.0, abs=20.0))
    # with level flight below it during the climb, the log does not show what was cleared
    assert one_of(take_off(170.0, (1500.0, 60.0)), "altitude_floor", leg="arrival").verdict == "not assessed"


def test_an_arrival_that_never_reaches_its_minimum_is_outside():
    # 840 ft/min from 300 ft are 4,500 ft five minutes later; 420 ft/min are 2,400 ft
    finding = one_of(take_off(400.0), "altitude_floor", leg="arrival")
    assert finding.verdict == "outside"
    assert finding.measured == pytest.approx(2400.0, abs=100.0)


def test_the_arrival_begins_25_miles_from_the_fix():
    # AIM 5-4-5 e: minimum safe altitudes are within 25 NM; here 2,000 ft until 27 NM, or until 23 NM, before the fix
    flown = fly_approach(replace(PLAIN, arrival_s=960.0))
    for until_nm, verdict in ((27.0, "inside"), (23.0, "outside")):
        climb_s = (32.0 - until_nm) * 30.0
        heights = [(0.0, 2000.0), (climb_s - 30.0, 2000.0), (climb_s, 3100.0), (1e5, 3100.0)]
        approach = debriefed(flown, replace(NOISY, altitude_ft=heights), Chart(floors_ft={"arrival": 3000.0}))
        assert one_of(approach, "altitude_floor", leg="arrival").verdict == verdict


def test_no_charted_minimum_no_finding():
    approach = flown_at(GOOD, {"reversal": 2600.0})
    assert verdicts(approach, "altitude_floor") == {"reversal": "inside"}
    assert all_of(approach, "descent_timing") == []


def test_a_leg_without_altitude_is_not_assessed():
    approach = flown_at(None)
    assert verdicts(approach, "altitude_floor") == dict.fromkeys(BEFORE_FINAL, "not assessed")
    for finding in all_of(approach, "altitude_floor"):
        assert finding.reason
    assert set(verdicts(approach, "descent_timing").values()) == {"not assessed"}


def test_a_gap_makes_inside_not_assessed_but_leaves_outside():
    hole = (APPROACH.begin("offset_leg") + 5.0, APPROACH.begin("offset_leg") + 30.0)
    found = verdicts(flown_at(GOOD, log=replace(NOISY, hole_s=hole)), "altitude_floor")
    assert found == {**dict.fromkeys(BEFORE_FINAL, "inside"), "reversal": "not assessed"}
    low = stepped((OUT + 10.0, 2300.0), (BACK + 15.0, 1900.0))
    found = verdicts(flown_at(low, {"reversal": 2600.0}, replace(NOISY, hole_s=hole)), "altitude_floor")
    assert found["reversal"] == "outside"


def without_altitude(heights: Sequence[tuple[float, float]], begin_s: float, end_s: float):
    """The flight with no altitude logged for a while."""
    track = replace(NOISY, altitude_ft=heights).of(APPROACH.flown)
    altitude, seconds = track.altitude_m.copy(), track.time_s - START_S
    altitude[(seconds > begin_s) & (seconds < end_s)] = np.nan
    (approach,) = debrief(replace(track, altitude_m=altitude), Chart(floors_ft=FLOORS).at()).approaches
    return approach


def test_a_leg_with_missing_altitudes_is_not_inside():
    dip = (APPROACH.begin("offset_turn") + 10.0, 2000.0), (APPROACH.begin("reversal_turn") + 20.0, 2700.0)
    heights = stepped((OUT + 10.0, 2700.0), *dip, (BACK + 15.0, 1900.0))
    assert verdicts(flown_at(heights), "altitude_floor")["reversal"] == "outside"
    hidden = without_altitude(heights, APPROACH.begin("offset_turn") + 5.0, BACK + 10.0)
    assert verdicts(hidden, "altitude_floor")["reversal"] == "not assessed"


def test_legs_after_the_last_altitude_are_not_assessed():
    approach = without_altitude(GOOD, APPROACH.begin("offset_turn"), 1e9)
    found = verdicts(approach, "altitude_floor")
    assert (found["outbound"], found["inbound"]) == ("inside", "not assessed")
    assert one_of(approach, "minimum_altitude").verdict == "not assessed"
    assert one_of(approach, "speed_limit").verdict == "not assessed"


@pytest.mark.parametrize(("leg", "hole"), [("inbound", (BACK + 5.0, BACK + 60.0)), ("outbound", (OUT - 20.0, OUT + 40.0))])
def test_a_step_down_in_a_gap_is_not_assessed(leg, hole):
    approach = flown_at(GOOD, log=replace(NOISY, hole_s=hole))
    assert verdicts(approach, "descent_timing")[leg] == "not assessed"
    hidden = next(f for f in all_of(approach, "descent_timing") if f.leg == leg)
    assert hidden.sentence == f"Descent to the {leg} altitude from {3000 if leg == 'outbound' else 2600:,} ft."
    assert (hidden.measured, hidden.place) == (None, None)  # the log does not show the instant
    descent = approach.figures.descent
    assert descent is None or descent.end_s is None or descent.end_s >= descent.start_s


def left(instant_s: float, from_ft: float, low_ft: float) -> list[tuple[float, float]]:
    """Level 50 ft above an altitude, and 100 ft below it at an instant."""
    begin = instant_s - 150.0 / FPM * 60.0
    return [(begin, from_ft + 50.0), (begin + (from_ft + 50.0 - low_ft) / FPM * 60.0, low_ft)]


@pytest.mark.parametrize(
    ("after_s", "verdict"),
    [(60.0, "inside"), (15.0, "inside"), (-15.0, "not assessed"), (-60.0, "not assessed")],
)
def test_no_descent_before_the_fix(after_s, verdict):
    # AIM 5-4-9 a.2: after crossing the fix and proceeding outbound. An early descent goes below the minimum of the leg, for
    # which the event counts.
    heights = [(0.0, 3050.0), *left(OUT + after_s, 3000.0, 2700.0), (1e5, 2700.0)]
    approach = flown_at(heights, {"arrival": 3000.0, "outbound": 2600.0})
    finding = one_of(approach, "descent_timing")
    assert finding.verdict == verdict
    if after_s < 0.0:
        assert one_of(approach, "altitude_floor", leg="arrival").verdict == "outside"
        assert "follows from altitude floor (arrival)" in str(finding.reason)
    assert finding.measured == pytest.approx(after_s, abs=1.5)
    assert "AIM 5-4-9 a.2" in finding.source


@pytest.mark.parametrize(("after_s", "verdict"), [(20.0, "inside"), (-20.0, "not assessed")])
def test_no_descent_before_being_established_inbound(after_s, verdict):
    # AIM 5-4-9 a: the altitude of the procedure turn is a minimum until established inbound.
    level = flown_at(2700.0, {})
    established = level.reversal.established_s
    assert established is not None
    heights = [(0.0, 2650.0), *left(established - START_S + after_s, 2600.0, 1900.0), (1e5, 1900.0)]
    approach = flown_at(heights, {"reversal": 2600.0, "inbound": 1800.0})
    finding = one_of(approach, "descent_timing")
    assert finding.verdict == verdict
    if after_s < 0.0:  # below the minimum of the reversal while that applied: one event
        assert one_of(approach, "altitude_floor", leg="reversal").verdict == "outside"
        assert "follows from altitude floor (reversal" in str(finding.reason)
    assert finding.measured == pytest.approx(after_s, abs=1.5)
    assert finding.place is not None
    assert finding.place.time_s == pytest.approx(established + after_s, abs=1.5)
    assert "until established inbound" in finding.source


def test_equal_minimums_make_no_step_down():
    approach = flown_at(GOOD, {"outbound": 2600.0, "reversal": 2600.0, "inbound": 2600.0})
    assert all_of(approach, "descent_timing") == []


@pytest.mark.parametrize("floors", [{"arrival": 3000.0, "reversal": 2600.0}, {"arrival": 3000.0, "inbound": 1800.0}])
def test_descent_is_allowed_on_a_leg_without_a_minimum(floors):
    assert verdicts(flown_at(GOOD, floors), "descent_timing")["outbound"] == "inside"


def test_the_step_down_in_figures():
    # Left 2,700 ft 15 s after the roll-out, down to 1,900 ft at 700 ft/min; counted from 50 ft below to 50 ft above.
    descent = flown_at(GOOD).figures.descent
    assert descent is not None
    assert descent.end_s is not None
    assert descent.start_s - START_S == pytest.approx(BACK + 15.0 + 50.0 / FPM * 60.0, abs=3.0)
    assert descent.end_s - START_S == pytest.approx(BACK + 15.0 + 750.0 / FPM * 60.0, abs=3.0)


@pytest.mark.parametrize("floors", [FLOORS, {}])
def test_the_step_down_of_a_straight_in(floors):
    """Ten miles out at 3,100 ft, left at 100 s for 1,900 ft at 700 ft/min."""
    flown = fly([Straight("in", 400.0)], (0.0, 10.0), 180.0)
    approach = debriefed(flown, replace(NOISY, altitude_ft=stepped((100.0, 1900.0))), Chart(floors_ft=floors))
    descent = approach.figures.descent
    assert descent.start_s - START_S == pytest.approx(100.0 + 50.0 / FPM * 60.0, abs=3.0)
    assert descent.end_s - START_S == pytest.approx(100.0 + 1150.0 / FPM * 60.0, abs=3.0)


def test_the_beginning_of_a_step_down_is_unknown_if_the_log_begins_in_it():
    flown = fly([Straight("in", 400.0)], (0.0, 10.0), 180.0)
    falling = [(-60.0, 3800.0), (160.0, 3800.0 - 220.0 / 60.0 * FPM), (1e5, 3800.0 - 220.0 / 60.0 * FPM)]
    assert debriefed(flown, replace(NOISY, altitude_ft=falling), Chart(floors_ft=FLOORS)).figures.descent is None


def test_an_altitude_never_reached_is_not_assessed():
    for heights in (stepped(start_ft=2700.0), stepped((OUT + 20.0, 3100.0), start_ft=2700.0)):
        finding = next(f for f in all_of(flown_at(heights), "descent_timing") if "outbound" in f.sentence)
        assert (finding.verdict, finding.place) == ("not assessed", None)
        assert "was never reached" in str(finding.reason)


def test_an_altitude_left_on_an_earlier_leg_is_reported_there():
    early = flown_at(stepped((OUT + 10.0, 1900.0)))
    finding = next(f for f in all_of(early, "descent_timing") if "inbound altitude" in f.sentence)
    assert (finding.verdict, finding.part) == ("not assessed", "outbound")  # one event, which the minimum outbound counts for
    assert "follows from altitude floor (outbound)" in str(finding.reason)
    # from 3,100 ft at 700 ft a minute, 2,500 ft is passed 51 s after the descent began
    assert finding.place is not None
    assert finding.place.time_s - START_S == pytest.approx(OUT + 10.0 + 51.4, abs=1.0)
