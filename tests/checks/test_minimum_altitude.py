"""The minimum of the final leg: violations, descents to the runway, and what is not assessed.

FAA-S-ACS-8C IR.VI.A.S12: minimum descent altitude +100/-0 ft. 14 CFR 91.175(c)(1): below it only from where a descent to
landing can be made at a normal rate. AIM 5-4-5 h: not before a visual descent point.
"""

from dataclasses import replace

import pytest
from checked import NOISY, one_of
from descents import (
    DA,
    ELEVATION_FT,
    IN,
    LANDING,
    MDA,
    MDA_FT,
    TO_MDA,
    descended,
    descended_from,
    descended_without,
    path,
    second,
)
from synthetic import START_S, Straight, Turn, fly

from analyzer.checks.overall import overall

BUST = ((2.5, MDA_FT - 150.0),)
CLIMB = ((-0.5, 1900.0), (-4.0, 2600.0))
EARLY = ((15.0, 1700.0), (7.0, 1700.0), (4.9, MDA_FT + 50.0))
LONG_LEVEL = (1.8, MDA_FT - 150.0)  # 21 s after 2.5 NM


def minimum(heights, **given):
    return one_of(descended(heights, **given), "minimum_altitude")


def result(heights, **given):
    approach = descended(heights, **given)
    return overall(approach.findings, approach.reversal)


def test_level_below_the_minimum_then_a_climb_is_outside():
    finding = minimum((*IN, *BUST, LONG_LEVEL, *CLIMB))
    assert (finding.verdict, finding.limit, finding.unit) == ("outside", pytest.approx(MDA_FT), "ft")
    assert finding.measured == pytest.approx(MDA_FT - 150.0, abs=5.0)
    assert finding.margin == pytest.approx(-150.0, abs=5.0)
    assert finding.place is not None
    assert second(2.5) - 3.0 < finding.place.time_s - START_S < second(1.8) + 3.0
    assert result((*IN, *BUST, LONG_LEVEL, *CLIMB))[0] == "outside"


def test_level_below_the_minimum_then_a_landing_is_outside():
    heights = (*IN, *BUST, LONG_LEVEL, (0.79, MDA_FT - 150.0), *LANDING)
    assert minimum(heights).verdict == "outside"
    assert result(heights)[0] == "outside"


@pytest.mark.parametrize("seconds", [12.0, 17.0, 40.0])
def test_a_descent_below_the_minimum_and_back_to_it_is_outside(seconds):
    # 150 ft below, however short, then at the minimum again, and a landing on a path of 3°: +100/-0 ft. Down at 2,000 ft/min:
    # at more the altitude would not be believed
    dip_nm = seconds / 30.0
    heights = (*TO_MDA, (2.3, MDA_FT - 150.0), (2.3 - dip_nm / 2.0, MDA_FT - 150.0), (2.0 - dip_nm / 2.0, MDA_FT + 20.0))
    finding = minimum((*heights, *path(3.0, MDA_FT + 20.0)))
    assert finding.verdict == "outside"
    assert finding.measured == pytest.approx(MDA_FT - 150.0, abs=25.0)


@pytest.mark.parametrize(("below_ft", "verdict"), [(10.0, "not assessed"), (32.0, "too close to call")])
def test_a_descent_below_the_minimum_and_back_to_it_may_be_within_the_error(below_ft, verdict):
    # the overall result is not a pass where the aircraft may have been below the minimum; a few feet are no descent below it
    dip = ((2.4, MDA_FT - below_ft), (2.1, MDA_FT - below_ft), (1.9, MDA_FT + 60.0))
    heights = (*TO_MDA, *dip, *path(3.0, MDA_FT + 60.0))
    assert minimum(heights).verdict == verdict
    assert result(heights)[0] == ("inside" if verdict == "not assessed" else verdict)


def test_ten_seconds_level_in_the_descent_are_not_level_flight():
    # at 1.2 NM, 10 s level 120 ft below, then on to the runway
    heights = (*TO_MDA, (1.4, MDA_FT + 50.0), (1.1, MDA_FT - 120.0), (1.1 - 10.0 / 30.0, MDA_FT - 120.0), *LANDING)
    assert minimum(heights).verdict == "not assessed"


