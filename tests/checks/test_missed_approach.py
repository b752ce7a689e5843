"""The five checks of a missed approach: inside, outside and too close to call, with margins known from the construction.

The flights are those of `missed_flights`: level 20 ft above the minimum, up at 500 ft/min from the missed approach point, and
after a minute a right turn through 90°.
"""

import math
from dataclasses import replace

import numpy as np
import pytest
from checked import NOISY, all_of, one_of
from missed_flights import (
    A_SECOND,
    BANK,
    CLIMB_FPM,
    CLIMB_FT,
    HOLD_FT,
    MINIMUM_FT,
    MISSED_POINT_NM,
    THRESHOLD_NM,
    Whole,
    chart,
    climbing,
    closing,
    course,
    first_reversal,
    flown_from,
    gone_around,
    hold,
    hold_nm,
    laid,
    landing,
    laps,
    missed,
    missed_and_again,
    missed_into_hold,
    missed_table,
    reversal,
    whole,
)
from scipy.optimize import brentq
from synthetic import NM, START_S, Chart, Flown, Segment, Straight, Turn

from analyzer import debrief
from analyzer.checks.finding import ALTITUDE_MISSING, Finding
from analyzer.checks.missed_flown import first_passage
from analyzer.debriefs.data import Approach

CHECKS = ("missed_point", "missed_climb", "missed_turn", "missed_course", "missed_altitude")
REACTION_S = 3.0  # Doc 8168 II-I-4-6, tolerance of the missed approach point: pilot's reaction; from memory
HELD_FT = 100.0  # FAA-S-ACS-8C IR.VI.C.S7
HEADING_DEG = 10.0  # FAA-S-ACS-8C IR.VI.A.S9


def first_of(flight: Whole, charted: Chart | None = None, end_s: float | None = None) -> Approach:
    """The first approach of a flight, debriefed; its log may end early."""
    log = NOISY if end_s is None else replace(NOISY, end_s=end_s)
    return flight.debrief(charted, log).approaches[0]


def found(check: str, flight: Whole, charted: Chart | None = None, end_s: float | None = None) -> Finding:
    return one_of(first_of(flight, charted, end_s), check)


def test_a_missed_approach_flown_as_charted_is_inside():
    approach = first_of(missed_into_hold())
    assert {check: one_of(approach, check).verdict for check in CHECKS} == dict.fromkeys(CHECKS, "inside")
    assert {finding.leg for check in CHECKS for finding in all_of(approach, check)} == {"missed"}


@pytest.mark.parametrize("number", [0, 1])
def test_there_is_no_finding_unless_one_is_charted_and_flown(number):
    """A landing; and a climb away from a chart without one."""
    tables = {name: table for name, table in chart().tables.items() if name != "missed_approach" or number == 1}
    approach = whole().debrief(Chart(tables=tables)).approaches[number]
    assert [finding.check for finding in approach.findings if finding.check.startswith("missed")] == []


@pytest.mark.parametrize(
    ("late_s", "verdict"), [(-20.0, "inside"), (0.0, "inside"), (3.0, "too close to call"), (7.0, "outside"), (30.0, "outside")]
)
def test_the_climb_begins_at_or_before_the_point(late_s, verdict):
    """Three seconds of flight beyond it are the pilot's reaction (Doc 8168 II-I-4-6)."""
    flight = gone_around(late_s=late_s, straight_s=60.0 - min(late_s, 0.0))
    finding = found("missed_point", flight)
    assert finding.verdict == verdict
    assert finding.unit == "NM"
    assert finding.measured == pytest.approx(late_s * A_SECOND, abs=0.5 * A_SECOND)
    assert finding.margin == pytest.approx((REACTION_S - late_s) * A_SECOND, abs=0.5 * A_SECOND)
    assert finding.tolerance == pytest.approx(REACTION_S * A_SECOND, rel=0.03)
    assert f"NM {'beyond' if finding.measured > 0 else 'before'} the missed approach point" in finding.sentence
    assert finding.place is not None
    assert finding.place.time_s == pytest.approx(flight.begin("climb"), abs=1.0)


