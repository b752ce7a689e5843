"""Recorded columns: used where they agree with the positions, refused with a word on why where they do not.

What columns are held against is the flight that the log was made from, in closed form.
"""

import datetime as dt
import math
import re
from dataclasses import replace

import numpy as np
import pytest
from patterns import Pattern, fly_approach
from synthetic import FT, KT, START_S, Chart, Flown, Log, Place, Straight, Turn, fly

from analyzer.legs.boundaries import turn_span
from analyzer.motion.motion import Motion
from analyzer.motion.smooth import analyse_motion, see_against
from analyzer.procedure.charted import resolve
from analyzer.track.air import Air

NORTH = Place(outbound_true_deg=0.0, variation_deg=0.0)
NOISY = Log(noise_m=2.0)
APPROACH = fly_approach(Pattern(wind=(220.0, 20.0), roll_deg_s=5.0, intercept=True))


def motion_of(flown: Flown, log: Log = NOISY, **recorded: np.ndarray) -> Motion:
    track = replace(log.of(flown, NORTH), recorded=recorded)
    return analyse_motion(track, resolve(Chart().at(NORTH), dt.date(2026, 6, 1)))


def column(flown: Flown, values: np.ndarray, factor: float, log: Log = NOISY, late_s: float = 0.0) -> np.ndarray:
    """Values of a flight as logged, or as they were some seconds before."""
    return flown.at(log.of(flown, NORTH).time_s - START_S - late_s, values) * factor