def test_the_minimum_kept_then_a_missed_approach_is_inside():
    finding = minimum((*TO_MDA, (0.0, MDA_FT + 50.0), (-2.0, 2000.0), (-4.0, 2500.0)))
    assert finding.verdict == "inside"
    assert finding.measured == pytest.approx(MDA_FT + 50.0, abs=5.0)


def test_the_minimum_kept_then_a_landing_is_not_assessed_and_the_approach_passes():
    heights = (*TO_MDA, *path(3.0))
    finding = minimum(heights)
    assert (finding.verdict, finding.unexplained) == ("not assessed", False)
    assert "runway in sight" in str(finding.reason)
    # 900 ft at 1.10 NM on a path that crosses the threshold at 50 ft: atan(400 / 6,680)
    assert finding.details["runway_below_deg"] == pytest.approx(3.43, abs=0.1)
    assert result(heights)[0] == "inside"


@pytest.mark.parametrize(
    ("angle_deg", "verdict"),
    [(1.0, "outside"), (1.4, "outside"), (2.6, "not assessed"), (3.0, "not assessed"), (5.0, "not assessed")],
)
def test_leaving_the_minimum_too_early_for_a_normal_descent(angle_deg, verdict):
    # from 450 ft above the runway to 50 ft over its threshold; below 2° it is not a normal descent (common practice, no source)
    finding = minimum((*EARLY, *path(angle_deg)))
    assert finding.verdict == verdict
    if verdict == "outside":
        assert (finding.unit, finding.limit) == ("deg", pytest.approx(2.0))
        assert result((*EARLY, *path(angle_deg)))[0] == "outside"


def test_more_than_six_degrees_is_reported_but_not_judged():
    finding = minimum((*TO_MDA, *path(8.0)))
    assert finding.verdict == "not assessed"
    assert finding.details["runway_below_deg"] > 6.0
    assert "steeper than a normal descent" in finding.sentence


@pytest.mark.parametrize(
    ("point_nm", "verdict"), [(0.7, "outside"), (0.9, "outside"), (1.4, "not assessed"), (2.0, "not assessed")]
)
def test_leaving_the_minimum_before_a_visual_descent_point(point_nm, verdict):
    # the path of 3° leaves 900 ft 1.1 NM before the threshold, which it crosses at 50 ft: (400 - 50) ft / tan 3° = 1.10 NM
    finding = minimum((*TO_MDA, *path(3.0)), minimum={**MDA, "visual_descent_point_nm": point_nm})
    assert finding.verdict == verdict
    if verdict == "outside":
        assert finding.measured == pytest.approx(1.10, abs=0.1)
        assert finding.limit == pytest.approx(point_nm)
        assert finding.unit == "NM"
        assert "5-4-5" in finding.source


@pytest.mark.parametrize(
    ("lowest_ft", "verdict"),
    # only noise, negligible here, could turn an altitude above it into one below
    [(905.0, "inside"), (890.0, "too close to call"), (960.0, "inside"), (840.0, "outside")],
)
def test_a_few_feet_are_too_close_to_call(lowest_ft, verdict):
    # the error of an altitude below it is 20 ft; two of them are too close to call
    heights = (*IN, (2.5, lowest_ft), (0.5, lowest_ft), (-2.0, 2200.0), (-4.0, 2600.0))
    assert minimum(heights).verdict == verdict


GLIDE = ((15.0, 2500.0), (6.04, 2500.0))  # then 318 ft a NM, a path of 3° to 575 ft at the threshold: 636 ft/min at 120 kt


def around(lowest_ft: float):
    """Down a 3° path, levelling off at an altitude, then up at 1,000 ft/min."""
    at_nm = 6.04 - (2500.0 - lowest_ft) / 318.4
    return (*GLIDE, (at_nm, lowest_ft), (at_nm - 2.0, lowest_ft + 1000.0), (at_nm - 4.0, lowest_ft + 2000.0))