@pytest.mark.parametrize(("late_s", "from_s", "verdict"), [(0.0, -40.0, "not assessed"), (30.0, -20.0, "outside")])
def test_a_climb_that_begins_where_the_altitude_is_missing(late_s, from_s, verdict):
    """It is late for certain only where the altitude is missing from beyond the point on."""
    flight = gone_around(late_s=late_s)
    begun = flight.begin("climb")
    track = replace(NOISY, altitude_ft=flight.heights).of(flight.flown)
    missing = (track.time_s > begun + from_s) & (track.time_s < begun + 60.0)
    track = replace(track, altitude_m=np.where(missing, np.nan, track.altitude_m))
    finding = one_of(debrief(track, chart().at()).approaches[0], "missed_point")
    assert finding.verdict == verdict
    assert (finding.reason == ALTITUDE_MISSING) == (verdict == "not assessed")


@pytest.mark.parametrize(("late_s", "verdict"), [(0.0, "inside"), (7.0, "outside")])
def test_a_point_by_time_is_found_by_ground_speed(late_s, verdict):
    # 180 s at 90 kt are 4.5 NM, which at 120 kt are flown in 135 s
    timed = chart(fixes=[], missed_approach=missed_table(time_s=MISSED_POINT_NM / 90.0 * 3600.0, time_at_kt=90.0))
    finding = found("missed_point", gone_around(late_s=late_s), timed)
    assert finding.verdict == verdict
    assert finding.measured == pytest.approx(late_s * A_SECOND, abs=0.5 * A_SECOND)


@pytest.mark.parametrize(("timed", "verdict"), [(False, "inside"), (True, "not assessed")])
def test_a_gap_on_the_way_to_the_point_hides_one_by_time_alone(timed, verdict):
    """A minute of the final leg: where the point is by a fix shows as it is passed, whatever was flown before."""
    flight = gone_around()
    hole = replace(NOISY, hole_s=(flight.flown.begins["final"] + 30.0, flight.flown.begins["final"] + 90.0))
    by_time = chart(fixes=[], missed_approach=missed_table(time_s=MISSED_POINT_NM / 90.0 * 3600.0, time_at_kt=90.0))
    finding = one_of(flight.debrief(by_time if timed else None, hole).approaches[0], "missed_point")
    assert finding.verdict == verdict


def test_without_fix_or_time_the_point_is_the_threshold():
    # common practice, no source; the threshold is 0.5 NM beyond the fix that is charted elsewhere in these tests
    finding = found("missed_point", gone_around(), chart(fixes=[]))
    assert finding.measured == pytest.approx(-0.5, abs=0.02)
    assert finding.verdict == "inside"


def test_a_decision_altitude_has_no_missed_approach_point():
    """The go-around begins where the altitude is reached, which the check of the minimum judges."""
    approach = first_of(gone_around(), chart(minimum={"kind": "da", "altitude_ft": MINIMUM_FT}))
    assert all_of(approach, "missed_point") == []
    assert one_of(approach, "missed_climb").verdict == "inside"


@pytest.mark.parametrize(("before_s", "straight_s"), [(20.0, 5.0), (8.0, 1.0)])
def test_a_turn_before_the_point_is_outside_however_early_the_climb(before_s, straight_s):
    """AIM 5-4-21 b: fly to the point before any turn, as obstacle protection assumes."""
    finding = found("missed_point", gone_around(late_s=-before_s, straight_s=straight_s))
    assert (finding.verdict, finding.margin) == ("outside", None)
    assert finding.sentence.startswith("The turn was begun at ")
    assert "before the missed approach point" in finding.sentence


def test_one_early_turn_counts_once():
    """A strict examiner counts no fault twice: the turn before the point is the one that was begun too low."""
    early = first_of(gone_around(late_s=-20.0, straight_s=5.0))
    assert [f.check for f in early.findings if f.verdict == "outside"] == ["missed_point"]
    climb = one_of(early, "missed_climb")
    assert (climb.verdict, climb.measured) == ("not assessed", pytest.approx(MINIMUM_FT + 20.0 + CLIMB_FPM / 12.0, abs=15.0))
    assert "it follows from missed point" in str(climb.reason)
    # a climb begun too late and a turn made too low are two
    late = first_of(gone_around(late_s=20.0, straight_s=5.0))
    assert [f.check for f in late.findings if f.verdict == "outside"] == ["missed_point", "missed_climb"]