def held(values: np.ndarray, samples: int) -> np.ndarray:
    """Each value in the place of those after it."""
    return values[np.arange(len(values)) // samples * samples]


BANK = column(APPROACH.flown, APPROACH.flown.bank_deg, math.pi / 180.0)
HEADING = column(APPROACH.flown, APPROACH.flown.heading_deg, math.pi / 180.0)


def said(motion: Motion) -> str:
    return " ".join(note.text for note in motion.notes)


def test_a_recorded_bank_that_agrees_is_used():
    motion = motion_of(APPROACH.flown, bank_rad=BANK)
    assert motion.bank_recorded(motion.states).all()
    assert motion.states.bank_rad == pytest.approx(BANK[: len(motion.states)], abs=1e-9)
    assert "recorded bank agrees" in said(motion)


@pytest.mark.parametrize("wrong", [-BANK, BANK / 2.0, BANK + 0.1, np.zeros_like(BANK)])
def test_a_bank_of_another_sign_scale_or_zero_is_refused(wrong):
    motion = motion_of(APPROACH.flown, bank_rad=wrong)
    assert not motion.bank_recorded(motion.states).any()
    assert "recorded bank not used" in said(motion)
    without = motion_of(APPROACH.flown)
    assert (motion.states.bank_rad == without.states.bank_rad).all()


@pytest.mark.parametrize("off_deg", [-20.0, 15.0])
def test_a_magnetic_heading_taken_for_a_true_one_is_refused(off_deg):
    motion = motion_of(APPROACH.flown, heading_rad=HEADING + math.radians(off_deg))
    assert motion.recorded("heading_rad", motion.states) is None
    assert "recorded heading not used" in said(motion)


def test_a_magnetic_heading_is_refused_where_the_wind_is_poorly_known_too():
    """A variation of 18° makes a wind of a third of the airspeed, which a flight that slows down in turns does not exclude."""
    log = Log(noise_m=20.0)
    slow = fly_approach(Pattern(speed_kt=70.0, reversal_kt=50.0, wind=(220.0, 15.0), roll_deg_s=5.0, intercept=True)).flown
    heading = column(slow, slow.heading_deg, math.pi / 180.0, log)
    assert "recorded heading used, but could not be checked" in said(motion_of(slow, log, heading_rad=heading))
    magnetic = motion_of(slow, log, heading_rad=heading + math.radians(18.0))
    assert "recorded heading not used: it is off the heading" in said(magnetic)
    assert magnetic.recorded("heading_rad", magnetic.states) is None


def test_heading_and_airspeed_tell_the_wind_without_a_turn():
    # From 280° at 30 kt, heading 010° at 110 kt: nothing in the track alone tells it.
    flown = fly([Straight("on", 400.0)], (0.0, -6.0), 10.0, 110.0, (280.0, 30.0))
    n = len(NOISY.of(flown, NORTH).time_s)
    assert motion_of(flown).wind is None
    heading = np.full(n, math.radians(10.0))
    motion = motion_of(flown, heading_rad=heading, true_airspeed_mps=np.full(n, 110.0 * KT))
    wind = motion.wind_between(START_S, START_S + 400.0)
    assert wind is not None
    assert wind.speed_mps / KT == pytest.approx(30.0, abs=2.0)
    assert math.degrees(wind.from_true_rad) == pytest.approx(280.0, abs=5.0)
    assert "recorded" in wind.source
    assert motion_of(flown, heading_rad=heading).wind is None


def test_a_column_with_holes_is_used_where_it_is():
    gaps = BANK.copy()
    gaps[200:230] = np.nan
    motion = motion_of(APPROACH.flown, bank_rad=gaps)
    recorded = motion.bank_recorded(motion.states)
    assert recorded[:200].all()
    assert not recorded[201:229].any()
    assert recorded[230:].all()
    assert np.isfinite(motion.states.bank_rad).all()
    assert motion.states.bank_rad[100:190] == pytest.approx(BANK[100:190], abs=1e-9)


def test_heading_and_airspeed_tell_the_wind_of_a_flight_without_turns():
    # 110 kt on 010°, 30 kt from 250°: the ground speed is 18 kt more than the airspeed, and that is the wind.
    flown = fly([Straight("on", 400.0)], (0.0, -6.0), 10.0, 110.0, (250.0, 30.0))
    n = len(NOISY.of(flown, NORTH).time_s)
    motion = motion_of(flown, heading_rad=np.full(n, math.radians(10.0)), true_airspeed_mps=np.full(n, 110.0 * KT))
    wind = motion.wind_between(START_S, START_S + 400.0)
    assert wind is not None
    assert wind.speed_mps == pytest.approx(30.0 * KT, abs=3.0 * wind.sd_mps)
    assert math.degrees(wind.from_true_rad) == pytest.approx(250.0, abs=5.0)


EVERY = {step_s: replace(NOISY, step_s=step_s) for step_s in (1.0, 2.0, 5.0, 10.0, 15.0)}
DEGREE = math.radians(1.0)


@pytest.mark.parametrize("log", EVERY.values(), ids=str)
@pytest.mark.parametrize("name", ["bank_rad", "heading_rad"])
def test_the_wrong_sign_is_refused_at_any_rate_of_logging(log, name):
    values = APPROACH.flown.bank_deg if name == "bank_rad" else APPROACH.flown.heading_deg
    motion = motion_of(APPROACH.flown, log, **{name: -column(APPROACH.flown, values, DEGREE, log)})
    assert motion.recorded(name, motion.states) is None
    assert "wrong sign" in said(motion)


@pytest.mark.parametrize("factor", [0.9, 1.1, 1.852, 0.5144, 1.0 / 57.3])
@pytest.mark.parametrize("log", EVERY.values(), ids=str)
def test_no_bank_is_used_that_is_off_by_a_tenth(log, factor):
    motion = motion_of(APPROACH.flown, log, bank_rad=column(APPROACH.flown, APPROACH.flown.bank_deg, DEGREE * factor, log))
    assert motion.recorded("bank_rad", motion.states) is None
    assert "recorded bank not used" in said(motion)


@pytest.mark.parametrize("name", ["ground_speed_mps", "true_airspeed_mps", "indicated_airspeed_mps"])
@pytest.mark.parametrize(("factor", "used"), [(0.9, False), (1.0, True), (1.1, False), (1.852, False)])
def test_a_speed_that_is_off_by_a_tenth_is_refused(name, factor, used):
    flown, n = APPROACH.flown, len(BANK)
    moved = np.hypot(np.gradient(flown.x_nm, flown.time_s), np.gradient(flown.y_nm, flown.time_s)) * 3600.0
    speed = {
        "ground_speed_mps": column(flown, moved, KT),
        "true_airspeed_mps": np.full(n, 120.0 * KT),
        "indicated_airspeed_mps": np.full(n, 114.8 * KT),  # of 120 kt at 3,000 ft in the standard atmosphere
    }[name]
    motion = motion_of(flown, **{name: speed * factor})
    assert (motion.recorded(name, motion.states) is not None) == used
    assert ("times" in said(motion)) != used


@pytest.mark.parametrize("log", [EVERY[1.0], EVERY[2.0], EVERY[5.0]], ids=str)
def test_columns_as_good_instruments_log_them_are_used(log):
    bank = np.round(column(APPROACH.flown, APPROACH.flown.bank_deg, 1.0, log)) * DEGREE
    heading = np.round(column(APPROACH.flown, APPROACH.flown.heading_deg, 1.0, log)) % 360.0 * DEGREE
    n = len(bank)
    speed = (120.0 + np.random.default_rng(1).normal(0.0, 1.0, n)) * KT
    motion = motion_of(APPROACH.flown, log, bank_rad=bank, heading_rad=heading, true_airspeed_mps=speed)
    for name in ("bank_rad", "heading_rad", "true_airspeed_mps"):
        assert motion.recorded(name, motion.states) is not None, said(motion)
    assert not motion.curves.believed.unchecked


@pytest.mark.parametrize("samples", [5, 10])
def test_values_that_each_stand_for_several_samples_are_noticed(samples):
    motion = motion_of(APPROACH.flown, heading_rad=held(HEADING, samples))
    assert motion.recorded("heading_rad", motion.states) is None
    assert f"stands for {samples} s" in said(motion)
    # a bank changes in the rolls alone: what is seen of it is that it is late, or stands still where the aircraft rolls
    motion = motion_of(APPROACH.flown, bank_rad=held(BANK, samples))
    assert motion.recorded("bank_rad", motion.states) is None
    assert "lags behind" in said(motion) or "stands" in said(motion)


@pytest.mark.parametrize("late_s", [-8.0, -5.0, 5.0, 8.0])
@pytest.mark.parametrize("name", ["bank_rad", "heading_rad"])
def test_values_that_come_seconds_late_or_early_are_noticed(name, late_s):
    values = APPROACH.flown.bank_deg if name == "bank_rad" else APPROACH.flown.heading_deg
    motion = motion_of(APPROACH.flown, **{name: column(APPROACH.flown, values, DEGREE, late_s=late_s)})
    assert motion.recorded(name, motion.states) is None
    assert f"{'lags behind' if late_s > 0.0 else 'is ahead of'} the positions by {abs(late_s):.0f} s" in said(motion)


def test_a_column_is_not_used_where_it_stands_still_and_the_positions_turn():
    stuck = BANK.copy()
    into = int(APPROACH.begin("reversal_turn")) - 5
    stuck[into : into + 45] = 0.0
    motion = motion_of(APPROACH.flown, bank_rad=stuck)
    assert "in which it stands still" in said(motion)
    turn = motion.states.between(START_S + into + 12.0, START_S + into + 38.0)
    assert not motion.bank_recorded(turn).any()
    assert np.abs(turn.bank_rad).min() > math.radians(10.0)  # as the positions tell it


def test_a_bank_that_nothing_bears_out_is_not_used():
    straight = fly([Straight("on", 400.0)], (0.0, -6.0), 10.0, 110.0)
    n = len(NOISY.of(straight, NORTH).time_s)
    motion = motion_of(straight, bank_rad=np.zeros(n))
    assert motion.recorded("bank_rad", motion.states) is None
    assert "cannot be checked well enough" in said(motion)


def test_heading_and_airspeed_without_a_turn_are_used_and_said_to_be_unchecked():
    straight = fly([Straight("on", 400.0)], (0.0, -6.0), 10.0, 110.0)
    n = len(NOISY.of(straight, NORTH).time_s)
    heading = np.full(n, math.radians(10.0))
    motion = motion_of(straight, heading_rad=heading, true_airspeed_mps=np.full(n, 110.0 * KT))
    assert motion.curves.believed.unchecked == {"heading_rad", "true_airspeed_mps"}
    assert "could not be checked" in said(motion)
    wind = motion.wind_between(START_S, START_S + 400.0)
    assert wind is not None
    assert "could not be checked" in wind.source
    # no wind makes 204 kt of 110, nor 57 kt
    for factor in (1.852, 0.5144):
        motion = motion_of(straight, heading_rad=heading, true_airspeed_mps=np.full(n, 110.0 * KT * factor))
        assert motion.recorded("true_airspeed_mps", motion.states) is None


@pytest.mark.parametrize(("factor", "used"), [(1.0, True), (-1.0, False), (0.3048, False), (1.1, False)])
def test_vertical_speed_goes_with_the_altitude(factor, used):
    down = replace(NOISY, altitude_ft=[(0.0, 6000.0), (100.0, 6000.0), (300.0, 4000.0), (1e5, 4000.0)])  # 600 ft/min
    second = down.of(APPROACH.flown, NORTH).time_s - START_S
    climb = np.where((second > 100.0) & (second < 300.0), -600.0 * FT / 60.0, 0.0)
    motion = motion_of(APPROACH.flown, down, vertical_speed_mps=climb * factor)
    assert (motion.recorded("vertical_speed_mps", motion.states) is not None) == used


def test_a_recorded_bank_against_the_turn_that_was_flown_makes_no_crash():
    motion = motion_of(APPROACH.flown)
    states = replace(motion.states, bank_rad=-np.abs(motion.states.bank_rad))
    begin = int(APPROACH.begin("reversal_turn"))
    start, end = turn_span(states, begin, begin + 40, 1)
    assert start < end


def test_a_wind_is_told_by_what_is_known_of_it_where_the_turn_has_a_hole():
    # of the turns little more than their ends is left, and each stretch is known least well there
    true = 20.0 * KT * np.array([-math.cos(math.radians(220.0)), -math.sin(math.radians(220.0))])
    for seed in range(6):
        turn = APPROACH.begin("reversal_turn")
        log = Log(noise_m=2.0, step_s=5.0, seed=seed, hole_s=(turn + 15.0, turn + 55.0))
        wind = motion_of(APPROACH.flown, log).wind_between(START_S, START_S + APPROACH.flown.time_s[-1])
        assert wind is not None
        assert math.hypot(wind.to_north_mps - true[0], wind.to_east_mps - true[1]) < 4.0 * wind.sd_mps


MOVED = np.hypot(
    np.gradient(APPROACH.flown.x_nm, APPROACH.flown.time_s), np.gradient(APPROACH.flown.y_nm, APPROACH.flown.time_s)
)
TRACK_DEG = np.degrees(
    np.unwrap(
        np.arctan2(
            np.gradient(APPROACH.flown.x_nm, APPROACH.flown.time_s), np.gradient(APPROACH.flown.y_nm, APPROACH.flown.time_s)
        )
    )
)


def flown_column(name: str, log: Log = NOISY, late_s: float = 0.0) -> np.ndarray:
    """A column of the approach as it was flown, or as it was some seconds before."""
    values, unit = {
        "bank_rad": (APPROACH.flown.bank_deg, DEGREE),
        "heading_rad": (APPROACH.flown.heading_deg, DEGREE),
        "track_rad": (TRACK_DEG, DEGREE),
        "ground_speed_mps": (MOVED * 3600.0, KT),
    }[name]
    return column(APPROACH.flown, values, unit, log, late_s)


def is_used(motion: Motion, name: str) -> bool:
    return motion.recorded(name, motion.states) is not None


@pytest.mark.parametrize("sign", [-1.0, 1.0])
@pytest.mark.parametrize(
    ("name", "good_deg", "bad_deg"), [("bank_rad", 1.0, 2.5), ("heading_rad", 3.0, 8.0), ("track_rad", 2.5, 8.0)]
)
def test_what_a_column_may_be_off_by_throughout(name, good_deg, bad_deg, sign):
    """A bank is known from the turns to a tenth of a degree; a compass is good to some degrees (common practice, no source)."""
    shaken = flown_column(name) + np.random.default_rng(4).normal(0.0, 0.2 * DEGREE, len(BANK))  # as no value stays in flight
    assert is_used(motion_of(APPROACH.flown, **{name: shaken + sign * good_deg * DEGREE}), name)
    motion = motion_of(APPROACH.flown, **{name: shaken + sign * bad_deg * DEGREE})
    assert not is_used(motion, name)
    off_deg = float(re.search(r"it is off the .* by ([+-]\d+)° throughout", said(motion))[1])
    assert off_deg == pytest.approx(sign * bad_deg, abs=0.6)


@pytest.mark.parametrize("factor", [0.945, 1.055])
def test_a_bank_that_is_off_by_a_twentieth_is_used(factor):
    assert is_used(motion_of(APPROACH.flown, bank_rad=BANK * factor), "bank_rad")


@pytest.mark.parametrize(("step_s", "late_s"), [(5.0, 4.0), (10.0, 7.0)])
@pytest.mark.parametrize("name", ["heading_rad", "track_rad"])
def test_values_late_by_less_than_a_step_are_noticed(name, step_s, late_s):
    log = EVERY[step_s]
    motion = motion_of(APPROACH.flown, log, **{name: flown_column(name, log, late_s)})
    assert not is_used(motion, name)
    assert "lags behind the positions" in said(motion)


@pytest.mark.parametrize("late_s", [-6.0, 6.0])
def test_a_ground_speed_that_comes_late_or_early_is_noticed(late_s):
    assert is_used(motion_of(APPROACH.flown, ground_speed_mps=flown_column("ground_speed_mps")), "ground_speed_mps")
    motion = motion_of(APPROACH.flown, ground_speed_mps=flown_column("ground_speed_mps", late_s=late_s))
    assert not is_used(motion, "ground_speed_mps")
    assert f"{'lags behind' if late_s > 0.0 else 'is ahead of'} the positions by 6 s" in said(motion)


@pytest.mark.parametrize("name", ["bank_rad", "heading_rad", "track_rad", "ground_speed_mps"])
def test_a_quarter_of_a_minute_of_standing_still_in_a_turn_is_left_out(name):
    """15 s at 3° a second are 45°; in 20 kt of wind the ground speed changes by 15 kt in that turn."""
    into, lasts = int(APPROACH.begin("reversal_turn")) + 20, 15
    stuck = flown_column(name).copy()
    stuck[into : into + lasts] = stuck[into]
    motion = motion_of(APPROACH.flown, **{name: stuck})
    if name == "bank_rad":  # which is steady in the turn: right as it stands
        assert "stands still" not in said(motion)
        stuck = np.concatenate([stuck[:into], np.zeros(lasts), stuck[into + lasts :]])
        motion = motion_of(APPROACH.flown, bank_rad=stuck)
    there = motion.states.between(START_S + into + 1.0, START_S + into + lasts - 2.0)
    recorded = motion.recorded(name, there)
    assert recorded is not None
    assert np.isnan(recorded).all()
    assert "s in which it stands still and they do not" in said(motion)


def test_a_vertical_speed_that_stands_still_in_a_descent_is_left_out():
    """At 600 ft/min for a minute, of 200 s of descent."""
    down = replace(NOISY, altitude_ft=[(0.0, 6000.0), (100.0, 6000.0), (300.0, 4000.0), (1e5, 4000.0)])
    second = down.of(APPROACH.flown, NORTH).time_s - START_S
    climb = np.where((second > 100.0) & (second < 300.0), -600.0 * FT / 60.0, 0.0)
    climb[150:210] = 0.0
    motion = motion_of(APPROACH.flown, down, vertical_speed_mps=climb)
    recorded = motion.recorded("vertical_speed_mps", motion.states.between(START_S + 152.0, START_S + 207.0))
    assert recorded is None or np.isnan(recorded).all()
    assert "stands still for" in said(motion) or "in which it stands still" in said(motion)


def test_a_column_that_stands_still_in_a_fifth_of_the_log_is_refused():
    stuck = BANK.copy()
    begin, end = int(APPROACH.begin("offset_turn")) - 2, int(APPROACH.rolled_out_s)
    assert end - begin > 0.25 * len(BANK)
    stuck[begin:end] = 0.0
    motion = motion_of(APPROACH.flown, bank_rad=stuck)
    assert not is_used(motion, "bank_rad")
    assert "stands still for" in said(motion)


@pytest.mark.parametrize("name", ["heading_rad", "track_rad"])
def test_a_direction_that_swings_to_either_side_is_refused(name):
    """By 14°, to and fro in 160 s: right in the middle of it, by 10° or more for half of the time (arc sine law)."""
    second = NOISY.of(APPROACH.flown, NORTH).time_s - START_S
    swing = 14.0 * DEGREE * np.sin(math.tau * second / 160.0)
    motion = motion_of(APPROACH.flown, **{name: flown_column(name) + swing})
    assert not is_used(motion, name)
    assert "° in the median" in said(motion)


def test_a_few_values_are_not_enough_to_check_a_column():
    few = np.full_like(BANK, np.nan)
    few[::24] = BANK[::24]
    assert np.isfinite(few).sum() < 30
    motion = motion_of(APPROACH.flown, bank_rad=few)
    assert not is_used(motion, "bank_rad")
    assert "fewer than 30 values" in said(motion)


@pytest.mark.parametrize(("missing_s", "bridged"), [(3, True), (9, False)])
def test_a_moment_without_a_value_is_bridged_and_more_is_not(missing_s, bridged):
    gaps = BANK.copy()
    gaps[200 : 200 + missing_s] = np.nan
    motion = motion_of(APPROACH.flown, bank_rad=gaps)
    assert motion.bank_recorded(motion.states)[200 : 200 + missing_s].all() == bridged


def test_beyond_its_first_and_last_value_a_column_is_none():
    short = BANK.copy()
    short[:20], short[-15:] = np.nan, np.nan
    recorded = motion_of(APPROACH.flown, bank_rad=short)
    known = recorded.bank_recorded(recorded.states)
    assert not known[:20].any()
    assert known[20:-15].all()
    assert not known[-15:].any()


@pytest.mark.parametrize(("off_deg", "used"), [(15.0, True), (40.0, False)])
def test_a_heading_that_cannot_be_checked_has_to_be_possible(off_deg, used):
    """A drift of 40° takes a wind of two thirds of the airspeed (its sine)."""
    straight = fly([Straight("on", 400.0)], (0.0, -6.0), 10.0, 110.0)
    n = len(NOISY.of(straight, NORTH).time_s)
    motion = motion_of(straight, heading_rad=np.full(n, math.radians(10.0 + off_deg)))
    assert is_used(motion, "heading_rad") == used


def test_turns_on_the_ground_are_made_without_a_bank():
    """Taxiing at 12 kt with turns of 90°, then the turns of a circuit: on the ground a bank of nought is right."""
    path = [Straight("taxi", 30.0), Turn("t1", 90.0, 3.0), Straight("on", 20.0), Turn("t2", -90.0, 3.0), Straight("hold", 20.0)]
    path += [Straight("run", 30.0, 110.0), Straight("out", 60.0)]
    path += [segment for _ in range(3) for segment in (Turn("circle", 180.0, 20.0), Straight("leg", 40.0))]
    flown = fly(path, (0.0, -6.0), 0.0, 12.0, roll_deg_s=5.0)
    on_ground = flown.time_s < flown.begins["run"]
    assert np.ptp(flown.heading_deg[on_ground]) > 80.0
    bank = column(flown, np.where(on_ground, 0.0, flown.bank_deg), DEGREE)
    motion = motion_of(flown, bank_rad=bank)
    assert is_used(motion, "bank_rad"), said(motion)


def test_an_indicated_airspeed_is_checked_with_the_temperature_at_the_airfield_of_each_procedure():
    """-10 °C is 25 K below the standard atmosphere at sea level, and 1 K below it at 12,000 ft: indicated speeds are 5 % apart.

    So what is 5 % too slow in the standard atmosphere is too slow by 9 % at the one field, which is refused, and not at the
    other.
    """
    track = replace(
        NOISY.of(APPROACH.flown, NORTH),
        recorded={"indicated_airspeed_mps": np.full(len(BANK), 0.95 * 114.8 * KT), "bank_rad": BANK},
        air=Air.given(None, -10.0),
    )
    charted = resolve(Chart().at(NORTH), dt.date(2026, 6, 1))
    low, high = (replace(charted, fix_elevation_m=feet * FT) for feet in (0.0, 12_000.0))
    assert "indicated airspeed not used: it is 0.91 times" in said(analyse_motion(track, low))
    assert "indicated airspeed agrees" in said(analyse_motion(track, high))
    assert see_against(analyse_motion(track, low), high).notes == analyse_motion(track, high).notes
    assert see_against(analyse_motion(track, high), low).notes == analyse_motion(track, low).notes


def test_a_heading_between_samples_goes_through_north_the_short_way():
    """Logged from 0° to 360° every 5 s; in a steady turn of 3° a second, straight lines between are the heading itself."""
    log = EVERY[5.0]
    heading = np.mod(flown_column("heading_rad", log), math.tau)
    assert np.abs(np.diff(heading)).max() > math.pi
    motion = motion_of(APPROACH.flown, log, heading_rad=heading)
    recorded = motion.recorded("heading_rad", motion.states)
    assert recorded is not None
    true = APPROACH.flown.at(motion.states.time_s - START_S, APPROACH.flown.heading_deg)
    off_deg = np.abs(np.mod(np.degrees(recorded) - true + 180.0, 360.0) - 180.0)
    assert float(np.nanmax(off_deg)) < 3.0 * 5.0 / 4.0 + 1.0  # at a corner, a quarter of what is turned in a step


def test_all_that_a_column_stands_still_for_is_said():
    stuck, lasts = flown_column("heading_rad").copy(), 15
    for begin in (int(APPROACH.begin("reversal_turn")) + 10, int(APPROACH.begin("reversal_turn")) + 35):
        stuck[begin : begin + lasts] = stuck[begin]
    found = re.search(r"but for (\d+) s in which it stands still", said(motion_of(APPROACH.flown, heading_rad=stuck)))
    assert found is not None
    assert int(found[1]) == 2 * (lasts - 1)


@pytest.mark.parametrize("shaken_deg", [0.0, 0.5])
def test_a_track_under_the_name_of_a_heading_is_refused_where_the_turns_show_a_wind(shaken_deg):
    """In 20 kt of wind at 90 kt heading and track differ by up to 13°; some trackers call the course over ground a heading."""
    noise = np.random.default_rng(4).normal(0.0, shaken_deg * DEGREE, len(BANK))
    motion = motion_of(APPROACH.flown, heading_rad=flown_column("track_rad") + noise)
    assert not is_used(motion, "heading_rad")
    assert "it is the track of the positions" in said(motion)
    assert is_used(motion_of(APPROACH.flown, heading_rad=HEADING + noise), "heading_rad")


@pytest.mark.parametrize("name", ["true_airspeed_mps", "indicated_airspeed_mps"])
def test_a_ground_speed_under_the_name_of_an_airspeed_is_refused_where_the_turns_show_a_wind(name):
    motion = motion_of(APPROACH.flown, **{name: flown_column("ground_speed_mps")})
    assert not is_used(motion, name)
    assert "it is the speed of the positions" in said(motion)


def test_in_still_air_a_heading_is_the_track_and_is_used():
    still = fly_approach(Pattern(wind=(0.0, 0.0), roll_deg_s=5.0, intercept=True)).flown
    shaken = column(still, still.heading_deg, DEGREE) + np.random.default_rng(4).normal(
        0.0, 0.2 * DEGREE, len(NOISY.of(still, NORTH))
    )
    assert is_used(motion_of(still, heading_rad=shaken), "heading_rad")
