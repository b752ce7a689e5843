"""A circle belongs to the final leg: to the landing or the climb away, the circling minimum holds in it.

14 CFR 91.175(c)(1): below the minimum only from where a descent to landing can be made at a normal rate by normal manoeuvres.
AIM 5-4-21 c: who goes around from a circle first turns towards the runway.
"""

from dataclasses import replace

import pytest
from checked import NOISY, all_of, one_of
from final_flights import NORTH_OUT, runway
from synthetic import START_S, Chart, Straight, Turn, fly, standard_rate_bank

from analyzer import debrief
from analyzer.checks.overall import overall

MDA_FT = 900.0
BANK = standard_rate_bank(120.0)
BREAK_S, BASE_S, ROLLED_OUT_S, THRESHOLD_S = 420.0, 570.0, 600.0, 649.0
# south to 4 NM beyond the fix, then left round three sides: east, north and west to a runway 27 that lies across the course.
# Turns of 90° at 3° a second take 30 s, on a radius of 0.64 NM.
CIRCLE = fly(
    [
        Straight("inbound", BREAK_S), Turn("break", -90.0, BANK), Straight("east", 60.0), Turn("downwind_turn", -90.0, BANK),
        Straight("north", 30.0), Turn("base_turn", -90.0, BANK), Straight("landing", 60.0), Straight("roll", 60.0, 10.0),
    ],
    (0.0, 10.0), 180.0,
)  # fmt: skip
DOWN = ((0.0, 2500.0), (280.0, 2500.0), (390.0, MDA_FT + 60.0))
LANDED = ((ROLLED_OUT_S, MDA_FT + 60.0), (THRESHOLD_S, 550.0), (THRESHOLD_S + 5.0, 503.0))
LOW = ((430.0, MDA_FT + 60.0), (450.0, MDA_FT - 150.0), (ROLLED_OUT_S, MDA_FT - 150.0))
AWAY = ((ROLLED_OUT_S, MDA_FT + 60.0), (720.0, 2500.0))
MISSED = {"climb_ft": 1500.0, "turn": "right", "course_deg": 280.0, "altitude_ft": 2500.0}
POINT = {"name": "TARRO", "role": "missed-approach-point", "distance_nm": 4.8}


def circled(heights, line="circling", way=CIRCLE, **tables):
    minimums = [{"kind": "mda", "line": named, "altitude_ft": MDA_FT} for named in ("straight-in", "circling")]
    tables = {"minimums": minimums, "fixes": [POINT], "runway": runway(2.363, 1.0, 270.0), **tables}
    chart = Chart(side=None, within_nm=None, reversal={"kind": "none"}, tables=tables)
    track = replace(NOISY, altitude_ft=heights).of(way, NORTH_OUT)
    (approach,) = debrief(track, chart.at(NORTH_OUT), line=line).approaches
    return approach


def result(approach):
    return overall(approach.findings, approach.reversal)[0]


def test_a_circle_at_the_minimum_and_its_landing_are_of_the_final_leg():
    approach = circled([*DOWN, *LANDED])
    assert approach.reversal.ending == "reached the runway"
    assert approach.reversal.parts[-1].name == "final"
    assert approach.reversal.parts[-1].end_s - START_S >= THRESHOLD_S
    finding = one_of(approach, "minimum_altitude")
    assert (finding.verdict, finding.unexplained) == ("not assessed", False)
    assert "runway in sight" in str(finding.reason)
    assert finding.place.time_s - START_S == pytest.approx(ROLLED_OUT_S + 7.2, abs=4.0)  # 60 ft of 410 ft in 49 s
    assert result(approach) == "inside"


def test_the_final_course_counts_up_to_the_circle_and_the_runway_across_it_is_no_misalignment():
    approach = circled([*DOWN, *LANDED])
    course = one_of(approach, "final_course")
    assert course.verdict == "inside"
    assert course.place.time_s - START_S <= BREAK_S + 10.0
    assert not all_of(approach, "final_alignment")


@pytest.mark.parametrize("after", [LANDED, AWAY])
def test_level_below_the_circling_minimum_in_the_circle_is_outside(after):
    approach = circled([*DOWN, *LOW, *(point for point in after if point[0] > ROLLED_OUT_S)])
    finding = one_of(approach, "minimum_altitude")
    assert (finding.verdict, finding.limit, finding.unit) == ("outside", pytest.approx(MDA_FT), "ft")
    assert finding.measured == pytest.approx(MDA_FT - 150.0, abs=6.0)
    assert 450.0 - 3.0 <= finding.place.time_s - START_S <= ROLLED_OUT_S + 3.0
    assert result(approach) == "outside"


def test_a_climb_away_from_a_circle_at_the_minimum_is_inside_and_its_first_turn_is_free():
    approach = circled([*DOWN, *AWAY], missed_approach=MISSED)
    assert approach.reversal.ending == "climbed away"
    assert approach.reversal.parts[-1].name == "missed"
    assert approach.reversal.parts[-1].start_s - START_S == pytest.approx(ROLLED_OUT_S, abs=6.0)
    assert one_of(approach, "minimum_altitude").verdict == "inside"
    for check in ("missed_point", "missed_climb", "missed_turn"):
        finding = one_of(approach, check)
        assert (finding.verdict, "towards the runway" in str(finding.reason)) == ("not assessed", True)