def test_a_log_that_ends_before_the_point_is_not_assessed():
    flight = gone_around(late_s=-60.0, straight_s=120.0)
    finding = found("missed_point", flight, end_s=flight.flown.begins["climb"] + 50.0)
    assert finding.verdict == "not assessed"
    assert "the log ends before the missed approach point" in str(finding.reason)


@pytest.mark.parametrize(
    ("straight_s", "verdict"), [(60.0, "inside"), (46.0, "too close to call"), (30.0, "outside"), (4.0, "outside")]
)
def test_the_climb_before_the_turn(straight_s, verdict):
    # 500 ft/min, from 20 ft above the minimum of 1,000 ft; 1,400 ft charted before any turn
    at_turn_ft = MINIMUM_FT + 20.0 + CLIMB_FPM * straight_s / 60.0
    finding = found("missed_climb", gone_around(straight_s=straight_s))
    assert (finding.verdict, finding.limit, finding.unit) == (verdict, pytest.approx(CLIMB_FT), "ft")
    assert finding.measured == pytest.approx(at_turn_ft, abs=1.5 * CLIMB_FPM / 60.0)
    assert finding.margin == pytest.approx(at_turn_ft - CLIMB_FT, abs=1.5 * CLIMB_FPM / 60.0)


def test_a_missed_approach_without_a_climb_altitude_has_no_finding():
    assert all_of(first_of(gone_around(), chart(missed_approach=missed_table(climb_ft=None))), "missed_climb") == []


@pytest.mark.parametrize(
    ("turn_deg", "charted", "flown", "verdict"),
    [(90.0, "right", "right", "inside"), (-90.0, "right", "left", "outside"), (-90.0, "left", "left", "inside")],
)
def test_the_direction_of_the_turn(turn_deg, charted, flown, verdict):
    finding = found("missed_turn", gone_around(turn_deg=turn_deg), chart(missed_approach=missed_table(turn=charted)))
    assert (finding.measured, finding.limit, finding.verdict) == (flown, charted, verdict)


def test_a_turn_where_straight_ahead_is_charted_is_outside():
    ahead = chart(missed_approach=missed_table(turn=None, course_deg=None))
    finding = found("missed_turn", gone_around(), ahead)
    assert (finding.measured, finding.limit, finding.verdict) == ("right", "straight ahead", "outside")
    assert all_of(first_of(gone_around(turn_deg=0.0), ahead), "missed_turn") == []


def test_a_turn_that_the_log_does_not_reach_is_not_judged():
    flight = gone_around()
    for check in ("missed_turn", "missed_course"):
        finding = found(check, flight, end_s=flight.flown.begins["missed_turn"] - 5.0)
        assert finding.verdict == "not assessed"
        assert "the log ends" in str(finding.reason)


@pytest.mark.parametrize(("on_s", "verdict"), [(20.0, "not assessed"), (75.0, "outside"), (250.0, "outside")])
def test_a_charted_turn_that_is_not_flown(on_s, verdict):
    # at 500 ft/min the 1,400 ft to climb to first are reached 45.6 s after the missed approach point
    flight = gone_around(straight_s=200.0, turn_deg=0.0, on_s=200.0)
    due_s = flight.flown.begins["climb"] + (CLIMB_FT - MINIMUM_FT - 20.0) / CLIMB_FPM * 60.0
    approach = first_of(flight, end_s=due_s + on_s)
    finding = one_of(approach, "missed_turn")
    assert finding.verdict == verdict
    course_flown = one_of(approach, "missed_course")
    assert course_flown.verdict == "not assessed"
    if verdict == "outside":
        assert (finding.measured, finding.limit) == ("straight ahead", "right")
        assert finding.place.time_s - START_S == pytest.approx(due_s, abs=2.0)
        assert f"{on_s:.0f} s" in finding.sentence or f"{on_s - 1.0:.0f} s" in finding.sentence
        assert "not flown" in str(course_flown.reason)
        assert finding.lesson is not None
        assert finding.lesson.advice.startswith(f"At {CLIMB_FT:,.0f} ft turn right")
    else:
        assert "the log ends" in str(finding.reason)


