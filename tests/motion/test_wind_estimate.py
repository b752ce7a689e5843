"""The wind from turns against published worked examples and invented winds."""

import datetime as dt
import itertools
import math
from dataclasses import dataclass

import numpy as np
import pytest
from synthetic import KT, START_S, Chart, Flown, Log, Place, Segment, Straight, Turn, fly

from analyzer.motion.smooth import analyse_motion
from analyzer.motion.wind import Wind, WindEstimate
from analyzer.motion.wind_fit import estimate_wind
from analyzer.motion.wind_limits import too_fast, too_strong
from analyzer.procedure.charted import resolve

EXACT = Log()
NORTH = Place(outbound_true_deg=0.0, variation_deg=0.0)  # headings of the plane are true


def wind_of(flown: Flown, log: Log = EXACT) -> Wind | None:
    charted = resolve(Chart().at(NORTH), dt.date(2026, 6, 1))
    motion = analyse_motion(log.of(flown, NORTH), charted)
    return motion.wind_between(START_S, START_S + float(flown.time_s[-1]))


def estimated(time_s: np.ndarray, velocity_mps: np.ndarray) -> WindEstimate | None:
    """The estimate in level flight."""
    return estimate_wind(time_s, velocity_mps, np.full(len(time_s), 900.0))


def vector(speed: float, direction_deg: float) -> np.ndarray:
    """Components to north and to east."""
    return speed * np.array([math.cos(math.radians(direction_deg)), math.sin(math.radians(direction_deg))])


def steady(speed_kt: float, headings_deg: np.ndarray, wind_from_deg: float, wind_kt: float) -> np.ndarray:
    return np.array([vector(speed_kt, heading) for heading in headings_deg]) * KT - vector(wind_kt * KT, wind_from_deg)


def out_and_swept(sweep_deg: float) -> np.ndarray:
    """Headings every 5 s: a minute straight, a turn at 3°/s, a minute straight."""
    return np.concatenate([np.zeros(12), np.linspace(0.0, sweep_deg, round(sweep_deg / 15.0) + 1), np.full(12, sweep_deg)])


def test_three_ground_velocities_of_gray():
    # D. Gray, "Using GPS to accurately establish true airspeed", 1998, worked: 140 kt on 192°, 112 kt on 283° and 120 kt on
    # 020° come of 130.0 kt and a wind from 314.8° at 20.6 kt, on headings 199.7°, 287.8° and 11.7°.
    headings = (199.7, 287.8, 371.7)
    path: list[Segment] = [Straight("first", 60.0)]
    for name, before, after in (("second", *headings[:2]), ("third", *headings[1:])):
        path += [Turn(f"to the {name}", after - before, 20.0), Straight(name, 60.0)]
    flown = fly(path, (0.0, -1.0), headings[0], 130.0, (314.8, 20.6), roll_deg_s=5.0)
    charted = resolve(Chart().at(NORTH), dt.date(2026, 6, 1))
    states = analyse_motion(Log(noise_m=0.5).of(flown, NORTH), charted).states
    for name, speed, track in (("first", 140.0, 192.0), ("second", 112.0, 283.0), ("third", 120.0, 20.0)):
        k = round(flown.begins[name]) + 30
        assert states.ground_speed_mps[k] / KT == pytest.approx(speed, abs=0.3)
        assert math.degrees(states.track_rad[k]) == pytest.approx(track, abs=0.3)
        assert states.true_airspeed_mps[k] / KT == pytest.approx(130.0, abs=0.3)
    wind = wind_of(flown, Log(noise_m=0.5))
    assert wind is not None
    assert wind.speed_mps / KT == pytest.approx(20.6, abs=0.3)
    assert math.degrees(wind.from_true_rad) == pytest.approx(314.8, abs=1.0)