def test_the_height_lost_in_a_go_around_at_a_decision_altitude_is_allowed():
    # 636 ft/min are 10.6 ft/s: two seconds of it are 21.2 ft, a pull-up of a quarter g from it 10.6²/(2 · 32.17/4) = 7.0 ft
    finding = minimum(around(MDA_FT - 20.0), minimum=DA)
    assert finding.tolerance == pytest.approx(21.2 + 7.0, abs=3.0)
    assert finding.verdict == "inside"  # 8 ft to spare
    inside = minimum(around(MDA_FT + 60.0), minimum=DA)
    assert inside.verdict == "inside"
    outside = minimum(around(MDA_FT - 128.0), minimum=DA)
    assert outside.verdict == "outside"
    assert outside.margin == pytest.approx(-100.0, abs=15.0)


def test_the_loss_allowed_is_the_same_for_a_go_around_above_the_altitude():
    # the altitude is 5 ft below the lowest point: with the same descent, a go-around at the altitude loses as much
    finding = minimum(around(MDA_FT + 5.0), minimum=DA)
    assert (finding.verdict, finding.tolerance) == ("inside", pytest.approx(21.2 + 7.0, abs=4.0))
    assert finding.margin == pytest.approx(5.0 + finding.tolerance, abs=8.0)
    assert "91.175(c) and (e)" in finding.source  # not the rule for a minimum descent altitude
    assert "IR.VI.A.S12" not in finding.source


def test_a_minimum_descent_altitude_allows_no_loss_in_a_go_around():
    assert minimum(around(MDA_FT - 50.0)).verdict == "outside"
    assert minimum(around(MDA_FT - 50.0)).tolerance == 0.0


def test_a_landing_from_a_decision_altitude_is_not_assessed():
    finding = minimum((*GLIDE, (0.0, 577.0), (-0.3, 505.0)), minimum=DA)
    assert (finding.verdict, finding.unexplained) == ("not assessed", False)
    assert "runway in sight" in str(finding.reason)


@pytest.mark.parametrize("kind", [MDA, DA])
def test_level_below_a_decision_altitude_is_outside(kind):
    heights = (*IN, *BUST, (1.0, MDA_FT - 150.0), *LANDING)
    finding = minimum(heights, minimum=kind)
    assert finding.verdict == "outside"
    assert finding.measured == pytest.approx(MDA_FT - 150.0, abs=5.0)  # level, not where it landed
    assert "climbed away" not in finding.sentence


def test_the_roll_out_on_an_uncharted_runway_is_not_level_flight():
    """Without a charted runway, a roll-out from 110 kt with 23 s above taxi speed is not level flight below the minimum."""
    way = fly([Straight("inbound", second(0.0)), Straight("roll", 30.0, 10.0), Straight("taxi", 60.0)], (0.0, 10.0), 180.0)
    assert minimum((*TO_MDA, *path(3.0)), runway=None, way=way).verdict == "not assessed"
    # level below it in the air before that is
    assert minimum((*IN, *BUST, LONG_LEVEL, (0.79, MDA_FT - 150.0), *LANDING), runway=None, way=way).verdict == "outside"


def test_no_altitude_no_verdict():
    finding = minimum(None)
    assert (finding.verdict, finding.unexplained) == ("not assessed", False)
    assert "no altitude" in str(finding.reason)


def test_a_gap_that_may_hide_a_violation_is_not_assessed():
    missed = (*TO_MDA, (0.3, MDA_FT + 60.0), (-2.0, 2000.0), (-4.0, 2500.0))
    assert minimum(missed).verdict == "inside"
    hole = replace(NOISY, hole_s=(second(1.5), second(0.7)))
    finding = minimum(missed, log=hole)
    assert finding.verdict == "not assessed"
    assert "gap" in str(finding.reason)
    # what was seen of it stays outside
    assert minimum((*IN, *BUST, LONG_LEVEL, *CLIMB), log=replace(NOISY, hole_s=(second(0.5), second(-0.1)))).verdict == (
        "outside"
    )


