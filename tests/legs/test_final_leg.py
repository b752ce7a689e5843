"""Where the final leg begins and ends, and what it ends in: flights home from a 45/180 or straight in, to charted fixes.

All fly at 120 kt, two miles a minute, so that distances along the course are half minutes from the passage of the fix.
"""

import re
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from checked import NOISY, one_of
from found import ends, found, starts
from patterns import Pattern, fly_approach
from synthetic import HERE, START_S, Chart, Flown, Log, Straight, Turn, fly

from analyzer import debrief
from analyzer.legs.reversal import Reversal

APPROACH = fly_approach(Pattern(roll_deg_s=5.0, outbound_s=240.0, final_s=170.0))
BACK, IN = APPROACH.rolled_out_s, APPROACH.inbound_passage_s
A_MILE_S = 30.0  # at 120 kt


def fix(role: str, distance_nm: float, name: str = "TARRO", **keys: Any) -> dict[str, Any]:
    return {"name": name, "role": role, "distance_nm": distance_nm, **keys}


def runway(along_nm: float, elevation_ft: float = 500.0) -> dict[str, Any]:
    """A runway on the inbound course, its threshold so far beyond the fix."""
    latitude, longitude = HERE.lay(np.array([0.0]), np.array([-along_nm]))
    heading = (HERE.outbound_true_deg + 180.0) % 360.0
    where = {"threshold_latitude_deg": float(latitude[0]), "threshold_longitude_deg": float(longitude[0])}
    return {"name": "24", "threshold_elevation_ft": elevation_ft, "true_heading_deg": heading, **where}


def of(flown: Flown = APPROACH.flown, log: Log = NOISY, **tables: Any) -> Reversal:
    (reversal,) = found(flown, log, chart=Chart(tables=tables))
    return reversal


def final_begins(reversal: Reversal) -> float:
    return reversal.leg_spans("final")[0][0] - START_S


def test_it_begins_at_the_final_approach_fix_beyond_the_reversal_fix():
    reversal = of(fixes=[fix("final-approach-fix", 2.0)], runway=runway(6.0))
    assert final_begins(reversal) == pytest.approx(IN + 2.0 * A_MILE_S, abs=0.5)
    assert reversal.leg_spans("inbound")[-1][1] == reversal.leg_spans("final")[0][0]


def test_it_begins_at_the_final_approach_fix_before_a_facility_on_the_field():
    reversal = of(fixes=[fix("final-approach-fix", -4.0)], runway=runway(-0.5))
    assert final_begins(reversal) == pytest.approx(IN - 4.0 * A_MILE_S, abs=0.5)
    assert starts(reversal)["final"] == pytest.approx(IN - 4.0 * A_MILE_S, abs=0.5)


def test_without_one_it_begins_at_the_reversal_fix():
    reversal = of(runway=runway(5.0))
    assert final_begins(reversal) == pytest.approx(IN, abs=0.5)
    # an intermediate fix is none
    assert final_begins(of(fixes=[fix("intermediate-fix", 2.0)], runway=runway(5.0))) == pytest.approx(IN, abs=0.5)


@pytest.mark.parametrize("threshold_nm", [-0.7, 0.8])
def test_on_the_field_without_one_it_begins_when_established(threshold_nm):
    # before the fix, or within a mile of it: whichever part is flown there stays inbound up to the fix
    reversal = of(runway=runway(threshold_nm))
    inbound = reversal.part("inbound")
    assert inbound is not None
    assert reversal.established_s is not None
    assert (inbound.name, inbound.leg) == ("inbound", "final")
    assert inbound.start_s == pytest.approx(reversal.established_s, abs=15.0)
    assert inbound.end_s - START_S == pytest.approx(IN, abs=1.0)
    assert reversal.leg_spans("inbound") == ()
    assert final_begins(reversal) < BACK + 15.0


def test_a_threshold_more_than_a_mile_beyond_is_not_on_the_field():
    reversal = of(runway=runway(1.2))
    assert final_begins(reversal) == pytest.approx(IN, abs=0.5)
    assert len(reversal.leg_spans("inbound")) == 1


def heights(*points: tuple[float, float]) -> Log:
    """A log with a height in feet at seconds after the passage of the fix inbound, straight between them."""
    return replace(NOISY, altitude_ft=[(0.0, points[0][1]), *((IN + second, feet) for second, feet in points)])


RUNWAY = {"runway": runway(5.0)}
TO_THE_RUNWAY = heights((0.0, 2100.0), (150.0, 550.0), (170.0, 505.0))


def test_a_landing():
    reversal = of(log=TO_THE_RUNWAY, **RUNWAY)
    assert reversal.ending == "reached the runway"
    assert ends(reversal)["final"] == pytest.approx(IN + 170.0, abs=1.5)


