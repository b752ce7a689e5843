"""What is no reversal though it turns back, and what moves without flying approaches at all.

Charts of every kind are laid along the tracks of a car, a walk, a flight on its way and survey lines, at fifteen places each.
"""

import datetime as dt
import math
from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np
import pytest
from found import NOISY, found
from synthetic import (
    CALM,
    CHARTED,
    HERE,
    KT,
    NM,
    START_S,
    Chart,
    Flown,
    Log,
    Place,
    Segment,
    Straight,
    Turn,
    fly,
    holding,
    standard_rate_bank,
)
from test_other_shapes import MAGNETIC_NORTH, chart

from analyzer import debrief
from analyzer.legs.find import find_reversals
from analyzer.legs.reversal import Reversal
from analyzer.motion.motion import Motion
from analyzer.motion.smooth import analyse_motion
from analyzer.physics import geodesy
from analyzer.procedure.charted import resolve
from analyzer.track.track import Track

BANK = standard_rate_bank(120.0)
KINDS = [
    ("procedure-turn", "right"), ("procedure-turn", "left"), ("base-turn", "right"), ("base-turn", "left"), ("hold", "right"),
    ("hold", "left"), ("arc", "right"),
]  # fmt: skip
PLACES = np.linspace(0.04, 0.96, 15)


def laid(kind: str, hand: str, latitude_deg: float, longitude_deg: float, inbound_deg: float) -> tuple[Chart, Place]:
    """A chart with its fix at a place, and the inbound course along a track there."""
    place = Place(latitude_deg, longitude_deg, (inbound_deg + 180.0) % 360.0, 0.0)
    if kind == "procedure-turn":
        return Chart(side=hand), place
    if kind == "hold":
        return Chart(None, None, reversal={"kind": kind, "turn": hand, "leg_time_s": 60.0}), place
    if kind == "arc":
        about = {"latitude_deg": latitude_deg, "longitude_deg": longitude_deg, "radius_nm": 10.0}
        return Chart(None, None, reversal={"kind": kind, "turn": hand}, tables={"arc": about}), place
    out = (inbound_deg + 180.0 + (-20.0 if hand == "right" else 20.0)) % 360.0
    return Chart(None, None, reversal={"kind": kind, "turn": hand, "outbound_course_deg": out, "leg_time_s": 120.0}), place


def all_found(track: Track) -> Iterator[tuple[str, str, Reversal]]:
    """What is found on 105 charts laid along a track, half of them the other way."""
    date = dt.date(2026, 6, 1)
    motion = analyse_motion(track, resolve(CHARTED.at(), date))
    states = motion.states
    for number, share in enumerate(PLACES):
        k = int(share * len(states))
        at = math.degrees(states.latitude_rad[k]), math.degrees(states.longitude_rad[k])
        course = math.degrees(states.track_rad[k]) + 180.0 * (number % 2)
        for kind, hand in KINDS:
            one, place = laid(kind, hand, *at, course % 360.0)
            charted = resolve(one.at(place), date)
            distance, bearing = geodesy.inverse_near(
                charted.fix_latitude_rad, charted.fix_longitude_rad, states.latitude_rad, states.longitude_rad
            )
            seen = replace(states, distance_m=distance, bearing_rad=bearing)
            for reversal in find_reversals(Motion(replace(motion.curves, charted=charted), seen)):
                yield kind, hand, reversal


def track_of(x_m: np.ndarray, y_m: np.ndarray, altitude_m: np.ndarray) -> Track:
    """A log of points of the plane, a second apart, with the noise of a receiver."""
    noise = np.random.default_rng(8).normal(0.0, 2.0, (2, len(x_m)))
    latitude, longitude = HERE.lay((x_m + noise[0]) / NM, (y_m + noise[1]) / NM)
    return Track(
        "made.csv", "csv", START_S + np.arange(len(x_m), dtype=float), np.radians(latitude), np.radians(longitude), altitude_m,
        {}, (), (), (),
    )  # fmt: skip


