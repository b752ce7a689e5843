"""A hold of more than one circuit: every circuit counts, and each part belongs to its own leg."""

from dataclasses import replace
from itertools import pairwise

import pytest
from checked import NOISY, all_of, debriefed, one_of
from synthetic import START_S, Chart, Flown, Segment, Straight, Turn, fly, standard_rate_bank

BANK = standard_rate_bank(120.0)
# 50 ft below what is flown: a charted minimum has no tolerance (AIM 5-4-9 a)
FLOORS = {"arrival": 2950.0, "outbound": 2950.0, "reversal": 2950.0, "inbound": 2450.0}
HOLD = Chart(side=None, within_nm=5.0, floors_ft=FLOORS, reversal={"kind": "hold", "turn": "right", "leg_time_s": 60.0})


def circuits(*legs_s: float) -> Flown:
    """A direct entry and circuits to the right, each with its own time outbound."""
    path: list[Segment] = [Straight("arrival", 90.0)]
    for number, leg in enumerate(legs_s):
        path += [Turn(f"away{number}", 180.0, BANK), Straight(f"out{number}", leg)]
        path += [Turn(f"back{number}", 180.0, BANK), Straight(f"in{number}", leg)]
    return fly([*path, Straight("final", 60.0)], (0.0, 3.0), 180.0)


def test_the_farthest_circuit_counts():
    flown = circuits(60.0, 300.0)
    finding = one_of(debriefed(flown, chart=HOLD), "distance_limit")
    assert finding.measured == pytest.approx(float(flown.distance_nm.max()), abs=0.01)
    assert finding.verdict == "outside"


def test_circuits_are_contiguous():
    flown = circuits(60.0, 80.0)
    parts = debriefed(flown, chart=HOLD).reversal.parts
    assert all(part.end_s == then.start_s for part, then in pairwise(parts))
    turns = [part.start_s - START_S for part in parts if part.name == "entry_turn"]
    assert turns == pytest.approx([flown.begins["away0"], flown.begins["away1"]], abs=2.0)


def test_a_circuit_that_the_log_ends_in_is_not_assessed():
    flown = circuits(60.0, 60.0)
    approach = debriefed(flown, replace(NOISY, end_s=flown.begins["back1"] + 30.0), HOLD)
    assert approach.reversal.established_s is None
    for check in ("distance_limit", "speed_limit", "inbound_course", "intercept"):
        assert one_of(approach, check).verdict == "not assessed"


def test_a_low_altitude_belongs_to_the_inbound_leg_it_was_flown_on():
    flown = circuits(60.0, 60.0)
    low = flown.begins["in0"]
    heights = [(0.0, 3000.0), (low + 2.0, 3000.0), (low + 28.0, 2600.0), (low + 32.0, 2600.0), (low + 56.0, 3000.0)]
    heights += [(flown.begins["in1"] + 5.0, 3000.0), (flown.begins["in1"] + 45.0, 2500.0), (1e5, 2500.0)]
    approach = debriefed(flown, replace(NOISY, altitude_ft=heights), HOLD)
    assert len(approach.reversal.leg_spans("outbound")) == 2
    assert {finding.leg: finding.verdict for finding in all_of(approach, "altitude_floor")} == dict.fromkeys(FLOORS, "inside")


def test_established_first_after_the_entry_and_last_after_the_circuits():
    flown = circuits(60.0, 60.0, 60.0)
    reversal = debriefed(flown, chart=HOLD).reversal
    # tracking within 15° of the course, 5 s before the end of a turn of 3° a second
    assert reversal.first_established_s - START_S == pytest.approx(flown.begins["in0"] - 5.0, abs=1.0)
    assert reversal.established_s - START_S == pytest.approx(flown.begins["in2"] - 5.0, abs=1.0)


def test_the_worst_circuit_is_overshot_by_its_own_turn():
    """One turn is stopped 30° short of the inbound heading: straight across the course, then back onto it."""
    path: list[Segment] = [Straight("arrival", 90.0)]
    for number, late in enumerate((False, True, False)):
        path += [Turn(f"away{number}", 180.0, BANK), Straight(f"out{number}", 120.0)]
        if late:
            path += [Turn("back", 150.0, BANK), Straight("on", 40.0), Turn("over", 60.0, BANK), Straight("again", 40.0)]
            path += [Turn("home", -30.0, BANK), Straight(f"in{number}", 51.0)]
        else:
            path += [Turn(f"back{number}", 180.0, BANK), Straight(f"in{number}", 120.0)]
    flown = fly([*path, Straight("final", 60.0)], (0.0, 3.0), 180.0)
    approach = debriefed(flown, chart=HOLD)
    late = (flown.time_s > flown.begins["back"]) & (flown.time_s < flown.begins["in1"])
    farthest = float(flown.x_nm[late].max())
    assert farthest > 0.3
    assert approach.figures.overshoot_m / 1852.0 == pytest.approx(farthest, abs=0.02)


def test_a_gap_in_the_turn_of_any_circuit_makes_the_intercept_not_assessed():
    flown = circuits(60.0, 60.0)
    for number in (0, 1):
        begin = flown.begins[f"back{number}"]
        approach = debriefed(flown, replace(NOISY, hole_s=(begin + 20.0, begin + 45.0)), HOLD)
        assert one_of(approach, "intercept").verdict == "not assessed"
    assert one_of(debriefed(flown, chart=HOLD), "intercept").verdict == "inside"


@pytest.mark.parametrize("faf_nm", [None, 1.5, -0.5])
def test_an_inbound_leg_is_timed_to_the_fix_of_the_hold_wherever_the_final_approach_fix_is(faf_nm):
    # AIM 5-3-8 j.4: the inbound leg is that to the holding fix; the leg of the approach ends at the final approach fix.
    fixes = [{"name": "TARRO", "role": "final-approach-fix", "distance_nm": faf_nm}] if faf_nm is not None else []
    flown = circuits(60.0, 62.0)
    timed = all_of(debriefed(flown, chart=replace(HOLD, tables={"fixes": fixes})), "hold_timing")
    inbound = [finding for finding in timed if finding.part == "inbound"]
    assert [finding.measured for finding in inbound] == [pytest.approx(62.0, abs=2.0)]
    assert [finding.verdict for finding in inbound] == ["inside"]


@pytest.mark.parametrize(("early_s", "arrival"), [(0.0, "not assessed"), (-60.0, "outside")])
def test_a_lap_that_a_gap_hides_the_end_of_is_not_low_on_the_arrival(early_s, arrival):
    # down to the altitude of the hold past the fix; the log has a hole from the turn inbound to the next turn outbound, so that
    # only the second lap is recognised. What was low before the fix was first passed is low on the arrival all the same.
    flown = circuits(60.0, 60.0)
    down = flown.begins["away0"] + 10.0 + early_s
    heights = [(0.0, 3000.0), (down, 3000.0), (down + 40.0, 2500.0), (1e5, 2500.0)]
    hole = flown.begins["back0"] + 20.0, flown.begins["away1"] + 20.0
    floors = {"arrival": 2950.0, "outbound": 2450.0, "reversal": 2450.0, "inbound": 2450.0}
    log = replace(NOISY, altitude_ft=heights, hole_s=hole)
    approach = debriefed(flown, log, replace(HOLD, floors_ft=floors))
    assert approach.reversal.parts[0].end_s - START_S > flown.begins["out0"]
    finding = one_of(approach, "altitude_floor", leg="arrival")
    assert finding.verdict == arrival
    assert ("first passed" in str(finding.reason)) == (arrival == "not assessed")
    assert {one.verdict for one in all_of(approach, "descent_timing")} <= {"not assessed"}
