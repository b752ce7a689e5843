"""Passages of the fix against straight lines past it, in closed form."""

import datetime as dt

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from synthetic import CALM, HERE, NM, START_S, Chart, Flown, Log, Place, Straight, Turn, fly

from analyzer.legs.passages import Abeam, find_passages
from analyzer.motion.smooth import analyse_motion
from analyzer.procedure.charted import resolve

EXACT = Log()


def passages_of(flown: Flown, log: Log = EXACT, place: Place = HERE) -> tuple[Abeam, ...]:
    motion = analyse_motion(log.of(flown, place), resolve(Chart().at(place), dt.date(2026, 6, 1)))
    return find_passages(motion.states)


@settings(max_examples=20, deadline=None)
@given(st.floats(-1.9, 1.9), st.floats(70.0, 250.0), st.floats(0.0, 359.0), st.floats(0.05, 0.95))
def test_a_straight_line_past_the_fix(offset_nm, speed_kt, course, share):
    # Abeam on a straight line is its foot: the offset away, and as long after the start as the way there takes.
    before_nm = 5.0 + share
    flown = fly([Straight("by", 2.0 * before_nm / speed_kt * 3600.0)], (offset_nm, -before_nm), 0.0, speed_kt)
    (passage,) = passages_of(flown, place=Place(outbound_true_deg=course))
    assert passage.time_s - START_S == pytest.approx(before_nm / speed_kt * 3600.0, abs=0.05)
    assert passage.distance_m == pytest.approx(abs(offset_nm) * NM, abs=2.0)


def test_three_miles_abeam_is_no_passage():
    assert passages_of(fly([Straight("by", 300.0)], (3.0, -5.0))) == ()


def test_out_and_back_are_two_passages_and_a_wiggle_at_the_fix_is_one():
    out_and_back = [Straight("out", 200.0), Turn("round", 210.0, 20.0), Straight("back", 260.0)]
    times = [p.time_s - START_S for p in passages_of(fly(out_and_back, (0.0, -2.0)))]
    assert len(times) == 2
    assert times[0] == pytest.approx(60.0, abs=0.05)  # 2 NM at 120 kt
    tight_orbit = [Straight("in", 90.0), Turn("round", 360.0, 30.0), Straight("out", 120.0)]  # 0.73 NM across
    assert len(passages_of(fly(tight_orbit, (0.0, -3.0)))) == 1


@pytest.mark.parametrize("speed_kt", [150.0, 220.0, 270.0])
@pytest.mark.parametrize("turned_deg", [200.0, 240.0, 260.0])
@pytest.mark.parametrize("wind_from_deg", [0.0, 60.0, 180.0, 300.0])
def test_abeam_on_the_way_out_of_the_turn_begun_over_the_fix_is_no_second_passage(speed_kt, turned_deg, wind_from_deg):
    """AIM 5-3-8 j.3: a direct entry from the edge of its sector turns 250°. At 220 kt and 25° of bank the turn is 3 NM across,
    and 40 kt of wind carry it to where the fix is passed again, up to 2 NM abeam, when the turn is done.
    """
    wind = (wind_from_deg, 40.0)
    path = [Straight("in", 120.0), Turn("round", turned_deg, 25.0), Straight("out", 120.0)]
    probe = fly(path, (0.0, 0.0), 180.0, speed_kt, wind, 5.0)
    start = (-float(probe.at(120.0, probe.x_nm)), -float(probe.at(120.0, probe.y_nm)))
    found = passages_of(fly(path, start, 180.0, speed_kt, wind, 5.0))
    assert [round(p.time_s - START_S) for p in found] == [120]


@pytest.mark.parametrize("speed_kt", [150.0, 270.0])
def test_the_end_of_the_turn_back_is_a_passage_however_fast(speed_kt):
    """A racetrack: over the fix, and over it again."""
    turn = Turn("turn", 180.0, 25.0)
    path = [Straight("in", 120.0), turn, Straight("out", 60.0), turn, Straight("home", 90.0)]
    found = passages_of(fly(path, (0.0, 120.0 * speed_kt / 3600.0), 180.0, speed_kt, roll_deg_s=5.0))
    assert [round(p.distance_m / NM, 1) for p in found] == [0.0, 0.0]


@pytest.mark.parametrize(("miles_from_fix", "passages"), [(0.4, 1), (0.9, 1), (1.1, 0)])
def test_a_log_that_begins_or_ends_near_the_fix(miles_from_fix, passages):
    away = fly([Straight("away", 120.0)], (0.0, miles_from_fix), 0.0)
    found = passages_of(away)
    assert len(found) == passages
    towards = fly([Straight("towards", 120.0)], (0.0, miles_from_fix + 4.0), 180.0)
    at_end = passages_of(towards)
    assert len(at_end) == passages
    if passages:
        assert found[0].time_s == START_S
        assert found[0].distance_m == pytest.approx(miles_from_fix * NM, abs=1.0)
        assert at_end[0].time_s == pytest.approx(START_S + 120.0)


def test_noise_and_a_slow_log_move_a_passage_by_little():
    flown = fly([Straight("by", 300.0)], (0.5, -5.0), 0.0, 120.0, CALM)
    (passage,) = passages_of(flown, Log(noise_m=3.0, step_s=5.0))
    assert passage.time_s - START_S == pytest.approx(150.0, abs=0.3)
    assert passage.distance_m == pytest.approx(0.5 * NM, abs=6.0)


def test_a_passage_in_a_gap():
    # On a straight line at a steady speed it can be told; the samples about the gap alone would put it 15 s late.
    flown = fly([Straight("by", 300.0)], (0.5, -5.0))
    for hole in ((115.0, 155.0), (145.0, 185.0), (149.0, 152.0)):
        (passage,) = passages_of(flown, Log(hole_s=hole))
        assert passage.time_s - START_S == pytest.approx(150.0, abs=1.0)
        assert passage.distance_m == pytest.approx(0.5 * NM, abs=10.0)