def test_a_turn_begun_in_a_gap_of_the_log_has_no_altitude():
    # the turn, above the 1,400 ft, begins 60 s after the climb; the last row before the gap is 40 s after it, at 1,353 ft
    flight = gone_around()
    begins = flight.flown.begins
    log = replace(NOISY, hole_s=(begins["climb"] + 40.0, begins["to_hold"] + 10.0))
    finding = one_of(flight.debrief(log=log).approaches[0], "missed_climb")
    assert finding.verdict == "not assessed"
    assert "in a gap" in str(finding.reason)


@pytest.mark.parametrize("late_s", [20.0, 40.0])
def test_a_creep_off_the_level_does_not_begin_the_climb(late_s):
    # up by 30 ft in the 30 s before it, 60 ft/min, within the tolerance of any level
    flight = gone_around(late_s=late_s)
    climb_s = flight.flown.begins["climb"]
    low_ft = MINIMUM_FT + 20.0
    creeping = [point for point in flight.heights if point[0] < climb_s - 30.0]
    creeping += [(climb_s - 30.0, low_ft), (climb_s, low_ft + 30.0), (climb_s + 237.0, low_ft + 2005.0)]
    finding = found("missed_point", replace(flight, heights=creeping))
    assert finding.verdict == "outside"
    assert finding.measured == pytest.approx(late_s * A_SECOND, abs=2.0 * A_SECOND)


@pytest.mark.parametrize(
    ("off_deg", "verdict"),
    [(0.0, "inside"), (5.0, "inside"), (-5.0, "inside"), (10.0, "too close to call"), (-10.0, "too close to call"),
     (20.0, "outside"), (-20.0, "outside")],
)  # fmt: skip
def test_the_course_after_the_turn(off_deg, verdict):
    finding = found("missed_course", gone_around(turn_deg=90.0 + off_deg))
    assert (finding.verdict, finding.limit) == (verdict, HEADING_DEG)
    assert finding.measured == pytest.approx(abs(off_deg), abs=1.0)
    assert finding.margin == pytest.approx(HEADING_DEG - abs(off_deg), abs=1.0)
    if off_deg:
        assert f"{'right' if off_deg > 0.0 else 'left'} of it" in finding.sentence


def test_the_course_straight_ahead():
    ahead = chart(missed_approach=missed_table(turn=None, course_deg=None))
    finding = found("missed_course", gone_around(turn_deg=0.0), ahead)
    assert (finding.verdict, finding.measured) == ("inside", pytest.approx(0.0, abs=1.0))
    assert f"course {course(180.0):03.0f}°" in finding.sentence


@pytest.mark.parametrize(("off_deg", "verdict"), [(0.0, "inside"), (25.0, "outside")])
def test_the_course_direct_to_the_hold(off_deg, verdict):
    direct = chart(missed_approach=missed_table(to="WND", course_deg=None))
    finding = found("missed_course", gone_around(turn_deg=90.0 + off_deg), direct)
    assert finding.verdict == verdict
    assert "direct to WND" in finding.sentence


@pytest.mark.parametrize(("off_deg", "verdict"), [(0.0, "inside"), (25.0, "outside")])
def test_a_way_direct_to_the_hold_is_flown_direct_from_its_turn_on(off_deg, verdict):
    """Off it for half of the way, then turned to the fix: nothing is intercepted, and what comes after excuses nothing."""
    before, fix = [*first_reversal(), *missed(turn_deg=90.0 + off_deg, on_s=110.0)], hold_nm()

    def turned(correct_deg: float) -> Flown:
        turn = [Turn("correction", correct_deg, 15.0)] if off_deg else []
        return flown_from([*before, *turn, Straight("direct", 90.0)])

    def misses_nm(correct_deg: float) -> float:
        """How far to the right of the last leg the fix lies."""
        flown = turned(correct_deg)
        east, north = (float(along[-1] - along[-10]) for along in (flown.x_nm, flown.y_nm))
        to_fix = fix[0] - float(flown.x_nm[-1]), fix[1] - float(flown.y_nm[-1])
        return (to_fix[0] * north - to_fix[1] * east) / math.hypot(east, north)

    flown = turned(float(brentq(misses_nm, -80.0, -20.0)) if off_deg else 0.0)
    direct = chart(missed_approach=missed_table(to="WND", course_deg=None))
    finding = found("missed_course", Whole(flown, climbing(flown, flown.begins["climb"])), direct)
    assert finding.verdict == verdict