@pytest.mark.parametrize("end_nm", [0.9, 0.6])
def test_a_log_that_ends_below_the_minimum_is_not_assessed(end_nm):
    heights, log = (*TO_MDA, *path(3.0)), replace(NOISY, end_s=second(end_nm))
    finding = minimum(heights, log=log)
    assert (finding.verdict, finding.unexplained) == ("not assessed", True)
    verdict, words = result(heights, log=log)
    assert verdict == "not assessed"
    assert "nothing in the log explains it" in words


@pytest.mark.parametrize("kind", [MDA, DA])
def test_a_log_that_ends_within_the_error_of_the_minimum_has_not_left_it(kind):
    # 8 ft below a level that is charted to the nearest 20 ft are the noise of any log
    heights = (*TO_MDA, (1.5, MDA_FT + 50.0), (1.0, MDA_FT - 8.0), (0.0, MDA_FT - 400.0))
    finding = minimum(heights, log=replace(NOISY, end_s=second(1.0)), minimum=kind)
    assert (finding.verdict, finding.unexplained) == ("not assessed", False)
    assert "The log ends at" in finding.sentence
    assert "was left" not in finding.sentence


@pytest.mark.parametrize(("above_ft", "reported"), [(50.0, True), (150.0, True), (600.0, False)])
def test_the_height_of_a_level_above_the_minimum_is_reported_but_not_judged(above_ft, reported):
    level = MDA_FT + above_ft
    finding = minimum((*IN, (2.8, level), (0.5, level), (-2.0, 2500.0), (-4.0, 3000.0)))
    assert finding.verdict == "inside"
    assert (f"Levelled {above_ft:.0f} ft above it" in finding.sentence) == reported


def test_a_log_that_ends_above_the_minimum_is_not_assessed():
    finding = minimum((*TO_MDA, *path(3.0)), log=replace(NOISY, end_s=second(1.8)))
    assert (finding.verdict, finding.unexplained) == ("not assessed", False)
    assert "the log ends before the minimum was left" in str(finding.reason)


def test_without_a_runway_leaving_the_minimum_is_not_judged():
    assert minimum((*IN, *BUST, LONG_LEVEL, *CLIMB), runway=None).verdict == "outside"
    assert minimum((*TO_MDA, (0.0, MDA_FT + 50.0), (-2.0, 2000.0)), runway=None).verdict == "inside"
    # below the minimum without a landing: no runway, and no ground speed of a roll-out
    finding = minimum((*TO_MDA, *path(3.0)[:-1], (-0.2, 520.0)), runway=None, log=replace(NOISY, end_s=second(0.0)))
    assert (finding.verdict, finding.unexplained) == ("not assessed", True)


def test_without_a_runway_slowing_to_taxi_speed_is_a_landing():
    way = fly([Straight("inbound", second(0.0)), Straight("roll", 30.0, 10.0), Straight("taxi", 60.0)], (0.0, 10.0), 180.0)
    finding = minimum((*TO_MDA, *path(3.0)), runway=None, way=way)
    assert (finding.verdict, finding.unexplained) == ("not assessed", False)


LINES = [
    {"line": "straight-in", "kind": "mda", "altitude_ft": 900},
    {"line": "circling", "kind": "mda", "altitude_ft": 1100},
]


def test_a_circling_minimum_may_be_left_anywhere():
    # the descent of 1.3° from 1,150 ft that a straight-in would be outside for
    early = (*IN, (4.4, 1150.0), *path(1.3, 1150.0))
    finding = minimum(early, minimums=LINES, line="circling")
    assert (finding.verdict, finding.limit) == ("not assessed", 1100.0)
    assert minimum(early, minimums=LINES, line="straight-in").verdict == "outside"