def test_four_runs_of_the_test_pilots_sheet():
    # The four-leg speed course of the open aerocalc documentation: ground speeds 178, 185, 188, 184 kt on 178°, 82°, 355°,
    # 265°. Its four triples give winds from 3.58 kt to 6.44 kt, and a mean airspeed of 183.7267 kt with an sd of 0.8271.
    runs = zip((178.0, 185.0, 188.0, 184.0), (178.0, 82.0, 355.0, 265.0), strict=True)
    velocity = np.concatenate([np.tile(vector(speed * KT, track), (12, 1)) for speed, track in runs])
    estimate = estimated(5.0 * np.arange(48.0), velocity)
    assert estimate is not None
    assert estimate.true_airspeed_mps.mean() / KT == pytest.approx(183.7267, abs=0.8271)
    published = [vector(*wind) for wind in ((5.26, 194.5), (3.58, 181.5), (5.15, 162.7), (6.44, 177.9))]
    middle = np.mean(published, axis=0)
    farthest = max(float(np.hypot(*(one - middle))) for one in published)
    wind = estimate.between(0.0, 240.0)
    assert wind is not None
    off = vector(wind.speed_mps / KT, math.degrees(wind.from_true_rad)) - middle
    assert math.hypot(*off) < farthest


@pytest.mark.parametrize("wind_from", [0.0, 90.0, 222.0, 359.0])
def test_a_circle_at_120_knots_in_25_knots_of_wind(wind_from):
    # Williams' formulary gives back TAS 120 and wind 25 exactly from three of these; here from every five seconds of a circle.
    velocity = steady(120.0, np.arange(0.0, 361.0, 15.0), wind_from, 25.0)
    estimate = estimated(5.0 * np.arange(25.0), velocity)
    assert estimate is not None
    wind = estimate.between(0.0, 120.0)
    assert wind is not None
    assert wind.speed_mps / KT == pytest.approx(25.0, abs=0.1)
    assert math.remainder(math.degrees(wind.from_true_rad) - wind_from, 360.0) == pytest.approx(0.0, abs=0.3)
    assert estimate.true_airspeed_mps / KT == pytest.approx(np.full(25, 120.0), abs=0.1)


def test_the_wind_is_named_by_where_it_comes_from():
    # Aviation names a wind by where it blows from: air that moves to the south comes from 360°, to the west from 090°.
    assert math.degrees(Wind(-5.0, 0.0, 0.1, "").from_true_rad) % 360.0 == pytest.approx(0.0)
    assert math.degrees(Wind(0.0, -5.0, 0.1, "").from_true_rad) == pytest.approx(90.0)
    westerly = wind_of(fly([Turn("round", 540.0, 18.0)], (0.0, 2.0), 0.0, 120.0, (270.0, 20.0)))
    assert westerly is not None
    assert math.degrees(westerly.from_true_rad) == pytest.approx(270.0, abs=1.0)
    assert westerly.to_east_mps > 9.0


@pytest.mark.parametrize(("sweep", "told"), [(0.0, False), (60.0, False), (115.0, False), (125.0, True), (225.0, True)])
def test_too_little_turning_tells_no_wind(sweep, told):
    headings = out_and_swept(sweep)
    estimate = estimated(5.0 * np.arange(len(headings)), steady(120.0, headings, 130.0, 25.0))
    assert (estimate is not None) is told


def test_a_straight_stretch_of_a_turning_flight_tells_no_wind():
    headings = np.concatenate([np.arange(0.0, 361.0, 15.0), np.full(40, 0.0)])
    estimate = estimated(5.0 * np.arange(len(headings)), steady(120.0, headings, 130.0, 25.0))
    assert estimate is not None
    assert estimate.between(0.0, 120.0) is not None
    assert estimate.between(150.0, 300.0) is None
    assert estimate.between(900.0, 950.0) is None
    assert estimated(np.array([0.0, 5.0]), np.full((2, 2), 50.0)) is None