def car(seed: int, seconds: int = 5400) -> Track:
    """On roads: straight, in bends, and round corners of 90° for which it slows down."""
    random = np.random.default_rng(seed)
    heading, speed, left, turning, wanted = 0.3, 10.0, 0, 0.0, 20.0
    headings, speeds = np.empty(seconds), np.empty(seconds)
    for second in range(seconds):
        if left <= 0:
            what = random.random()
            left, turning, wanted = int(random.integers(30, 200)), 0.0, float(random.uniform(12.0, 36.0))
            if what < 0.15:
                left, turning, wanted = 6, float(random.choice([-1.0, 1.0])) * math.radians(15.0), 8.0
            elif what < 0.5:
                turning = float(random.normal(0.0, 0.004))
        left -= 1
        speed += min(max(wanted - speed, -2.0), 1.5)
        heading += turning
        headings[second], speeds[second] = heading, speed
    x, y = np.cumsum(speeds * np.sin(headings)), np.cumsum(speeds * np.cos(headings))
    return track_of(x, y, 100.0 + 20.0 * np.sin(x / 3000.0) + 15.0 * np.cos(y / 2500.0))


def walk(seconds: int = 5400) -> Track:
    heading = np.cumsum(np.random.default_rng(2).normal(0.0, 0.05, seconds))
    return track_of(np.cumsum(1.4 * np.sin(heading)), np.cumsum(1.4 * np.cos(heading)), np.full(seconds, 50.0))


def en_route(seed: int) -> Track:
    random = np.random.default_rng(seed)
    path: list[Segment] = []
    for leg in range(10):
        turn = float(random.choice([-1.0, 1.0]) * random.uniform(12.0, 50.0))
        path += [Straight(f"leg {leg}", float(random.uniform(300.0, 900.0))), Turn(f"turn {leg}", turn, 15.0)]
    flown = fly(path, (0.0, 0.0), 20.0, 220.0, (250.0, 35.0), roll_deg_s=4.0)
    end = float(flown.time_s[-1])
    return Log(noise_m=2.0, altitude_ft=[(0.0, 1000.0), (900.0, 18000.0), (end - 1200.0, 18000.0), (end, 2000.0)]).of(flown)


def survey(line_s: float, bank_deg: float) -> Track:
    """Lines with turns of 180° to either side by turns, so far apart as such a turn is wide."""
    path: list[Segment] = [Straight("line", line_s)]
    for number in range(14):
        path += [Turn(f"turn {number}", 180.0 * (-1.0) ** number, bank_deg), Straight(f"line {number}", line_s)]
    return Log(noise_m=2.0).of(fly(path, (0.0, 0.0), 33.0, 120.0, (200.0, 12.0), roll_deg_s=5.0))


def tracked(courses: Sequence[tuple[float, float]], speed_kt: float, wind: tuple[float, float], bank_deg: float) -> Track:
    """Level flight along courses, each with its seconds: a course is given by the turn onto it, the first from north."""
    course = courses[0][0]
    first = heading = holding(course, speed_kt, wind)
    path: list[Segment] = [Straight("leg 0", courses[0][1])]
    for number, (turn, seconds) in enumerate(courses[1:], 1):
        course += turn
        into_wind = holding(course, speed_kt, wind)
        path += [Turn(f"turn {number}", into_wind - heading, bank_deg), Straight(f"leg {number}", seconds)]
        heading = into_wind
    return Log(noise_m=2.0, altitude_ft=3000.0).of(fly(path, (0.0, 0.0), first, speed_kt, wind, roll_deg_s=5.0))


def survey_by_45_180(lines: int, line_s: float, wind: tuple[float, float], out_deg: float = 45.0, out_s: float = 12.0) -> Track:
    """Lines closer together than a turn is wide: off by 45° or 80°, and round through the rest of 180°."""
    courses = [(20.0, line_s)]
    for number in range(lines - 1):
        side = (-1.0) ** number
        courses += [(-out_deg * side, out_s), ((180.0 + out_deg) * side, line_s * (0.95 + 0.05 * (number % 3)))]
    return tracked(courses, 120.0, wind, 20.0)


def survey_in_racetracks(lines: int, line_s: float, wind: tuple[float, float]) -> Track:
    """Over several lines and back to the one next to the last."""
    courses = [(20.0, line_s)]
    for number in range(lines - 1):
        courses += [(90.0, 20.0 + (12.0 if number % 2 == 0 else 0.0)), (90.0, line_s)]
    return tracked(courses, 120.0, wind, 20.0)