def test_the_minimum_of_the_category_counts():
    lines = [
        {"line": "straight-in", "category": "A-B", "kind": "mda", "altitude_ft": 900},
        {"line": "straight-in", "category": "C-D", "kind": "mda", "altitude_ft": 1100},
    ]
    missed = (*TO_MDA, (0.0, MDA_FT + 50.0), (-2.0, 2000.0), (-4.0, 2500.0))
    of = {category: minimum(missed, minimums=lines, category=category) for category in "ABCD"}
    assert {category: finding.limit for category, finding in of.items()} == pytest.approx(
        {"A": 900, "B": 900, "C": 1100, "D": 1100}
    )
    assert [finding.verdict for finding in of.values()] == ["inside", "inside", "outside", "outside"]
    assert "(category A-B, straight-in)" in of["A"].sentence  # which of several lines it was
    assert "(category C-D, straight-in)" in of["C"].sentence
    assert "category" not in minimum(missed).sentence


def test_final_ft_is_a_short_form_of_the_minimum():
    missed = (*TO_MDA, (0.0, MDA_FT + 50.0), (-2.0, 2000.0), (-4.0, 2500.0))
    finding = minimum(missed, minimum=None, altitudes={"final_ft": 900})
    assert (finding.verdict, finding.limit) == ("inside", pytest.approx(900.0))


def test_a_climb_from_far_below_before_the_runway_is_not_a_landing():
    # 90 ft above the threshold a mile and a half before it, and away: no runway is reached there
    heights = (*IN, (1.5, ELEVATION_FT + 80.0), (-0.5, 1400.0), (-3.0, 2600.0))
    finding = minimum(heights)
    assert finding.verdict == "outside"
    assert finding.measured == pytest.approx(ELEVATION_FT + 80.0, abs=15.0)


def test_a_touch_and_go_is_a_landing():
    heights = (*TO_MDA, *path(3.0)[:-1], (-0.3, 502.0), (-0.6, 502.0), (-2.0, 1400.0), (-4.0, 2200.0))
    assert minimum(heights).verdict == "not assessed"
    assert descended(heights).reversal.ending == "reached the runway"


@pytest.mark.parametrize("turn_deg", [90.0, -90.0])
def test_turning_away_at_the_minimum_without_landing(turn_deg):
    way = fly([Straight("inbound", second(1.0)), Turn("off", turn_deg, 18.0), Straight("away", 200.0)], (0.0, 10.0), 180.0)
    kept = minimum((*TO_MDA, (-3.0, MDA_FT + 50.0)), way=way)
    assert kept.verdict == "not assessed"  # to land from a circuit, or to leave: the log does not show it
    below = minimum((*IN, *BUST, (-3.0, MDA_FT - 150.0)), way=way)
    assert below.verdict == "outside"


@pytest.mark.parametrize("step_s", [2.0, 5.0])
def test_sparse_logs(step_s):
    log = replace(NOISY, step_s=step_s)
    assert minimum((*IN, *BUST, LONG_LEVEL, *CLIMB), log=log).verdict == "outside"
    assert minimum((*TO_MDA, *path(3.0)), log=log).verdict == "not assessed"
    assert minimum((*TO_MDA, (0.0, MDA_FT + 50.0), (-2.0, 2000.0), (-4.0, 2500.0)), log=log).verdict == "inside"


@pytest.mark.parametrize("standard", ["faa-instrument", "faa-transport", "icao-ops"])
def test_no_standard_lowers_the_minimum(standard):
    heights = (*IN, (2.5, MDA_FT - 60.0), (1.8, MDA_FT - 60.0), *CLIMB)
    finding = minimum(heights, standard=standard)
    assert (finding.verdict, finding.tolerance) == ("outside", 0.0)


@pytest.mark.parametrize(
    ("below_ft", "verdict"),
    [
        (0.0, "not assessed"),
        (-20.0, "not assessed"),
        (10.0, "too close to call"),
        (30.0, "too close to call"),
        (50.0, "outside"),
    ],
)
def test_the_minimum_flown_a_few_feet_low_then_a_landing(below_ft, verdict):
    # Level from 2.5 NM to the 3° path to the runway. Flying low by less than two errors of 20 ft is neither outside nor leaving
    # the minimum there, with the runway 1.5° below.
    level = MDA_FT - below_ft
    finding = minimum((*IN, (2.5, level), *path(3.0, level)))
    assert finding.verdict == verdict
    if verdict != "not assessed":
        assert finding.margin == pytest.approx(-below_ft, abs=5.0)  # the descent to the runway is no part of the level flight
        assert "Level below the minimum" in finding.sentence