@pytest.mark.parametrize(
    ("gained_ft", "ending"), [(190.0, "log ends"), (150.0, "log ends"), (215.0, "climbed away"), (600.0, "climbed away")]
)
def test_a_climb_of_two_hundred_feet_ends_it_and_one_of_less_does_not(gained_ft, ending):
    climb = heights((0.0, 2000.0), (60.0, 1000.0), (100.0, 1000.0), (130.0, 1000.0 + gained_ft), (170.0, 1000.0 + gained_ft))
    reversal = of(log=climb, **RUNWAY)
    assert reversal.ending == ending
    begun = IN + 100.0 if ending == "climbed away" else IN + 170.0
    # up to 30 ft above the lowest is level still, which the climb takes 6 s for at the slowest
    assert begun - 1.5 < ends(reversal)["final"] < begun + 6.0


@pytest.mark.parametrize(("before_nm", "ending"), [(2.5, "log ends"), (1.0, "log ends"), (0.3, "reached the runway")])
def test_low_short_of_the_runway_is_no_landing(before_nm, ending):
    """50 ft above the threshold, and the log ends; a path of 2° is 100 ft above it half a mile before it."""
    there_s = (5.0 - before_nm) * A_MILE_S
    low = replace(heights((0.0, 2100.0), (there_s - 5.0, 550.0), (there_s, 550.0)), end_s=IN + there_s)
    assert of(log=low, **RUNWAY).ending == ending


@pytest.mark.parametrize(("final_kt", "ending"), [(30.0, "reached the runway"), (45.0, "log ends")])
def test_where_no_runway_is_charted_slow_is_landed(final_kt, ending):
    # 18 m/s are 35 kt, slower than any of these aircraft flies (common practice, no source)
    path = fly([Straight("inbound", 330.0), Straight("slowing", 60.0, final_kt), Straight("slow", 60.0)], (0.0, 10.0), 180.0)
    assert of(path, replace(NOISY, altitude_ft=600.0)).ending == ending


def test_who_climbs_all_the_way_from_the_fix_went_around_there():
    climbing = heights((-200.0, 1500.0), (-60.0, 1500.0), (170.0, 1500.0 + 230.0 / 60.0 * 500.0))
    reversal = of(log=climbing, **RUNWAY)
    assert reversal.ending == "climbed away"
    assert ends(reversal)["final" if reversal.part("final") is not None else "inbound"] == pytest.approx(IN, abs=2.0)


def test_a_descent_after_a_level_off_is_no_climb():
    steps = heights((0.0, 2000.0), (40.0, 1400.0), (80.0, 1400.0), (120.0, 800.0), (170.0, 800.0))
    assert of(log=steps, **RUNWAY).ending == "log ends"


@pytest.mark.parametrize(("turn_deg", "ends_it"), [(40.0, False), (50.0, True), (-50.0, True), (90.0, True)])
def test_turning_off_by_more_than_forty_five_degrees_ends_it(turn_deg, ends_it):
    away = fly([Straight("inbound", 360.0), Turn("off", turn_deg, 18.0), Straight("away", 260.0)], (0.0, 10.0), 180.0)
    reversal = of(away, replace(NOISY, altitude_ft=1500.0), **RUNWAY)
    assert reversal.ending == ("turned away" if ends_it else "log ends")
    if ends_it:
        # at the standard-rate bank of 18° at 120 kt: 2.9° a second
        assert ends(reversal)["final"] == pytest.approx(360.0 + 45.0 / 2.96, abs=2.0)


def test_who_turns_off_and_climbs_within_three_minutes_went_around():
    away = fly([Straight("inbound", 360.0), Turn("off", 90.0, 18.0), Straight("away", 260.0)], (0.0, 10.0), 180.0)
    climbing = replace(NOISY, altitude_ft=[(0.0, 1500.0), (420.0, 1500.0), (480.0, 2300.0)])
    assert of(away, climbing, **RUNWAY).ending == "climbed away"
    later = replace(NOISY, altitude_ft=[(0.0, 1500.0), (585.0, 1500.0), (640.0, 2300.0)])
    assert of(away, later, **RUNWAY).ending == "turned away"


def test_a_log_that_breaks_off():
    # the course is left in the gap
    away = fly([Straight("inbound", 360.0), Turn("off", 90.0, 18.0), Straight("away", 260.0)], (0.0, 10.0), 180.0)
    broken = of(away, replace(NOISY, altitude_ft=1500.0, hole_s=(350.0, 410.0)), **RUNWAY)
    assert broken.ending == "log breaks off"
    assert broken.parts[-1].end_s - START_S == pytest.approx(350.0, abs=1.0)


def test_a_gap_whose_ends_fit_one_flight_along_the_course_is_no_end():
    gap = replace(TO_THE_RUNWAY, hole_s=(IN + 60.0, IN + 120.0))
    assert of(log=gap, **RUNWAY).ending == "reached the runway"