def survey_out_of_order(lines: int, line_s: float, askew: int) -> Track:
    """Lines of which one leads 9° off the others; then back beside the last of them, and away."""
    courses, off = [(20.0, line_s)], 0.0
    for number in range(lines):
        side = (-1.0) ** number
        courses += [(-45.0 * side - off, 12.0)]
        off = 9.0 if number == askew else 0.0
        courses += [(225.0 * side + off, line_s)]
    return tracked([*courses, (180.0, line_s), (60.0, 600.0)], 120.0, (200.0, 8.0), 20.0)


@pytest.mark.parametrize(
    "track",
    [
        survey_by_45_180(8, 200.0, (200.0, 12.0)),
        survey_out_of_order(9, 180.0, 6),
        survey_by_45_180(4, 180.0, CALM, out_s=8.0),
        survey_by_45_180(7, 150.0, (50.0, 10.0), 80.0, 3.0),
        survey_in_racetracks(8, 200.0, (200.0, 15.0)),
    ],
    ids=["by 45/180", "out of order", "four lines", "by 80/260", "in racetracks"],
)
def test_turns_between_survey_lines_are_no_reversal_though_they_have_its_shape(track):
    assert [one.flown for _, _, one in all_found(track) if one.flown != "straight-in"] == []


@pytest.mark.parametrize("spread_nm", [0.05, 0.1])
def test_a_hold_practised_at_one_height_is_no_survey(spread_nm):
    """Laps whose legs wander, as a student's do: inbound they come back to one course, so that no survey is seen."""
    random = np.random.default_rng(4)
    path: list[Segment] = [Straight("arrival", 120.0)]
    for lap in range(6):
        path += [
            Turn(f"out turn {lap}", 180.0, BANK), Straight(f"out {lap}", 60.0 + float(random.normal(0.0, 5.0))),
            Turn(f"in turn {lap}", 180.0, BANK * (1.0 + float(random.normal(0.0, spread_nm)))), Straight(f"in {lap}", 60.0),
        ]  # fmt: skip
    flown = fly(path, (0.0, 4.0), 180.0, 120.0, roll_deg_s=5.0)
    (hold,) = found(flown, Log(noise_m=1.0, altitude_ft=3000.0), chart=chart("hold", turn="right", leg_time_s=60.0))
    assert hold.flown == "hold-direct"


@pytest.mark.parametrize("abeam_nm", [3.0, 4.0, 6.0])
@pytest.mark.parametrize("over_deg", [40.0, 60.0, 90.0])
def test_a_downwind_and_a_base_led_by_radar_are_no_base_turn(over_deg, abeam_nm):
    """Over the fix, out to a downwind some miles abeam, a base across the course and an intercept at 30°."""

    def path(base_s: float) -> list[Segment]:
        across = abeam_nm / math.sin(math.radians(over_deg)) * 30.0 - 20.0
        return [
            Straight("over", 90.0 + across), Turn("downwind turn", -over_deg, BANK), Straight("downwind", 180.0),
            Turn("base turn", -90.0, BANK), Straight("base", base_s), Turn("intercept turn", -60.0, BANK),
            Straight("intercept", 40.0), Turn("final turn", -30.0, BANK / 2.0), Straight("final", 300.0),
        ]  # fmt: skip

    heading = math.radians(over_deg)
    start = -3.0 * math.sin(heading), -3.0 * math.cos(heading)
    near, far = (float(fly(path(s), start, over_deg, roll_deg_s=5.0).x_nm[-1]) for s in (10.0, 20.0))
    flown = fly(path(10.0 - 10.0 * near / (far - near)), start, over_deg, roll_deg_s=5.0)
    charted, place = laid("base-turn", "left", HERE.latitude_deg, HERE.longitude_deg, 180.0)
    assert all(one.side is None for one in found(flown, NOISY, place, charted))