MAP = [{"name": "MAPAR", "role": "missed-approach-point", "distance_nm": 4.0}]  # a mile before the threshold


def test_level_flight_below_the_minimum_beyond_the_missed_approach_point_does_not_count():
    # 20 s at 250 ft above the runway, on the way to it
    level = (*TO_MDA, (1.3, MDA_FT + 50.0), (0.95, 750.0), (0.3, 750.0), *LANDING)
    assert minimum(level, fixes=MAP).verdict == "not assessed"
    assert minimum(level).verdict == "outside"  # the threshold is the point


def test_a_climb_from_below_the_minimum_beyond_the_missed_approach_point_is_unexplained():
    # left on a 4° path, with a go-around from 150 ft above the threshold: a log does not show what was in sight
    round_ = (*TO_MDA, (1.1, MDA_FT + 50.0), (0.1, ELEVATION_FT + 150.0), (-0.1, ELEVATION_FT + 150.0), (-4.0, 2500.0))
    finding = minimum(round_)
    assert (finding.verdict, finding.unexplained) == ("not assessed", True)
    assert "beyond the missed approach point" in str(finding.reason)
    assert result(round_)[0] == "not assessed"
    # before the point the same is outside
    early = (*TO_MDA, (1.6, MDA_FT + 50.0), (0.7, ELEVATION_FT + 150.0), (-1.0, 1500.0), (-4.0, 2600.0))
    assert minimum(early).verdict == "outside"


@pytest.mark.parametrize(("beyond_s", "verdict"), [(0.0, "outside"), (1.5, "outside"), (9.0, "not assessed")])
def test_a_climb_begun_at_the_missed_approach_point_is_none_beyond_it(beyond_s, verdict):
    """Below the minimum from 1.4 NM on, and up from 150 ft below it over the point, where three seconds are reaction."""
    up_nm = 1.0 - beyond_s / 30.0
    heights = (*TO_MDA, (1.6, MDA_FT + 50.0), (up_nm, MDA_FT - 150.0), (up_nm - 3.0, 2200.0), (-4.0, 2600.0))
    assert minimum(heights, fixes=MAP).verdict == verdict


@pytest.mark.parametrize(("seconds", "verdict"), [(8.0, "not assessed"), (12.0, "not assessed"), (18.0, "outside")])
def test_fifteen_seconds_are_level_flight_even_between_shallow_descents(seconds, verdict):
    # 150 ft below at 2 NM; then down at 333 ft/min, with the runway 2.2° below where the minimum was left
    begin_nm = 1.4
    end_nm = begin_nm - seconds / 30.0
    heights = (*IN, (2.1, MDA_FT + 50.0), (1.75, MDA_FT + 30.0), (begin_nm, MDA_FT - 150.0), (end_nm, MDA_FT - 150.0), *LANDING)
    assert minimum(heights).verdict == verdict


@pytest.mark.parametrize("seconds", [17.0, 25.0, 40.0])
def test_the_sentence_gives_the_duration_of_level_flight(seconds):
    end_nm = 2.5 - seconds / 30.0
    finding = minimum((*IN, *BUST, (end_nm, MDA_FT - 150.0), (end_nm - 2.0, 1900.0), (-4.0, 2600.0)))
    reported = int(finding.sentence.split(" for ")[1].split(" s,")[0])
    assert reported == pytest.approx(seconds, abs=4.0)  # rounded off at both ends by the smoothing


GAP_EARLY = (second(4.7), second(2.9))  # of 54 s, from 1,550 ft down to 1,070 ft on the way to the minimum


