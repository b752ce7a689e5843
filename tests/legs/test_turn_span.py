"""Where one turn ends, and where a line between values is within one: shapes whose answer their own construction gives."""

import datetime as dt

import numpy as np
import pytest
from synthetic import START_S, Chart, Log, Straight, Turn, fly

from analyzer.legs.boundaries import _crossing, _within_one, held_bank, turn_span
from analyzer.motion.smooth import analyse_motion
from analyzer.procedure.charted import resolve

CHARTED = resolve(Chart().at(), dt.date(2026, 6, 1))


@pytest.mark.parametrize("side", [1, -1])
@pytest.mark.parametrize(("first_deg", "ends_there"), [(90.0, False), (110.0, False), (135.0, True), (160.0, True)])
def test_level_wings_end_a_turn_that_has_come_round_and_no_other(first_deg, ends_there, side):
    """A turn that pauses for 8 s and goes on by 60°; past some 120° the pause ends it (common practice, no source)."""
    path = [Straight("in", 40.0), Turn("a", side * first_deg, 20.0), Straight("pause", 8.0), Turn("b", side * 60.0, 20.0)]
    flown = fly([*path, Straight("out", 60.0)], roll_deg_s=5.0)
    states = analyse_motion(Log(noise_m=0.3).of(flown), CHARTED).states
    first, last = (int(np.searchsorted(states.time_s, START_S + flown.begins[name])) for name in ("a", "out"))
    begun, ended = (at - START_S for at in turn_span(states, first, last, side))
    assert begun == pytest.approx(flown.begins["a"], abs=0.5)
    assert ended == pytest.approx(flown.begins["pause" if ends_there else "out"], abs=0.5)


@pytest.mark.parametrize("side", [1, -1])
@pytest.mark.parametrize("steeper_deg", [20.0, 25.0])
def test_a_turn_that_is_resumed_more_steeply_begins_where_most_of_it_does(steeper_deg, side):
    """A turn back at 15° that comes out early, the wings level for a moment, and is resumed at a steeper bank."""
    path = [Straight("in", 40.0), Turn("a", side * 170.0, 15.0), Straight("pause", 3.0), Turn("b", side * 50.0, steeper_deg)]
    flown = fly([*path, Straight("out", 60.0)], roll_deg_s=5.0)
    states = analyse_motion(Log(noise_m=0.3).of(flown), CHARTED).states
    first, last = (int(np.searchsorted(states.time_s, START_S + flown.begins[name])) for name in ("a", "out"))
    begun, ended = (at - START_S for at in turn_span(states, first, last, side))
    assert begun == pytest.approx(flown.begins["a"], abs=0.7)
    assert ended == pytest.approx(flown.begins["pause"], abs=1.5)


@pytest.mark.parametrize("steeper_deg", [20.0, 25.0])
@pytest.mark.parametrize("tightened_deg", [0.0, 30.0, 60.0])
def test_the_bank_of_a_turn_that_is_tightened_at_its_end_is_held_from_its_roll_in(steeper_deg, tightened_deg):
    """A turn of 180° at 14°, the last of it steeper, rolled at 5° a second: from 0.8 of 14° on, and back to it."""
    parts = [(180.0 - tightened_deg, 14.0), *([(tightened_deg, steeper_deg)] if tightened_deg else [])]
    flown = fly([*(Turn(name, *turn) for name, turn in zip("ab", parts, strict=False)), Straight("out", 60.0)], roll_deg_s=5.0)
    bank = flown.at(np.arange(0.0, flown.begins["out"]), flown.bank_deg)
    held = held_bank(np.radians(bank))
    assert held.start == pytest.approx(0.8 * 14.0 / 5.0, abs=1.0)
    assert len(bank) - held.stop == pytest.approx(0.8 * 14.0 / 5.0, abs=1.0)


def test_a_turn_that_slowly_closes_with_a_course_is_held_until_it_does():
    bank = np.radians([9.0, 18.0, *[27.0] * 30, *np.linspace(26.0, 10.0, 17)])
    held = held_bank(bank)
    # at 0.8 of 27°, which is 21.6°, after 4.4 s of shallowing by a degree a second
    assert (held.start, held.stop) == (2, 2 + 30 + 5)


@pytest.mark.parametrize("opposite_deg", [0.0, 10.0, 20.0])
def test_a_turn_out_of_an_opposite_bank_begins_where_the_roll_does(opposite_deg):
    """From 20° of bank the other way, at 5° a second, the wings are level after 4 s, and the turn's bank is reached after 8."""
    path = [Straight("in", 40.0)] + ([Turn("other", -60.0, opposite_deg)] if opposite_deg else [])
    flown = fly([*path, Turn("turn", 180.0, 20.0), Straight("out", 60.0)], roll_deg_s=5.0)
    states = analyse_motion(Log(noise_m=0.3).of(flown), CHARTED).states
    first, last = (int(np.searchsorted(states.time_s, START_S + flown.begins[name])) for name in ("turn", "out"))
    begun, _ = turn_span(states, first, last, 1, np.radians(opposite_deg))
    # the other turn is over when its roll out is; the roll that both share began by as much earlier
    assert begun - START_S == pytest.approx(flown.begins["turn"] - opposite_deg / 5.0, abs=0.7)


@pytest.mark.parametrize("seconds", [1.0, 4.0])
@pytest.mark.parametrize("forwards", [True, False])
def test_the_instant_a_bank_falls_through_a_level_is_on_the_line_between(seconds, forwards):
    time, bank = 100.0 + seconds * np.arange(5.0), np.array([0.4, 0.4, 0.3, 0.1, 0.0])
    bank = bank if forwards else bank[::-1]
    at = _crossing(time, bank, 0, 4, 0.15) if forwards else _crossing(time, bank, 4, 0, 0.15)
    # three quarters of the way from 0.3 to 0.1, which are the third and fourth of them
    assert at == pytest.approx(100.0 + seconds * (2.75 if forwards else 1.25))


VALUES = (-2.5, -1.0, -0.4, 0.0, 0.3, 1.0, 2.0)


@pytest.mark.parametrize("before", VALUES)
@pytest.mark.parametrize("after", VALUES)
def test_where_a_line_between_two_values_is_within_one(before, after):
    begin, end = (float(share[0]) for share in _within_one(np.array([before, after])))
    shares = np.linspace(0.0, 1.0, 100_001)
    within = shares[np.abs(before + shares * (after - before)) <= 1.0 + 1e-9]
    if abs(after - before) >= 3.0 or not len(within):  # from one limit to beyond the other in a second is no flight
        assert (begin, end) == (1.0, 0.0)
    else:
        assert (begin, end) == pytest.approx((within[0], within[-1]), abs=1e-4)


@pytest.mark.parametrize("late_s", [0, 16])
@pytest.mark.parametrize("side", [1, -1])
def test_a_shallow_turn_that_is_tightened_at_its_end_begins_with_its_roll_in(side, late_s):
    """A slow aircraft's turn at 9.5°, near level flight for whoever cuts it, and at 16° where it comes out."""
    path = [Straight("in", 60.0), Turn("a", side * 150.0, 9.5), Turn("b", side * 60.0, 16.0), Straight("out", 60.0)]
    flown = fly(path, roll_deg_s=5.0, speed_kt=95.0)
    states = analyse_motion(Log(noise_m=0.3).of(flown), CHARTED).states
    first, last = (int(np.searchsorted(states.time_s, START_S + flown.begins[name])) for name in ("a", "out"))
    begun, _ = (at - START_S for at in turn_span(states, first + late_s, last, side))
    assert begun == pytest.approx(flown.begins["a"], abs=1.5)