def test_the_error_is_as_stated():
    # Reversals flown by a pilot whose airspeed wanders by 1 m/s about the one meant, and comes back within some 40 s; 0.3 m/s
    # of noise in every velocity. Each component is a trial: 68.3 % within 1 sd and 99.7 % within 3; bounds by the binomial.
    rng = np.random.default_rng(31)
    headings = np.concatenate([out_and_swept(45.0), 45.0 - np.arange(0.0, 226.0, 15.0), np.full(20, -180.0)])
    time, scores, sd_kt = 5.0 * np.arange(len(headings)), [], []
    kept = math.exp(-5.0 / 40.0)
    for _ in range(60):
        blows_from, speed = rng.uniform(0.0, 360.0), rng.uniform(0.0, 30.0)
        wander = [rng.normal(0.0, 1.0)]
        for _ in headings[1:]:
            wander.append(kept * wander[-1] + rng.normal(0.0, math.sqrt(1.0 - kept**2)))
        along = np.column_stack([np.cos(np.radians(headings)), np.sin(np.radians(headings))])
        velocity = steady(110.0, headings, blows_from, speed) + along * np.array(wander)[:, None]
        estimate = estimated(time, velocity + rng.normal(0.0, 0.3, (len(time), 2)))
        assert estimate is not None
        wind = estimate.between(0.0, float(time[-1]))
        assert wind is not None
        off = np.array([wind.to_north_mps, wind.to_east_mps]) + vector(speed * KT, blows_from)
        scores += list(np.abs(off) / wind.sd_mps)
        sd_kt.append(wind.sd_mps / KT)
    count = len(scores)
    assert np.mean(np.array(scores) < 1.0) == pytest.approx(0.683, abs=3.0 * math.sqrt(0.683 * 0.317 / count))
    assert np.sum(np.array(scores) > 3.0) <= 2
    assert np.sqrt(np.mean(np.square(scores))) == pytest.approx(1.0, abs=3.0 / math.sqrt(2.0 * count))
    assert np.median(sd_kt) < 1.5


@pytest.mark.parametrize("change_kt", [-30.0, -20.0, 20.0])
def test_a_deliberate_change_of_speed_is_not_wind(change_kt):
    # Out at 120 kt, round, and back in slower or faster, in no wind: half the difference would be the wind of a careless fit.
    back = [Straight("back", 20.0), Straight("change", 20.0, 120.0 + change_kt), Straight("home", 120.0)]
    flown = fly([Straight("out", 120.0), Turn("round", 180.0, 18.0), *back], roll_deg_s=5.0)
    wind = wind_of(flown, Log(noise_m=1.0))
    assert wind is not None
    assert wind.speed_mps / KT < 2.0
    assert wind.speed_mps < 3.0 * wind.sd_mps


def test_inputs_are_left_alone():
    headings = out_and_swept(200.0)
    time, velocity = 5.0 * np.arange(len(headings)), steady(120.0, headings, 40.0, 15.0)
    kept = time.copy(), velocity.copy()
    estimated(time, velocity)
    assert (time == kept[0]).all()
    assert (velocity == kept[1]).all()


def test_uneven_nodes_serve_as_well():
    time = np.cumsum(np.random.default_rng(2).choice([3.0, 5.0, 11.0], 60))
    estimate = estimated(time, steady(120.0, 3.0 * time, 300.0, 22.0))
    assert estimate is not None
    wind = estimate.between(float(time[0]), float(time[-1]))
    assert wind is not None
    assert wind.speed_mps / KT == pytest.approx(22.0, abs=0.1)
    north, east = estimate.at(np.array([time[5] + 1.0]))
    assert (north[0] / KT, east[0] / KT) == pytest.approx(tuple(-vector(22.0, 300.0)), abs=0.3)


def test_the_errors_over_a_stretch_are_those_over_the_whole():
    """Whatever else is asked for at once: a long log is asked stretch by stretch."""
    legs = [Straight("out", 240.0), Turn("round", 360.0, 18.0), Straight("on", 240.0), Turn("back", -270.0, 18.0)]
    flown = fly([*legs, Straight("home", 240.0)], (0.0, 2.0), 0.0, 120.0, (270.0, 20.0))
    charted = resolve(Chart().at(NORTH), dt.date(2026, 6, 1))
    wind = analyse_motion(EXACT.of(flown, NORTH), charted).wind
    assert wind is not None
    whole = np.arange(wind.time_s[0] - 100.0, wind.time_s[-1] + 100.0, 7.0)
    for sds in (wind.airspeed_sds, wind.component_sds):
        expected = sds(whole)
        assert np.ptp(expected) > 0.0
        for first in range(0, len(whole), 5):
            for length in (1, 2, 30):
                stretch = slice(first, first + length)
                np.testing.assert_array_equal(sds(whole[stretch]), expected[stretch])
        assert not len(sds(whole[:0]))