def turned_left(then: list[Segment]) -> Approach:
    """A left turn where a right one is charted, and what is flown after it."""
    path = [*first_reversal(), *missed(turn_deg=-90.0, on_s=60.0), *then]
    flown = flown_from(path)
    return first_of(Whole(flown, climbing(flown, flown.begins["climb"])))


def test_a_turn_to_the_wrong_side_and_its_course_count_once():
    """One event: the deviation from the course follows from the turn to the wrong side."""
    approach = turned_left([])
    assert one_of(approach, "missed_turn").verdict == "outside"
    course_of = one_of(approach, "missed_course")
    assert (course_of.verdict, course_of.measured) == ("not assessed", pytest.approx(180.0, abs=1.0))
    assert "follows from missed turn" in str(course_of.reason)
    # the same applies where no turn is charted
    ahead = first_of(gone_around(), chart(missed_approach=missed_table(turn=None, course_deg=None)))
    assert one_of(ahead, "missed_turn").verdict == "outside"
    assert "follows from missed turn" in str(one_of(ahead, "missed_course").reason)


def test_a_course_joined_after_a_wrong_turn_and_left_again_is_another_event():
    joined = [Turn("back", 180.0, BANK), Straight("joined", 90.0), Turn("off", -40.0, BANK), Straight("astray", 200.0)]
    approach = turned_left(joined)
    assert [one_of(approach, check).verdict for check in ("missed_turn", "missed_course")] == ["outside", "outside"]
    assert one_of(approach, "missed_course").measured == pytest.approx(40.0, abs=1.0)


def test_a_course_cut_short_by_another_approach_is_not_judged():
    """Straight ahead to the altitude, then a second approach before any turn to the charted course."""
    finding = one_of(missed_and_again().debrief(chart(holds=[])).approaches[0], "missed_course")
    assert finding.verdict == "not assessed"


@pytest.mark.parametrize(
    ("off_ft", "verdict"),
    [(0.0, "inside"), (60.0, "inside"), (-60.0, "inside"), (100.0, "too close to call"), (-100.0, "too close to call"),
     (150.0, "outside"), (-150.0, "outside")],
)  # fmt: skip
def test_the_altitude_of_the_level_off(off_ft, verdict):
    # FAA-S-ACS-8C IR.VI.C.S7: ±100 ft
    finding = found("missed_altitude", gone_around(to_ft=HOLD_FT + off_ft))
    assert (finding.verdict, finding.limit, finding.tolerance) == (verdict, pytest.approx(HOLD_FT), pytest.approx(HELD_FT))
    assert finding.measured == pytest.approx(HOLD_FT + off_ft, abs=1.0)
    assert finding.margin == pytest.approx(HELD_FT - abs(off_ft), abs=1.0)
    assert "IR.VI.C.S7" in finding.source


def test_a_climb_that_the_log_ends_in_is_not_judged():
    flight = gone_around()
    finding = found("missed_altitude", flight, end_s=flight.flown.begins["climb"] + 150.0)
    assert finding.verdict == "not assessed"
    assert "ends during the climb" in str(finding.reason)


def test_a_climb_right_through_the_altitude_is_outside():
    """Past it by twice the tolerance, without levelling off: the log ends in the climb."""
    flight = gone_around(to_ft=HOLD_FT + 5000.0)
    climb_s = flight.flown.begins["climb"] + (HOLD_FT + 2.0 * HELD_FT - MINIMUM_FT - 20.0) / CLIMB_FPM * 60.0
    finding = found("missed_altitude", flight, end_s=climb_s)
    assert finding.verdict == "outside"
    assert finding.margin == pytest.approx(-HELD_FT, abs=15.0)


