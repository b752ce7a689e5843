"""Flights with errors: without any they are the plan; with them they spread as the errors say, to both sides of it."""

import math
from dataclasses import replace

import numpy as np
import pytest
from briefed import LEVEL, TURN, arc_chart, asked, base_chart, charted_at, hold_chart, turn_chart, wind_text
from synthetic import HERE, KT, NM, Chart

from analyzer.brief.chances import Errors, fly_many
from analyzer.brief.plan import Plan, make_plan

NONE = Errors(0.0, 0.0, 0.0, 0.0, 5)
OUT = HERE.outbound_true_deg - HERE.variation_deg  # magnetic
FLIGHTS = 10_000
SD_OF_SHARE = 0.5 / math.sqrt(FLIGHTS)  # binomial


def plan_of(chart: Chart = TURN, **given) -> Plan:
    return make_plan(charted_at(chart), asked(chart, **given))


@pytest.fixture(scope="module")
def plans() -> dict[str, Plan]:
    return {
        "45/180": plan_of(turn_chart("left"), winds=["242/25"]),
        "45/180 by distance": plan_of(outbound="4", winds=["150/20"]),
        "80/260": plan_of(shape="80/260", winds=["152/20"]),
        "base-turn": plan_of(base_chart("left", 18.0), winds=["30/15"]),
        "hold-direct": plan_of(hold_chart("left"), winds=["152/20"]),
        "hold-teardrop": plan_of(hold_chart("right"), arrival_deg=(OUT + 310.0) % 360.0),
        "hold-parallel": plan_of(hold_chart("left"), arrival_deg=(OUT - 55.0) % 360.0, winds=["152/20"]),
        "at the limit": plan_of(Chart(within_nm=6.0, floors_ft=LEVEL), keep_nm=0.0, winds=[wind_text((240.0, 15.0))]),
        "timed in still air": plan_of(outbound="120s"),
        "racetrack": plan_of(turn_chart("left"), shape="racetrack", winds=["152/20"]),
        "racetrack by distance": plan_of(shape="racetrack", outbound="4", winds=["152/20"]),
        "teardrop": plan_of(shape="teardrop", winds=["30/15"], arrival_deg=OUT),
    }


NAMES = ["45/180", "45/180 by distance", "80/260", "base-turn", "hold-direct", "hold-teardrop", "hold-parallel", "at the limit"]
NAMES += ["racetrack", "teardrop"]


@pytest.mark.parametrize("name", [*NAMES, "racetrack by distance"])
def test_without_errors_every_flight_is_the_plan(plans, name):
    plan = plans[name]
    chances = fly_many(plan, NONE)
    assert chances.farthest_m / NM == pytest.approx(np.full(5, plan.farthest_m / NM), abs=0.03)
    # the simulation of turns here is another one than the plan's: rolls are half of a roll straight on
    assert chances.rolled_out_m / NM == pytest.approx(np.full(5, plan.pattern.rolled_out_m / NM), abs=0.03)


def test_the_same_errors_give_the_same_bytes(plans):
    one, two = (fly_many(plans["45/180"], Errors(flights=500)) for _ in range(2))
    for name in ("farthest_m", "rolled_out_m", "paths_m"):
        assert getattr(one, name).tobytes() == getattr(two, name).tobytes()
    assert one.farthest_m.std() > 0.0


@pytest.mark.parametrize("error", ["wind_mps", "heading_rad", "timing_s", "speed_mps"])
def test_errors_twice_as_large_spread_flights_twice_as_far(plans, error):
    size = {"wind_mps": 5.0 * KT, "heading_rad": math.radians(3.0), "timing_s": 6.0, "speed_mps": 5.0 * KT}[error]
    small, large = (fly_many(plans["45/180"], replace(NONE, flights=2000, **{error: size * factor})) for factor in (1.0, 2.0))
    for name in ("farthest_m", "rolled_out_m"):
        spread = float(getattr(small, name).std())
        assert spread > 5.0
        assert float(getattr(large, name).std()) / spread == pytest.approx(2.0, abs=0.1)


def test_the_spread_of_timing_alone(plans):
    # In still air: V times 5 s along the outbound course, and as much again at 45° to it; the direction to the farthest
    # place is a few degrees off the course, towards the side of the offset leg.
    plan = plans["timed in still air"]
    chances = fly_many(plan, replace(NONE, flights=FLIGHTS, timing_s=10.0))
    path = plan.pattern.fly()
    far = int(np.argmax(path.distance_m()))
    towards = math.atan2(float(path.east_m[far]), float(path.north_m[far])) - math.radians(HERE.outbound_true_deg)
    spread = 120.0 * KT * 5.0 * math.hypot(math.cos(towards), math.cos(math.radians(45.0) - towards))
    assert float(chances.farthest_m.std()) == pytest.approx(spread, rel=0.04)
    # the offset leg alone carries the roll-out off the course, by its sine
    assert float(chances.rolled_out_m.std()) == pytest.approx(120.0 * KT * 5.0 * math.sin(math.radians(45.0)), rel=0.04)


@pytest.mark.parametrize("name", NAMES)
def test_half_of_the_flights_reach_farther_than_the_plan(plans, name):
    share = float(np.mean(fly_many(plans[name], Errors(flights=FLIGHTS)).farthest_m > plans[name].farthest_m))
    assert share == pytest.approx(0.5, abs=4.0 * SD_OF_SHARE)


def test_a_plan_at_the_limit_leaves_it_in_half_of_the_flights(plans):
    plan = plans["at the limit"]
    assert plan.farthest_m / NM == pytest.approx(6.0, abs=0.001)
    beyond = fly_many(plan, Errors(flights=FLIGHTS)).beyond
    assert beyond == pytest.approx(0.5, abs=4.0 * SD_OF_SHARE)