@dataclass(frozen=True)
class Flight:
    """Velocities every 5 s of a flight through drifting, sheared and gusty air, with its airspeed and the wind itself."""

    time_s: np.ndarray
    velocity_mps: np.ndarray
    height_m: np.ndarray
    airspeed_mps: np.ndarray
    wind_mps: np.ndarray


def wandering(rng: np.random.Generator, count: int, sd: float, lasts_s: float, step_s: float = 1.0) -> np.ndarray:
    """A quantity that comes back to zero."""
    kept, value = math.exp(-step_s / lasts_s), np.empty(count)
    value[0] = rng.normal(0.0, sd)
    for k in range(1, count):
        value[k] = kept * value[k - 1] + rng.normal(0.0, sd * math.sqrt(1.0 - kept**2))
    return value


def flown_badly(seed: int, *, changes_speed: bool, climbs: bool) -> Flight:
    """Five legs and turns of 90° to 270°, in which it slows down, speeds up, climbs and descends as it turns."""
    rng = np.random.default_rng([seed, 5])
    speed, height = rng.uniform(90.0, 220.0) * KT, rng.uniform(800.0, 3000.0)
    heading, meant, level = [rng.uniform(0.0, 360.0)], [speed], [height]
    goal, climb_to = speed, height
    for _ in range(5):
        for turn in (0.0, float(rng.choice([90.0, 180.0, 225.0, 270.0]) * rng.choice([-1, 1]))):
            seconds = round(abs(turn) / 3.0) if turn else int(rng.integers(40, 160))
            if turn and changes_speed and rng.random() < 0.6:
                goal = speed * rng.uniform(0.7, 1.2)
            if turn and climbs and rng.random() < 0.6:
                climb_to = max(300.0, climb_to + rng.uniform(-600.0, 600.0))
            for _ in range(seconds):
                heading.append(heading[-1] + (math.copysign(3.0, turn) if turn else 0.0))
                meant.append(meant[-1] + float(np.clip(goal - meant[-1], -0.5, 0.5)))
                level.append(level[-1] + float(np.clip(climb_to - level[-1], -5.0, 5.0)))
    count, altitude = len(heading), np.array(level)
    airspeed = np.array(meant) + wandering(rng, count, 0.7, 40.0)
    shear = rng.uniform(0.0, 8.0) * KT / 304.8 if climbs else 0.0
    sheared = np.outer(altitude - altitude[0], vector(shear, rng.uniform(0.0, 360.0)))
    wind = vector(rng.uniform(0.0, 35.0) * KT, rng.uniform(0.0, 360.0)) + sheared
    wind = wind + np.column_stack([wandering(rng, count, 1.2, 900.0) + wandering(rng, count, 0.5, 25.0) for _ in range(2)])
    ahead = np.radians(heading)
    velocity = airspeed[:, None] * np.column_stack([np.cos(ahead), np.sin(ahead)]) + wind
    some = slice(None, None, 5)
    noisy = velocity[some] + rng.normal(0.0, 0.2, velocity[some].shape)
    return Flight(5.0 * np.arange(len(noisy)), noisy, altitude[some], airspeed[some], wind[some])


def test_errors_are_as_stated_where_it_slows_down_or_climbs_as_it_turns():
    """Of 160 flights, 60 to 80 % of the errors lie within one standard deviation and 90 % within two, and those are small."""
    of_wind, of_airspeed, sd_kt = [], [], []
    kinds = [(changes_speed, climbs) for changes_speed in (False, True) for climbs in (False, True)]
    for seed, (changes_speed, climbs) in itertools.product(range(40), kinds):
        flight = flown_badly(seed, changes_speed=changes_speed, climbs=climbs)
        estimate = estimate_wind(flight.time_s, flight.velocity_mps, flight.height_m)
        assert estimate is not None
        wind = estimate.between(0.0, float(flight.time_s[-1]))
        assert wind is not None
        off = np.array([wind.to_north_mps, wind.to_east_mps]) - flight.wind_mps.mean(axis=0)
        of_wind += list(np.abs(off) / wind.sd_mps)
        of_airspeed += list(np.abs(estimate.true_airspeed_mps - flight.airspeed_mps) / estimate.airspeed_sds(flight.time_s))
        sd_kt.append(float(np.median(estimate.airspeed_sds(flight.time_s))) / KT)
    for scores in (of_wind, of_airspeed):
        assert 0.6 <= np.mean(np.array(scores) < 1.0) <= 0.8
        assert np.mean(np.array(scores) < 2.0) >= 0.9
    assert np.median(sd_kt) < 3.0