@pytest.mark.parametrize(
    "track",
    [car(1), car(7), walk(), en_route(3), en_route(11), survey(150.0, 20.0), survey(400.0, 20.0), survey(250.0, 25.0)],
    ids=["car", "another car", "walk", "en route", "another en route", "short lines", "long lines", "closer lines"],
)
def test_no_reversal_nor_arc_is_found_in_105_tries(track):
    shapes = [(kind, hand, one.flown) for kind, hand, one in all_found(track) if one.flown != "straight-in"]
    assert shapes == []


def test_who_walks_flies_no_approach():
    assert list(all_found(walk())) == []


def test_a_flight_that_goes_on_level_over_the_fix_flies_no_straight_in():
    over = fly([Straight("over", 1500.0)], (0.0, 20.0), 180.0)
    assert found(over) == ()
    # who came down to where it levels may be on an approach
    came_down = [(0.0, 4000.0), (300.0, 4000.0), (500.0, 2500.0)]
    assert [one.flown for one in found(over, Log(noise_m=1.0, altitude_ft=came_down, end_s=900.0))] == ["straight-in"]


def circuit(height_ft: float, downwind_s: float) -> tuple[Flown, list[tuple[float, float]]]:
    """Two circuits to the left over a fix on the field, from one touchdown to the next, along the inbound course."""
    path: list[Segment] = [Straight("take-off", 40.0)]
    for lap in range(2):
        path += [
            Turn(f"crosswind {lap}", -90.0, 20.0), Straight(f"across {lap}", 10.0), Turn(f"downwind turn {lap}", -90.0, 20.0),
            Straight(f"downwind {lap}", downwind_s), Turn(f"base turn {lap}", -90.0, 20.0), Straight(f"base {lap}", 10.0),
            Turn(f"final turn {lap}", -90.0, 20.0), Straight(f"final {lap}", downwind_s),
        ]  # fmt: skip
    flown = fly(path, (0.0, 0.5), 180.0, 90.0, roll_deg_s=5.0)
    heights = [(0.0, 300.0)]
    for lap in range(2):
        begin, end = flown.begins[f"crosswind {lap}"], flown.begins[f"final {lap}"]
        heights += [(begin, 600.0), (begin + 60.0, height_ft), (end - 60.0, height_ft), (end + 0.7 * downwind_s, 300.0)]
    return flown, heights


@pytest.mark.parametrize(("kind", "hand"), KINDS)
@pytest.mark.parametrize("downwind_s", [50.0, 70.0])
@pytest.mark.parametrize("height_ft", [1300.0, 1800.0])
def test_circuits_of_an_aerodrome_are_no_reversal(kind, hand, downwind_s, height_ft):
    flown, heights = circuit(height_ft, downwind_s)
    charted, place = laid(kind, hand, HERE.latitude_deg, HERE.longitude_deg, 180.0)
    log = Log(noise_m=1.0, altitude_ft=heights)
    assert all(one.flown == "straight-in" for one in found(flown, log, place, charted))


@pytest.mark.parametrize("base_s", [20.0, 40.0])
@pytest.mark.parametrize("base_deg_s", [0.0, 0.5, 0.8])
def test_a_downwind_a_base_and_a_final_are_no_hold_to_the_other_side(base_deg_s, base_s):
    """From over the fix, high above the ground; the base is flown straight, or as wavering as a slow turn."""
    turned = base_deg_s * base_s
    base = Turn("base", -turned, math.degrees(math.atan(math.radians(base_deg_s) * 120.0 * KT / 9.80665))) if turned else None
    path: list[Segment] = [
        Straight("inbound", 150.0), Turn("downwind turn", -180.0, BANK), Straight("downwind", 80.0),
        Turn("base turn", -90.0 + turned / 2.0, BANK), base or Straight("base", base_s),
        Turn("final turn", -90.0 + turned / 2.0, BANK), Straight("final", 40.0),
    ]  # fmt: skip
    flown = fly(path, (0.0, 4.0), 180.0, 120.0, roll_deg_s=8.0)
    hold = chart("hold", turn="right", leg_time_s=60.0)
    assert all(one.flown != "hold-direct" for one in found(flown, Log(noise_m=1.0, altitude_ft=3000.0), chart=hold))