def test_the_margin_makes_leaving_the_limit_rarer():
    shares = []
    for keep in (0.0, 1.0):
        plan = plan_of(Chart(within_nm=6.0, floors_ft=LEVEL), keep_nm=keep)
        shares.append(fly_many(plan, Errors(flights=2000)).beyond)
    assert shares[0] > 0.4
    assert shares[1] < 0.1  # two standard deviations and more: the spread is about 0.5 NM
    assert fly_many(plan_of(hold_chart()), NONE).beyond is None  # nothing charted to leave


@pytest.mark.parametrize("timed", [True, False])
def test_an_outbound_leg_by_distance_is_as_long_in_any_wind(timed):
    along = math.radians(HERE.outbound_true_deg)
    plan = plan_of(outbound="120s" if timed else "4", winds=[wind_text((0.0, 15.0))])
    paths = fly_many(plan, replace(NONE, flights=200, wind_mps=20.0 * KT)).paths_m
    length = paths[:, 1, 0] * math.cos(along) + paths[:, 1, 1] * math.sin(along)
    off = paths[:, 1, 1] * math.cos(along) - paths[:, 1, 0] * math.sin(along)
    assert np.abs(off).max() < 1.0  # the needle is kept in the middle
    if timed:
        # the wind along the course in 120 s: of 20 kt as two standard deviations, in any direction
        assert 3.0 * KT * 120.0 < length.std() < 11.0 * KT * 120.0
    else:
        assert np.ptp(length) < 1.0
        assert length.mean() / NM == pytest.approx(4.0, abs=0.001)


@pytest.fixture(scope="module", params=["left", "right"])
def arc_plan(request) -> Plan:
    chart = arc_chart(12.0)
    return plan_of(replace(chart, reversal={**chart.reversal, "turn": request.param}), true_speeds=["120"])


def test_an_arc_without_errors_is_the_plan(arc_plan):
    chances = fly_many(arc_plan, NONE)
    assert chances.joined_m / NM == pytest.approx(np.full(5, 12.0), abs=0.03)
    assert chances.rolled_out_m / NM == pytest.approx(np.full(5, arc_plan.pattern.rolled_out_m / NM), abs=0.03)
    assert chances.farthest_m / NM == pytest.approx(np.full(5, arc_plan.farthest_m / NM), abs=0.03)
    assert chances.beyond is None


def test_airspeed_alone_makes_the_turns_of_an_arc_wider(arc_plan):
    """Circles in still air: the radius goes as the square of the airspeed, and half a roll is flown on at either end.

    A circle that is wider by dR comes out dR (1 - cos turn) to the outside; the turn onto the arc is short of 90° by
    asin(R/(r + R)), the one off it beyond 90° by asin(R/(r - R)).
    """
    chances = fly_many(arc_plan, replace(NONE, flights=FLIGHTS, speed_mps=10.0 * KT))
    radius, wider, roll = 0.6366, 2.0 * 0.6366 * 5.0 / 120.0, 5.0 / 3600.0 * 18.24 / 5.0 / 2.0  # NM, of 5 kt, 18.24° of bank
    onto, off = math.acos(radius / (12.0 + radius)), math.pi / 2.0 + math.asin(radius / (12.0 - radius))
    for came_out, turn in ((chances.joined_m, onto), (chances.rolled_out_m, off)):
        spread = wider * (1.0 - math.cos(turn)) + roll * math.sin(turn)
        assert float(came_out.std()) / NM == pytest.approx(spread, rel=0.04)


def test_a_turn_to_a_tangent_forgives_its_heading(arc_plan):
    """A circle touches what it is turned onto: a heading off by 2.5° at its end is a place off by 0.64 NM (1 - cos 2.5°)."""
    chances = fly_many(arc_plan, replace(NONE, flights=FLIGHTS, heading_rad=math.radians(5.0)))
    for came_out in (chances.joined_m, chances.rolled_out_m):
        assert float(np.ptp(came_out)) / NM < 0.03
    assert float(chances.joined_m.std()) > 0.0


def test_the_needle_brings_every_flight_back_onto_the_arc(arc_plan):
    chances = fly_many(arc_plan, Errors(flights=200))
    assert float(chances.joined_m.std()) / NM > 0.05
    distance = np.hypot(chances.paths_m[:, :, 0], chances.paths_m[:, :, 1])  # the centre is the fix
    held = np.sum(np.abs(distance - 12.0 * NM) < 1.0, axis=1)
    assert np.all(held >= 25)  # of the places along the second half


def test_errors_of_an_arc_spread_with_their_size(arc_plan):
    small, large = (fly_many(arc_plan, replace(NONE, flights=2000, wind_mps=size * KT)) for size in (5.0, 10.0))
    for name in ("joined_m", "rolled_out_m"):
        assert float(getattr(large, name).std()) / float(getattr(small, name).std()) == pytest.approx(2.0, abs=0.1)


def test_who_joins_an_arc_beyond_where_it_is_left_goes_no_lap():
    """Joined 7° before the inbound course there are seconds of arc left, and errors take some of the flights beyond them."""
    chart = arc_chart(12.0)
    plan = plan_of(chart, true_speeds=["120"], arrival_deg=(OUT + 180.0 - 7.0) % 360.0)
    paths = fly_many(plan, Errors(flights=500)).paths_m
    assert plan.path.time_s[-1] < 900.0
    lengths = np.hypot(*np.diff(paths, axis=1).transpose(2, 0, 1)).sum(axis=1)
    assert float(lengths.max()) / NM < 8.0  # a lap is 75 NM