def test_by_the_straight_in_minimum_the_leg_ends_where_the_course_is_left():
    approach = circled([*DOWN, *LOW, *LANDED[1:]], line="straight-in")
    assert approach.reversal.ending == "turned away"
    assert approach.reversal.parts[-1].end_s - START_S == pytest.approx(BREAK_S + 15.0, abs=4.0)  # half of the turn of 30 s


def test_who_goes_on_elsewhere_at_the_minimum_does_not_circle():
    away = fly([Straight("inbound", BREAK_S), Turn("break", -90.0, BANK), Straight("east", 400.0)], (0.0, 10.0), 180.0)
    approach = circled(DOWN, way=away)
    assert approach.reversal.ending == "turned away"
    assert approach.reversal.parts[-1].end_s - START_S == pytest.approx(BREAK_S + 15.0, abs=4.0)


def test_a_circuit_to_land_is_no_orbit_to_remark_on():
    """Left round to the same direction two thirds of a mile aside: the circle is what the circling minimum is for."""
    round_about = [
        Turn("break", -90.0, BANK),
        Straight("east", 40.0),
        Turn("downwind_turn", -90.0, BANK),
        Straight("north", 90.0),
    ]
    round_about += [Turn("base_turn", -90.0, BANK), Straight("west", 20.0), Turn("line_up", -90.0, BANK)]
    way = fly([Straight("inbound", BREAK_S), *round_about, Straight("landing", 60.0), Straight("roll", 60.0, 10.0)],
              (0.0, 10.0), 180.0)  # fmt: skip
    over_s = way.begins["roll"] - 5.0
    low = ((way.begins["landing"], MDA_FT + 60.0), (over_s, 550.0), (over_s + 5.0, 503.0))
    where = runway(-float(way.at(over_s, way.y_nm)), float(way.at(over_s, way.x_nm)))
    minimums = [{"kind": "mda", "line": "circling", "altitude_ft": MDA_FT}]
    chart = Chart(
        side=None, within_nm=None, reversal={"kind": "none"}, tables={"minimums": minimums, "fixes": [POINT], "runway": where}
    )
    result = debrief(replace(NOISY, altitude_ft=[*DOWN, *low]).of(way, NORTH_OUT), chart.at(NORTH_OUT), line="circling")
    assert result.approaches[0].reversal.ending == "reached the runway"
    assert result.doubts == ()


def test_a_level_that_is_left_below_the_circling_minimum_counts_once():
    """Level at 40 ft above it, then 120 ft lower: one event, and a strict examiner counts none twice."""
    level = ((300.0, MDA_FT + 40.0), (490.0, MDA_FT + 40.0), (504.0, MDA_FT - 80.0), (ROLLED_OUT_S - 10.0, MDA_FT - 80.0))
    approach = circled([(0.0, 2500.0), (190.0, 2500.0), *level, *LANDED[1:]])
    assert one_of(approach, "minimum_altitude").verdict == "outside"
    (held,) = (f for f in all_of(approach, "altitude_hold") if f.leg == "final")
    assert (held.verdict, "minimum altitude" in str(held.reason)) == ("not assessed", True)
    assert held.details["departure_ft"] < -100.0


def lands_beside(*before):
    """A circle that begins with 40° to the right, goes on beside the course and past the runway, and turns back to land."""
    aside = [Turn("break", 40.0, BANK), Straight("aside", 45.0), Turn("along", -40.0, BANK), Straight("beside", 40.0)]
    back = [Turn("base_turn", -180.0, BANK), Straight("landing", 40.0), Straight("roll", 60.0, 10.0)]
    way = fly([*before, *aside, *back], (0.0, 10.0), 180.0)
    out_s = way.begins["landing"]
    heights = [*DOWN, (out_s, MDA_FT + 60.0), (out_s + 40.0, 530.0), (out_s + 45.0, 503.0)]
    return way, circled(heights, way=way, runway=runway(5.0))


def test_a_circle_that_begins_with_less_than_45_degrees_is_no_deviation_from_the_final_course():
    """A mile aside at 5.5 NM from the station is 10°; 40° off for 45 s lead there."""
    way, approach = lands_beside(Straight("inbound", BREAK_S))
    assert float(way.x_nm.min()) < -0.95
    assert approach.reversal.ending == "reached the runway"
    course = one_of(approach, "final_course")
    assert (course.verdict, course.measured) == ("inside", pytest.approx(0.0, abs=0.3))
    assert course.place.time_s - START_S <= BREAK_S + 10.0


def test_an_excursion_that_is_corrected_before_the_circle_counts():
    """Half a mile aside 3 NM from the station is 9°, of ¾ of 10° allowed."""
    out = [Straight("inbound", 365.0), Turn("off", 30.0, BANK), Straight("away", 25.0), Turn("back", -60.0, BANK)]
    way, approach = lands_beside(*out, Straight("return", 25.0), Turn("on", 30.0, BANK), Straight("again", 20.0))
    excursion = way.time_s < way.begins["break"]
    assert float(way.x_nm[excursion].min()) < -0.5
    course = one_of(approach, "final_course")
    assert course.verdict == "outside"
    assert course.place.time_s - START_S < way.begins["on"]