def test_a_wind_that_no_air_holds_is_refused_with_the_reason():
    headings = np.concatenate([np.zeros(12), np.arange(0.0, 361.0, 15.0)])
    time, heights = 5.0 * np.arange(len(headings)), np.full(len(headings), 300.0)
    estimate = estimate_wind(time, steady(250.0, headings, 270.0, 130.0), heights)
    assert estimate is not None
    assert estimate.between(0.0, float(time[-1])) is None
    assert "more than the air there can hold" in estimate.why_not(0.0, float(time[-1]))
    assert too_strong(130.0 * KT, np.full(3, 9000.0)) == ""  # a jet stream
    assert too_strong(260.0 * KT, np.array([np.nan])) != ""


def test_an_airspeed_that_no_such_aircraft_flies_is_refused_where_the_ground_speed_is_one():
    ground = np.full(5, 110.0 * KT)
    assert "category A" in too_fast(ground, np.full(5, 230.0 * KT), "A")
    assert too_fast(ground, np.full(5, 230.0 * KT), "D") == ""
    assert too_fast(np.full(5, 230.0 * KT), np.full(5, 240.0 * KT), "A") == ""  # flown too fast, whatever the wind


@pytest.mark.parametrize(("seed", "noise_mps"), [(4, 0.8), (1, 0.8), (2, 0.25)])
def test_air_that_moves_along_with_the_aircraft_is_that_much_more_wind(seed, noise_mps):
    """Only what has settled is the same whichever wind the search began at; the flight slows from 140 to 90 kt in its turns."""
    turns = (np.linspace(0.0, -210.0, 15)[1:], np.linspace(-210.0, -30.0, 13)[1:])  # at 3° a second
    headings = np.concatenate([np.zeros(16), turns[0], np.full(33, -210.0), turns[1], np.full(16, -30.0)])
    slowing = (np.linspace(140.0, 120.0, 14), np.linspace(120.0, 90.0, 12))
    speeds = np.concatenate([np.full(16, 140.0), slowing[0], np.full(33, 120.0), slowing[1], np.full(16, 90.0)])
    flown = np.array([vector(speed * KT, heading) for speed, heading in zip(speeds, headings, strict=True)])
    flown += np.random.default_rng(seed).normal(0.0, noise_mps, flown.shape) - vector(25.0 * KT, 240.0)
    time_s, moved = 5.0 * np.arange(float(len(flown))), np.array([2.0, -1.0])
    still, along = estimated(time_s, flown), estimated(time_s, flown + moved)
    assert still is not None
    assert along is not None
    assert along.to_north_mps - still.to_north_mps == pytest.approx(moved[0], abs=0.25)
    assert along.to_east_mps - still.to_east_mps == pytest.approx(moved[1], abs=0.25)


@pytest.mark.parametrize("seed", range(6))
def test_a_flight_straight_in_that_stops_on_the_runway_tells_no_wind(seed):
    """It stands still in whatever direction its noise has; a wind of all its ground speed would leave it no airspeed."""
    speeds_kt = np.concatenate([np.full(190, 64.0), np.linspace(64.0, 0.0, 6), np.zeros(12)])
    flown = np.array([vector(speed * KT, 28.0) for speed in speeds_kt])
    flown += np.random.default_rng(seed).normal(0.0, 0.4, flown.shape)
    time_s = 5.0 * np.arange(float(len(flown)))
    wind = estimated(time_s, flown)
    assert wind is None or wind.between(time_s[0], time_s[-1]) is None


def test_a_flight_as_slow_as_any_aircraft_flies_tells_its_wind():
    """At 45 kt, as a microlight flies."""
    headings = np.concatenate([out_and_swept(180.0), np.full(37, 180.0)])
    wind = estimated(5.0 * np.arange(74.0), steady(45.0, headings, 240.0, 12.0))
    assert wind is not None
    found = wind.between(0.0, 365.0)
    assert found is not None
    assert found.speed_mps / KT == pytest.approx(12.0, abs=2.0)