@pytest.mark.parametrize("wind", [CALM, (200.0, 20.0)])
def test_who_leaves_a_hold_to_land_far_away_does_not_hold(wind):
    """Over the fix inbound, round to the outbound heading, and on for 29 NM to a circuit and a landing there."""
    path: list[Segment] = [Straight("inbound", 150.0), Turn("round", 180.0, BANK), Straight("away", 870.0)]
    path += [Turn("base", 90.0, BANK), Straight("on base", 20.0), Turn("final", 90.0, BANK), Straight("final leg", 60.0)]
    flown = fly(path, (0.0, 4.0), 180.0, 120.0, wind, roll_deg_s=5.0)
    assert all(one.side is None for one in found(flown, chart=chart("hold", turn="right", leg_time_s=60.0)))
    hold = {
        "name": "OSSIN", "latitude_deg": HERE.latitude_deg, "longitude_deg": HERE.longitude_deg, "turn": "right",
        "inbound_course_deg": (MAGNETIC_NORTH + 180.0) % 360.0, "leg_time_s": 60.0,
    }  # fmt: skip
    away = Chart(fix={"latitude_deg": 42.2}, tables={"holds": [hold]})
    assert held(flown, away) == 0


def held(flown: Flown, charted: Chart) -> int:
    return len(debrief(Log(noise_m=1.0).of(flown), charted.at()).holds)


def test_an_offset_leg_is_no_longer_than_the_limit_charted():
    """45° off the outbound course for three quarters of an hour, and back."""
    path: list[Segment] = [Straight("arrival", 90.0), Straight("outbound", 120.0), Turn("offset_turn", 45.0, BANK)]
    for leg_s, many in ((60.0, 1), (2639.0, 0)):
        back = [Straight("offset_leg", leg_s), Turn("reversal_turn", -225.0, BANK), Straight("home", leg_s + 250.0)]
        shapes = found(fly([*path, *back], (0.0, -3.0), 0.0, 120.0, roll_deg_s=5.0), chart=Chart(within_nm=10.0))
        assert len([one for one in shapes if one.flown == "45/180"]) == many


@pytest.mark.parametrize(("leg_s", "many"), [(60.0, 1), (110.0, 1), (220.0, 0)])
def test_a_long_leg_at_45_degrees_that_the_log_ends_on_is_no_procedure_turn_begun(leg_s, many):
    """Out from the fix, 45° off and straight on: after a minute or two that may be a procedure turn, later it is a way."""
    path: list[Segment] = [Straight("arrival", 90.0), Straight("outbound", 60.0), Turn("offset_turn", 45.0, BANK)]
    flown = fly([*path, Straight("offset_leg", leg_s)], (0.0, -3.0), 0.0, 120.0, roll_deg_s=5.0)
    assert len([one for one in found(flown, chart=Chart(within_nm=10.0)) if one.flown == "45/180"]) == many


@pytest.mark.parametrize("circles", [1, 8, 20])
@pytest.mark.parametrize("passes", [False, True])
def test_an_approach_given_up_inbound_ends_there_whatever_is_flown_after_it(circles, passes):
    """Round and back on the course, off it at a right angle, in circles over the same place, and over the fix or not."""
    path: list[Segment] = [
        Straight("arrival", 90.0), Straight("outbound", 200.0), Turn("offset_turn", 45.0, BANK), Straight("offset_leg", 45.0),
        Turn("reversal_turn", -225.0, BANK), Straight("back", 60.0), Turn("off", 90.0, BANK), Straight("away", 60.0),
        *(Turn(f"circle {number}", 360.0, BANK) for number in range(circles)), Turn("to the fix", -110.0, BANK),
        Straight("home", 400.0 if passes else 60.0),
    ]  # fmt: skip
    flown = fly(path, (0.0, -3.0), 0.0, 120.0, roll_deg_s=5.0)
    approach = found(flown, chart=Chart(within_nm=15.0))[0]
    assert approach.flown == "45/180"
    assert not approach.came_home
    # 45° into a turn of 3° a second and its roll, or before it where the course is no longer flown
    assert START_S + flown.begins["off"] - 15.0 < approach.parts[-1].end_s < START_S + flown.begins["off"] + 20.0