def test_a_bust_after_a_gap_on_final_is_seen():
    heights = ((15.0, 1700.0), (5.0, 1700.0), *BUST, LONG_LEVEL, *CLIMB)
    finding = minimum(heights, log=replace(NOISY, hole_s=GAP_EARLY))
    assert finding.verdict == "outside"
    assert finding.measured == pytest.approx(MDA_FT - 150.0, abs=5.0)
    assert result(heights, log=replace(NOISY, hole_s=GAP_EARLY))[0] == "outside"


@pytest.mark.parametrize("before_s", [3.0, 4.0, 20.0])
def test_what_the_curve_does_in_a_hole_at_the_minimum_is_no_bust(before_s):
    """Down at 900 ft/min and level at the minimum, within forty seconds without a sample: the curve dips below it."""
    heights = ((15.0, 1700.0), (5.0, 1700.0), (5.0 - 790.0 / 450.0, MDA_FT + 10.0), (0.3, MDA_FT + 10.0), (-4.0, 2600.0))
    level_s = second(5.0 - 790.0 / 450.0)
    finding = one_of(descended_without((level_s - before_s, level_s - before_s + 40.0), heights), "minimum_altitude")
    assert finding.verdict != "outside"


@pytest.mark.parametrize("table", [MDA, DA])
@pytest.mark.parametrize("before_nm", [2.3, 1.7])
def test_a_log_that_begins_below_the_minimum_does_not_show_where_it_was_left(table, before_nm):
    """A hundred feet and more below it on a path of 3°, which was left for the runway before the log begins."""
    heights = (*IN, *path(3.0, 1450.0))  # left 2.8 NM before the threshold
    finding = one_of(descended_from(before_nm, heights, minimum={**table, "altitude_ft": 1400.0}), "minimum_altitude")
    assert finding.verdict == "not assessed"
    assert "the log begins below the minimum" in str(finding.reason)
    assert "climbed" not in finding.sentence


@pytest.mark.parametrize(
    ("hole_nm", "overall_is"),
    [((4.7, 3.5), "inside"), ((2.4, 1.0), "not assessed"), ((4.7, 0.8), "not assessed")],
)
def test_a_landing_after_a_gap_is_judged_but_for_what_the_gap_may_hide(hole_nm, overall_is):
    # while high above the minimum; while level at it; and over where it was left, wherever that was
    heights = (*TO_MDA, *path(3.0))
    log = replace(NOISY, hole_s=(second(hole_nm[0]), second(hole_nm[1])))
    approach = descended(heights, log=log)
    assert approach.reversal.ending == "reached the runway"
    assert one_of(approach, "minimum_altitude").verdict == "not assessed"
    assert result(heights, log=log)[0] == overall_is


def test_a_minimum_left_past_the_threshold_has_no_path_to_it():
    """Level at the minimum over the threshold, and down half a mile beyond it, as over a long runway."""
    finding = minimum((*TO_MDA, (-0.5, MDA_FT + 50.0), (-1.0, ELEVATION_FT + 5.0)))
    assert "NM past the threshold" in finding.sentence
    assert "path to it" not in finding.sentence
    assert finding.details["before_threshold_nm"] == pytest.approx(-0.56, abs=0.05)


@pytest.mark.parametrize("before_s", [-8.0, 0.0, 12.0])
def test_no_rate_of_descent_is_read_off_a_hole_of_the_log(before_s):
    """Down at 900 ft/min, level for ten seconds and down again, without a sample for forty seconds where the level ends."""
    first, level = 400.0 / 450.0, 0.35  # NM, for 400 ft and of level flight
    lost = 4.0 - first - level
    heights = (
        (15.0, 1700.0),
        (4.0, 1700.0),
        (4.0 - first, 1300.0),
        (lost, 1300.0),
        (lost - 650.0 / 450.0, 650.0),
        (-4.0, 2600.0),
    )
    begin_s = second(lost) - before_s
    finding = one_of(descended_without((begin_s, begin_s + 40.0), heights), "stabilised_descent")
    assert finding.verdict == "not assessed"
    assert finding.measured < 950.0