def test_a_log_that_ends_on_it():
    assert of(log=replace(TO_THE_RUNWAY, end_s=IN + 60.0), **RUNWAY).ending == "log ends"


def test_an_approach_that_never_comes_to_its_final_approach_fix_has_no_final_leg():
    reversal = of(log=replace(NOISY, end_s=IN + 45.0), fixes=[fix("final-approach-fix", 2.0)], runway=runway(6.0))
    assert reversal.part("final") is None
    assert reversal.ending is None
    assert reversal.leg_spans("final") == ()
    parts = ["arrival", "outbound", "offset_turn", "offset_leg", "reversal_turn", "inbound"]
    assert [part.name for part in reversal.parts] == parts
    assert ends(reversal)["inbound"] == pytest.approx(IN + 45.0, abs=1.0)  # past the reversal fix it goes on inbound


def test_turning_off_before_the_final_approach_fix_is_no_final_leg():
    away = fly([Straight("inbound", 330.0), Turn("off", 90.0, 18.0), Straight("away", 120.0)], (0.0, 10.0), 180.0)
    reversal = of(away, fixes=[fix("final-approach-fix", 2.0)], runway=runway(6.0))
    assert (reversal.part("final"), reversal.ending) == (None, None)
    assert ends(reversal)["inbound"] == pytest.approx(330.0 + 45.0 / 2.96, abs=3.0)


@pytest.mark.parametrize("end_s", [IN - 60.0, IN + 20.0, IN + 100.0, IN + 170.0])
@pytest.mark.parametrize("tables", [{}, RUNWAY, {"fixes": [fix("final-approach-fix", 2.0)]}, {"runway": runway(-0.5)}])
def test_the_parts_follow_one_another_without_overlap(end_s, tables):
    reversal = of(log=replace(TO_THE_RUNWAY, end_s=end_s), **tables)
    for before, after in zip(reversal.parts, reversal.parts[1:], strict=False):
        assert before.start_s < before.end_s <= after.start_s + 1e-6
    assert reversal.parts[-1].end_s <= START_S + end_s + 1e-6


@pytest.mark.parametrize("turn_deg", [360.0, -360.0])
def test_an_orbit_on_final_does_not_end_it(turn_deg):
    """A full circle for spacing, and on to the runway: what is flown after it is still the final leg."""
    path = fly([Straight("inbound", 360.0), Turn("orbit", turn_deg, 18.0), Straight("on", 90.0)], (0.0, 10.0), 180.0)
    down = replace(NOISY, altitude_ft=[(0.0, 2000.0), (300.0, 2000.0), (360.0, 1400.0), (480.0, 1400.0), (560.0, 520.0)])
    reversal = of(path, down, **RUNWAY)
    assert reversal.ending == "reached the runway"
    assert ends(reversal)["final"] == pytest.approx(float(path.time_s[-1]), abs=1.5)


@pytest.mark.parametrize("cut_deg", [50.0, 60.0])
def test_a_large_correction_on_final_does_not_end_it(cut_deg):
    """Off by some 50° for a quarter of a minute, and back onto the course: an S, not the end of an approach."""
    path = fly(
        [
            Straight("inbound", 345.0), Turn("off", cut_deg, 18.0), Straight("away", 5.0), Turn("back", -2.0 * cut_deg, 18.0),
            Straight("closing", 5.0), Turn("on", cut_deg, 18.0), Straight("final", 60.0),
        ],
        (0.0, 10.0), 180.0,
    )  # fmt: skip
    down = replace(NOISY, altitude_ft=[(0.0, 1800.0), (330.0, 1800.0), (float(path.time_s[-1]), 560.0)])
    reversal = of(path, down, **RUNWAY)
    assert reversal.ending in ("reached the runway", "log ends")
    assert ends(reversal)["final"] == pytest.approx(float(path.time_s[-1]), abs=1.5)


def test_who_goes_around_and_comes_back_to_the_course_ended_the_first():
    """A climbing turn all round to the course again, higher up: the approach ended where the climb began."""
    path = fly([Straight("inbound", 360.0), Turn("round", 360.0, 18.0), Straight("on", 120.0)], (0.0, 10.0), 180.0)
    up = replace(NOISY, altitude_ft=[(0.0, 1500.0), (360.0, 1000.0), (480.0, 2500.0), (600.0, 2500.0)])
    reversal = of(path, up, **RUNWAY)
    assert reversal.ending == "climbed away"
    assert ends(reversal)["final"] == pytest.approx(360.0, abs=8.0)