def test_a_climb_in_steps_is_levelled_off_where_it_is_charted():
    """Level at 2,000 ft for a minute and a half on the way, as a controller may instruct."""
    flown = gone_around(on_s=400.0)
    begun = flown.flown.begins["climb"]
    step_s = begun + (2000.0 - MINIMUM_FT - 20.0) / CLIMB_FPM * 60.0
    heights = climbing(flown.flown, begun, 2000.0)
    heights += [(step_s + 90.0, 2000.0), (step_s + 90.0 + 120.0, HOLD_FT)]
    finding = found("missed_altitude", Whole(flown.flown, heights))
    assert (finding.verdict, finding.measured) == ("inside", pytest.approx(HOLD_FT, abs=1.0))


def test_a_gap_makes_inside_not_assessed_but_leaves_outside():
    flight, late = gone_around(), gone_around(to_ft=HOLD_FT + 200.0)
    hole = replace(NOISY, hole_s=(flight.flown.begins["to_hold"] + 20.0, flight.flown.begins["to_hold"] + 60.0))
    assert one_of(flight.debrief(None, hole).approaches[0], "missed_altitude").verdict == "not assessed"
    assert one_of(late.debrief(None, hole).approaches[0], "missed_altitude").verdict == "outside"


def test_what_is_flown_past_the_fix_of_the_hold_is_not_the_course_to_it():
    """The log ends in the first turn back of the hold, too early to recognise it."""
    to_fix = flown_from([*first_reversal(), *missed(on_s=60.0)])
    fix = laid(float(to_fix.x_nm[-1]), float(to_fix.y_nm[-1]))
    flown = flown_from([*first_reversal(), *missed(on_s=60.0), *laps((60.0,))])
    log = {"end_s": flown.begins["back1"] - 15.0}
    whole = Whole(flown, climbing(flown, flown.begins["climb"]))
    finding = found("missed_course", whole, chart(holds=[hold(**fix)]), **log)
    assert (finding.verdict, finding.measured) == ("inside", pytest.approx(0.0, abs=2.0))


@pytest.mark.parametrize(("closing", "verdict"), [(True, "not assessed"), (False, "outside")])
def test_a_course_that_is_being_intercepted_as_the_log_ends_is_not_judged(closing, verdict):
    """Off the course by 30° for a minute and a half: towards the line that leads to the hold, or away from it.

    Closing with a course is no deviation from it yet (common practice, no source).
    """
    flight = gone_around(turn_deg=120.0, on_s=90.0)
    x_nm, y_nm = float(flight.flown.x_nm[-1]), float(flight.flown.y_nm[-1])
    beyond = y_nm + 0.5 if closing else y_nm - 3.0
    finding = found("missed_course", flight, chart(holds=[hold(**laid(x_nm - 6.0, beyond))]))
    assert finding.verdict == verdict


@pytest.mark.parametrize(("turn_deg", "verdict"), [(210.0, "not assessed"), (150.0, "outside")])
def test_a_course_back_to_the_fix_that_is_being_intercepted_as_the_log_ends_is_not_judged(turn_deg, verdict):
    """Turned right to a course back to the fix, beside which the turn leads: by 30° more, closing with it, or 30° less."""
    flight = gone_around(turn_deg=turn_deg, on_s=45.0)
    back = missed_table(course_deg=course(0.0))
    finding = found("missed_course", flight, chart(holds=[], missed_approach=back))
    assert finding.verdict == verdict
    if verdict == "not assessed":
        assert "being intercepted" in str(finding.reason)


@pytest.mark.parametrize("lost", ["gap", "log begins inbound", "log begins in the climb"])
def test_an_approach_that_is_not_found_is_not_the_arrival_of_the_next(lost):
    """A gap, or the beginning of the log, hides the reversal, or all but the climb; no arrival at 2,900 ft is flown so low."""
    whole, begin = missed_and_again(), missed_and_again().flown.begins
    charted = replace(chart(holds=[]), floors_ft={"arrival": 2900.0})
    assert len(whole.debrief(charted).approaches) == 2
    if lost == "gap":
        log = replace(NOISY, hole_s=(begin["outbound"] + 30.0, begin["inbound"] + 20.0))
    else:
        log = NOISY
        whole = later(whole, begin["inbound"] + 30.0 if lost == "log begins inbound" else begin["climb"] + 90.0)
    approach = whole.debrief(charted, log).approaches[-1]
    assert len(whole.debrief(charted, log).approaches) == 1
    finding = one_of(approach, "altitude_floor", leg="arrival")
    assert (finding.verdict, finding.measured) == ("inside", pytest.approx(HOLD_FT, abs=60.0))


def later(whole: Whole, begin_s: float) -> Whole:
    """A flight as logged from an instant on."""
    flown = whole.flown
    k = int(np.searchsorted(flown.time_s, begin_s))
    cut = {name: getattr(flown, name)[k:] for name in ("x_nm", "y_nm", "heading_deg", "bank_deg")}
    since = float(flown.time_s[k])
    begins = {name: second - since for name, second in flown.begins.items()}
    return Whole(
        replace(flown, time_s=flown.time_s[k:] - since, begins=begins, **cut), [(t - since, ft) for t, ft in whole.heights]
    )


@pytest.mark.parametrize("joins", [True, False])
def test_an_intercept_back_to_the_final_course_is_no_turn_of_the_missed_approach(joins):
    # off the final course to the right, back to it at 40°, and up before it is joined; then straight ahead as charted, or on
    # across the course, as no one is to fly
    off = [
        *first_reversal(),
        Straight("final", 40.0),
        Turn("off", 20.0, BANK),
        Straight("away", 25.0),
        Turn("back", -60.0, BANK),
    ]
    path = closing(lambda seconds: [Straight("cutting", seconds), Turn("join", 40.0, BANK)], off)
    on = path if joins else path[:1]
    flown = flown_from([*off, *on, Straight("on", 250.0)])
    up_s = flown.begins["cutting"] + (path[0].seconds if isinstance(path[0], Straight) else 0.0) - 6.0
    straight_on = missed_table(turn=None, course_deg=None)
    flight = Whole(flown, climbing(flown, up_s))
    verdicts = {one.check: one.verdict for one in first_of(flight, chart(missed_approach=straight_on)).findings}
    outside = {check for check in CHECKS if verdicts.get(check) == "outside"}
    assert outside == (set() if joins else {"missed_point", "missed_turn"})


@pytest.mark.parametrize(
    ("miles", "first"),
    [
        ([3.0, 1.5, 0.3, 0.1, 0.5, 1.4, 0.6, 0.02, 0.4], 3),  # a lap is flown before the fix is passed again, nearer
        ([3.0, 1.5, 0.4, 0.2, 0.05], None),  # come to, and not left
        ([3.0, 2.0, 1.2, 2.0, 3.0], None),  # passed too far off
        ([0.02, 0.3, 1.5, 3.0], None),  # not come to
    ],
)
def test_the_fix_of_a_hold_is_passed_where_it_is_come_to_and_left_for_the_first_time(miles, first):
    assert first_passage(np.array(miles) * NM) == first


def test_a_correction_back_to_the_final_course_in_the_climb_is_no_turn_either():
    """Two thirds of a mile right of the course and parallel to it, up, back to the course at 40°, and the charted turn."""
    aside = [Straight("final", 60.0), Turn("off", 20.0, BANK), Straight("away", 60.0), Turn("parallel", -20.0, BANK)]
    off = [*first_reversal(), *aside, Straight("level", 5.0), Turn("back", -40.0, BANK)]
    path = closing(lambda seconds: [Straight("cutting", seconds), Turn("join", 40.0, BANK)], off)
    flown = flown_from([*off, *path, Straight("climb", 30.0), Turn("missed_turn", 90.0, BANK), Straight("on", 200.0)])
    assert float(np.abs(flown.x_nm[flown.time_s >= flown.begins["climb"]][0])) < 0.01
    up_s = flown.begins["back"] - 10.0
    approach = first_of(Whole(flown, climbing(flown, up_s)), chart(holds=[]))
    turn, climb = one_of(approach, "missed_turn"), one_of(approach, "missed_climb")
    assert (turn.verdict, turn.measured) == ("inside", "right")
    turned_ft = MINIMUM_FT + 20.0 + (flown.begins["missed_turn"] - up_s) / 60.0 * CLIMB_FPM
    assert (climb.verdict, climb.measured) == ("inside", pytest.approx(turned_ft, abs=25.0))