def test_a_correcting_climb_before_a_landing_is_no_missed_approach():
    """Too low by 300 ft, up again, and down to the runway: a climb counts that is not followed by a landing."""
    low = heights((0.0, 2000.0), (40.0, 900.0), (60.0, 900.0), (85.0, 1200.0), (100.0, 1200.0), (150.0, 560.0), (165.0, 505.0))
    reversal = of(log=low, **RUNWAY)
    assert reversal.ending == "reached the runway"
    assert ends(reversal)["final"] == pytest.approx(IN + 170.0, abs=1.5)


def test_a_missed_approach_after_a_dip_begins_where_its_own_climb_does():
    """150 ft down and up again, level for a minute, and then the climb: level flight to there belongs to the final leg."""
    dip = heights((0.0, 1500.0), (40.0, 850.0), (55.0, 1000.0), (120.0, 1000.0), (170.0, 1600.0))
    reversal = of(log=dip, **RUNWAY)
    assert reversal.ending == "climbed away"
    assert ends(reversal)["final"] == pytest.approx(IN + 120.0, abs=5.0)


def test_an_orbit_on_the_inbound_course_leaves_one_approach_whose_course_is_not_judged_there():
    """The reversal, a circle at four miles, and on over the fix: one approach, and no verdict that the course was kept."""
    turned = [
        Straight("arrival", 90.0), Straight("outbound", 200.0), Turn("off", 45.0, 18.0), Straight("leg", 38.2),
        Turn("back", -225.0, 18.0), Straight("in", 60.0), Turn("orbit", 360.0, 18.0), Straight("home", 300.0),
    ]  # fmt: skip
    flown = fly(turned, (0.0, -3.0), 0.0, 120.0, roll_deg_s=5.0)
    result = debrief(replace(NOISY, altitude_ft=3000.0).of(flown), Chart(within_nm=15.0).at())
    (approach,) = result.approaches
    assert approach.reversal.flown == "45/180"
    assert approach.reversal.came_home
    (course,) = [one for one in approach.findings if one.check == "inbound_course"]
    assert course.verdict == "not assessed"
    (remark,) = [one for one in result.doubts if "circles off the inbound course" in one]
    begun, ended = (flown.begins[name] for name in ("orbit", "home"))
    clocks = [[int(part) for part in one.split(":")] for one in re.findall(r"[\d:]{8}", remark)]
    first, last = (3600 * hours + 60 * minutes + seconds for hours, minutes, seconds in clocks)
    assert first - 36000 == pytest.approx(begun + 20.0 / 2.96, abs=6.0)  # the log begins at 10:00
    assert last - 36000 == pytest.approx(ended - 20.0 / 2.96, abs=6.0)


def test_a_lap_flown_off_the_final_course_ends_it_as_an_orbit_does_not():
    """Round, two minutes back beside the course, round again and on: whatever that is, it is no orbit for spacing."""
    path = fly(
        [
            Straight("inbound", 420.0), Turn("out", 180.0, 18.0), Straight("back", 70.0), Turn("in", 180.0, 18.0),
            Straight("on", 160.0),
        ],
        (0.0, 10.0), 180.0,
    )  # fmt: skip
    reversal = of(path, replace(NOISY, altitude_ft=1500.0), **RUNWAY)
    assert reversal.ending == "turned away"
    assert ends(reversal)["final"] == pytest.approx(path.begins["out"] + 45.0 / 2.96, abs=3.0)


def test_a_fix_passed_beside_the_course_is_passed_abeam_along_it():
    """A mile beside the course and back to it at 40°: abeam at the fix comes half a minute before the point nearest to it."""
    aside = [Straight("on", 120.0), Turn("off", 30.0, 18.0), Straight("away", 55.0), Turn("along", -30.0, 18.0)]
    gone = fly(aside, (0.0, 12.0), 180.0)
    beside = [*aside, Straight("beside", (float(gone.y_nm[-1]) - 0.9) * 30.0), Turn("back", -40.0, 18.0)]
    way = fly([*beside, Straight("cut", 40.0), Turn("join", 40.0, 18.0), Straight("in", 120.0)], (0.0, 12.0), 180.0)
    abeam_s = float(way.time_s[way.y_nm <= 0.0][0])
    nearest_s = float(way.time_s[np.argmin(way.distance_nm)])
    assert nearest_s - abeam_s > 10.0
    chart = Chart(
        side=None, within_nm=None, reversal={"kind": "none"}, floors_ft={"inbound": 2000.0}, tables={"runway": runway(5.0)}
    )
    heights = [(0.0, 2050.0), (abeam_s + 1.0, 2050.0), (abeam_s + 120.0, 900.0)]
    (approach,) = debrief(replace(NOISY, altitude_ft=heights).of(way), chart.at()).approaches
    assert approach.reversal.parts[-1].start_s - START_S == pytest.approx(abeam_s, abs=2.0)
    assert one_of(approach, "altitude_floor", leg="inbound").verdict == "inside"