def away_and_again(to_ft: float = HOLD_FT) -> Whole:
    """A missed approach to the fix of its hold, a turn back there to the wrong side for a hold, and a second approach."""
    away = [*first_reversal(), *missed(), Turn("around", -180.0, BANK)]

    def joined(seconds: float) -> list[Segment]:
        return [Straight("east", seconds), Turn("join_turn", -100.0, BANK), Turn("settling", 10.0, 1.0)]

    path = [*away, *closing(joined, away)]
    path.append(Straight("second_arrival", -float(flown_from(path).y_nm[-1]) / A_SECOND))
    path += [*reversal(path, "second_"), Straight("landing", THRESHOLD_NM / A_SECOND)]
    flown = flown_from(path)
    return Whole(flown, [*climbing(flown, flown.begins["climb"], to_ft), *landing(flown)])


def test_a_course_that_was_flown_before_another_approach_is_judged():
    """West from the turn for 220 s, which is 7 NM of the charted course, and back for another approach, still climbing."""
    finding = one_of(away_and_again(5500.0).debrief(chart(holds=[])).approaches[0], "missed_course")
    assert (finding.verdict, finding.measured) == ("inside", pytest.approx(0.0, abs=1.0))


def test_who_turns_at_the_fix_of_a_hold_for_another_approach_did_not_hold():
    flight = away_and_again().debrief()
    assert len(flight.approaches) == 2
    assert flight.holds == ()


def test_a_missed_approach_that_begins_in_a_gap_is_not_the_arrival_of_the_next():
    """The log breaks off before the climb, and goes on in it after the turn; no arrival at 2,900 ft is flown so low."""
    flight = away_and_again()
    charted = replace(chart(holds=[]), floors_ft={"arrival": 2900.0})
    hole = replace(NOISY, hole_s=(flight.begin("climb") - START_S - 10.0, flight.begin("missed_turn") - START_S + 50.0))
    first, second = flight.debrief(charted, hole).approaches
    assert first.reversal.ending == "log breaks off"
    finding = one_of(second, "altitude_floor", leg="arrival")
    assert (finding.verdict, finding.measured) == ("inside", pytest.approx(HOLD_FT, abs=60.0))


@pytest.mark.parametrize(
    ("first_ft", "verdict"), [(250.0, "outside"), (60.0, "inside"), (-180.0, "outside"), (-900.0, "inside")]
)
def test_a_level_near_the_altitude_counts_though_it_is_corrected_later(first_ft, verdict):
    """A minute and a half at another altitude, then the charted one: one well below it may be a step of the climb."""
    flown = gone_around(on_s=400.0).flown
    begun, first = flown.begins["climb"], HOLD_FT + first_ft
    held_s = begun + (first - MINIMUM_FT - 20.0) / CLIMB_FPM * 60.0
    heights = [*climbing(flown, begun, first), (held_s + 90.0, first), (held_s + 90.0 + abs(first_ft) / 8.0, HOLD_FT)]
    finding = found("missed_altitude", Whole(flown, heights))
    assert finding.verdict == verdict
    assert finding.measured == pytest.approx(first if verdict == "outside" else HOLD_FT, abs=61.0 if first_ft == 60.0 else 2.0)


@pytest.mark.parametrize("off_deg", [15.0, -15.0, 25.0])
def test_flown_direct_to_the_hold_that_the_course_leads_to_is_no_departure_from_the_course(off_deg):
    """A turn at an altitude begins where the climb ends: from there the charted course misses the fix of the hold."""
    flight = gone_around()
    beside = chart(missed_approach=missed_table(course_deg=(course(270.0) + off_deg) % 360.0))
    finding = found("missed_course", flight, beside)
    assert (finding.verdict, finding.reason) == ("not assessed", "it was flown direct to WND, where the course leads")
    assert finding.measured == pytest.approx(abs(off_deg), abs=1.5)
    # without the hold there, it is one
    assert found("missed_course", flight, chart(**beside.tables | {"holds": []})).verdict == "outside"
    x_nm, y_nm = hold_nm()
    elsewhere = beside.tables | {"holds": [hold(**laid(x_nm, y_nm + 4.0))]}
    assert found("missed_course", flight, chart(**elsewhere)).verdict == "outside"
