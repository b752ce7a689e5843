"""States of the smoothed flight against closed forms and an independent geodesic library."""

import dataclasses
import datetime as dt
import math

import numpy as np
import pytest
from geographiclib.geodesic import Geodesic
from synthetic import CALM, FT, HERE, KT, NM, START_S, Chart, Flown, Log, Place, Straight, Turn, fly, standard_rate_bank

from analyzer.errors import LogError
from analyzer.motion.motion import Motion
from analyzer.motion.smooth import analyse_motion, see_against
from analyzer.procedure.charted import resolve

EXACT = Log()
PLACES = [
    Place(),
    Place(latitude_deg=-43.7, longitude_deg=95.0, outbound_true_deg=301.0, variation_deg=-30.0),
    Place(latitude_deg=-8.0, longitude_deg=179.97, outbound_true_deg=88.0, variation_deg=12.0),
    Place(latitude_deg=66.3, longitude_deg=-179.93, outbound_true_deg=255.0, variation_deg=3.0),
]


def motion_of(flown: Flown, log: Log = EXACT, place: Place = HERE) -> Motion:
    return analyse_motion(log.of(flown, place), resolve(Chart().at(place), dt.date(2026, 6, 1)))


def circling(sign: float, wind: tuple[float, float] = CALM, bank_deg: float = 30.0) -> Flown:
    path = [Straight("in", 30.0), Turn("round", sign * 720.0, bank_deg), Straight("out", 30.0)]
    return fly(path, (1.0, 1.5), 20.0, 120.0, wind)


@pytest.mark.parametrize("wind", [CALM, (70.0, 25.0)])
@pytest.mark.parametrize("sign", [1.0, -1.0])
def test_thirty_degrees_of_bank_at_120_knots(sign, wind):
    # FAA-H-8083-25C chapter 5, figures 5-56 to 5-61: 5.25°/s and a radius of 2,215 ft; its constants are rounded by 0.5 %.
    flown = circling(sign, wind)
    states = motion_of(flown).states
    turning = states.between(START_S + 45.0, START_S + flown.begins["out"] - 15.0)
    assert np.degrees(turning.bank_rad).mean() == pytest.approx(sign * 30.0, abs=0.1)
    assert np.degrees(turning.turn_rate_rad_s).mean() == pytest.approx(sign * 5.25, rel=0.002)
    radius_ft = turning.true_airspeed_mps / np.abs(turning.turn_rate_rad_s) / FT
    assert radius_ft.mean() == pytest.approx(2_215.0, rel=0.005)
    assert turning.true_airspeed_mps / KT == pytest.approx(np.full(len(turning), 120.0), abs=0.3)
    # wind bends neither bank nor rate, though it bends the rate of the track
    assert np.degrees(turning.bank_rad) == pytest.approx(np.full(len(turning), sign * 30.0), abs=0.1)
    assert np.degrees(turning.turn_rate_rad_s) == pytest.approx(np.full(len(turning), sign * 5.25), abs=0.02)
    of_track = np.degrees(np.gradient(np.unwrap(turning.track_rad)))
    assert np.ptp(of_track) > 2.0 if wind[1] else np.ptp(of_track) < 0.1


def test_level_flight_has_no_bank_and_headings_differ_from_tracks_by_the_drift():
    flown = circling(1.0, (110.0, 24.0))  # 90° from the right of the heading of 020°
    states = motion_of(flown, place=Place(outbound_true_deg=0.0, variation_deg=0.0)).states
    level = states.between(START_S + 3.0, START_S + 20.0)
    assert np.degrees(level.bank_rad) == pytest.approx(np.zeros(len(level)), abs=0.3)
    assert np.degrees(level.heading_rad) == pytest.approx(np.full(len(level), 20.0), abs=0.3)
    drift = math.degrees(math.atan(24.0 / 120.0))
    assert np.degrees(level.track_rad) == pytest.approx(np.full(len(level), 20.0 - drift), abs=0.1)
    assert level.ground_speed_mps / KT == pytest.approx(np.full(len(level), math.hypot(120.0, 24.0)), abs=0.1)


@pytest.mark.parametrize(("latitude", "bank_deg"), [(60.0, -0.184), (-60.0, 0.184), (45.0, -0.151), (0.0, 0.0)])
@pytest.mark.parametrize("course", [0.0, 90.0, 200.0])
def test_a_great_circle_is_held_against_the_turning_earth(latitude, bank_deg, course):
    # Coriolis: 2 Ω sin φ V to the right in the north, Ω = 7.292e-5 rad/s; at 250 m/s that is so much bank to the left.
    place = Place(latitude_deg=latitude, outbound_true_deg=course, variation_deg=0.0)
    states = motion_of(fly([Straight("on", 300.0)], (0.0, -20.0), 0.0, 250.0 / KT), place=place).states
    assert np.degrees(states.between(START_S + 20.0, START_S + 280.0).bank_rad).mean() == pytest.approx(bank_deg, abs=0.002)


@pytest.mark.parametrize("bank_deg", [12.0, 25.0, 35.0])
def test_bank_is_off_by_no_more_than_its_standard_deviation_says(bank_deg):
    # Turns left and right with 2 m of noise a sample. Over a flight 95.4 % should lie within 2 sd: three sd of the binomial
    # below that for seconds far enough apart to be independent. The sd is not idle: within a factor of three of the real error.
    path = [Straight("in", 20.0)]
    for number, degrees in enumerate((90.0, -120.0, 180.0, -90.0, 200.0)):
        path += [Turn(f"turn {number}", degrees, bank_deg), Straight(f"straight {number}", 15.0)]
    flown = fly(path, (1.0, 1.5), roll_deg_s=5.0)
    scores = []
    for seed in range(12):
        motion = motion_of(flown, Log(noise_m=2.0, seed=seed))
        states = motion.states
        error = np.degrees(states.bank_rad) - flown.at(states.time_s - START_S, flown.bank_deg)
        scores += list((error / np.degrees(motion.bank_sd_rad(states)))[8:-8:8])
    assert np.mean(np.abs(scores) < 2.0) > 0.954 - 3.0 * math.sqrt(0.954 * 0.046 / len(scores))
    assert np.sqrt(np.mean(np.square(scores))) > 1.0 / 3.0


@pytest.mark.parametrize("place", PLACES)
def test_positions_distances_and_bearings(place):
    flown = fly([Straight("out", 200.0), Turn("round", -270.0, 20.0), Straight("back", 200.0)], (-3.0, -4.0), 35.0, 140.0)
    states = motion_of(flown, Log(altitude_ft=2500.0), place).states
    seconds = states.time_s - START_S
    assert states.distance_m / NM == pytest.approx(flown.at(seconds, flown.distance_nm), abs=0.0005)
    for k in range(5, len(states), 40):
        latitude, longitude = math.degrees(states.latitude_rad[k]), math.degrees(states.longitude_rad[k])
        line = Geodesic.WGS84.Inverse(place.latitude_deg, place.longitude_deg, latitude, longitude)
        assert states.distance_m[k] == pytest.approx(line["s12"], abs=0.001)
        assert math.remainder(math.degrees(states.bearing_rad[k]) - line["azi1"], 360.0) == pytest.approx(0.0, abs=1e-5)
        assert -180.0 <= longitude <= 180.0
        x, y = (float(flown.at(seconds[k], value)) for value in (flown.x_nm, flown.y_nm))
        outbound = math.radians(place.outbound_true_deg)
        assert states.cross_track_m(outbound)[k] / NM == pytest.approx(x, abs=0.001)
        assert states.along_m(outbound)[k] / NM == pytest.approx(y, abs=0.001)
        assert math.degrees(states.deviation_rad(outbound)[k]) == pytest.approx(math.degrees(math.atan2(x, y)), abs=0.02)
    assert states.altitude_m / FT == pytest.approx(np.full(len(states), 2500.0), abs=0.1)


@pytest.mark.parametrize("place", PLACES)
def test_track_is_the_geodesic_azimuth_to_the_next_second(place):
    flown = fly([Straight("by", 240.0)], (-6.0, 2.0), 80.0, 150.0)
    states = motion_of(flown, place=place).states
    latitude, longitude = np.degrees(states.latitude_rad), np.degrees(states.longitude_rad)
    for k in range(5, len(states) - 5, 20):
        line = Geodesic.WGS84.Inverse(latitude[k - 1], longitude[k - 1], latitude[k + 1], longitude[k + 1])
        middle_azimuth = Geodesic.WGS84.Direct(latitude[k - 1], longitude[k - 1], line["azi1"], line["s12"] / 2.0)["azi2"]
        assert math.remainder(math.degrees(states.track_rad[k]) - middle_azimuth, 360.0) == pytest.approx(0.0, abs=0.02)
        assert states.ground_speed_mps[k] == pytest.approx(line["s12"] / 2.0, rel=2e-4)


def test_positions_between_states_across_the_180th_meridian():
    place = PLACES[2]
    flown = fly([Straight("across", 300.0)], (0.0, -5.0), 0.0, 120.0)
    motion = motion_of(flown, place=place)
    crossing = int(np.argmax(np.abs(np.diff(motion.states.longitude_rad))))
    assert np.ptp(motion.states.longitude_rad) > 6.0
    for second in (*np.arange(crossing - 3.0, crossing + 4.0, 0.2), 20.5, 250.25):
        latitude, longitude = motion.position_at(START_S + second)
        line = Geodesic.WGS84.Inverse(place.latitude_deg, place.longitude_deg, math.degrees(latitude), math.degrees(longitude))
        assert line["s12"] / NM == pytest.approx(float(flown.at(second, flown.distance_nm)), abs=0.002)


def test_climb_and_descent():
    flown = fly([Straight("on", 300.0)], (0.0, 0.0), 0.0, 100.0)
    states = motion_of(flown, Log(altitude_ft=[(0.0, 2000.0), (100.0, 2000.0), (200.0, 3000.0), (300.0, 2200.0)])).states
    for second, feet_a_minute in ((50.0, 0.0), (150.0, 600.0), (250.0, -480.0)):
        k = round(second)
        assert states.vertical_speed_mps[k] / FT * 60.0 == pytest.approx(feet_a_minute, abs=2.0)
    assert states.altitude_m[150] / FT == pytest.approx(2500.0, abs=1.0)


def test_no_state_lies_in_a_gap_and_none_is_bent_by_it():
    flown = circling(1.0, bank_deg=standard_rate_bank(120.0))
    motion = motion_of(flown, Log(hole_s=(100.0, 140.0)))
    seconds = motion.states.time_s - START_S
    assert not ((seconds > 100.0) & (seconds < 140.0)).any()
    assert np.abs(motion.states.distance_m / NM - flown.at(seconds, flown.distance_nm)).max() < 0.002
    assert len(motion.gaps_between(START_S + 90.0, START_S + 101.0)) == 1
    assert motion.gaps_between(START_S, START_S + 99.0) == ()


def test_frame_has_a_row_a_sample_and_the_trades_units():
    flown = circling(1.0, (70.0, 25.0))
    log = Log(step_s=0.5, noise_m=1.0)
    frame = motion_of(flown, log).to_frame()
    track = log.of(flown)
    assert list(frame.columns) == [
        "time", "latitude_deg", "longitude_deg", "altitude_ft", "altitude_sd_ft", "distance_nm", "distance_sd_nm",
        "ground_speed_kt", "ground_speed_sd_kt", "track_deg_true", "track_sd_deg", "vertical_speed_fpm",
        "vertical_speed_sd_fpm", "turn_rate_deg_s", "turn_rate_sd_deg_s", "bank_deg", "bank_sd_deg", "true_airspeed_kt",
        "true_airspeed_sd_kt",
    ]  # fmt: skip
    assert len(frame) == len(track)
    row = frame.iloc[160]  # second 80, in the turn
    assert row["time"].isoformat() == dt.datetime.fromtimestamp(START_S + 80.0, tz=dt.UTC).isoformat()
    assert row["bank_deg"] == pytest.approx(30.0, abs=3.0 * row["bank_sd_deg"])
    assert row["true_airspeed_kt"] == pytest.approx(120.0, abs=2.0)
    assert row["altitude_ft"] == pytest.approx(3000.0, abs=0.1)
    assert row["distance_nm"] == pytest.approx(float(flown.at(80.0, flown.distance_nm)), abs=0.005)


def test_a_flight_without_turns_has_no_airspeed_and_one_without_altitude_no_height():
    motion = motion_of(fly([Straight("on", 120.0)], (0.0, 0.0), 0.0, 100.0), Log(altitude_ft=None))
    assert motion.wind is None
    assert not motion.has_altitude
    assert np.isnan(motion.states.altitude_m).all()
    assert np.isnan(motion.to_frame()["true_airspeed_kt"]).all()


def test_a_log_of_a_few_seconds_is_an_error():
    track = Log(end_s=3.0).of(fly([Straight("on", 10.0)], (0.0, 0.0), 0.0, 100.0))
    with pytest.raises(LogError, match=r"made\.csv: no 5 samples follow each other"):
        analyse_motion(track, resolve(Chart().at(), dt.date(2026, 6, 1)))


def test_a_flight_seen_against_another_procedure_is_as_if_smoothed_for_it():
    """Distance and bearing are from the other fix; everything else is bit for bit the same."""
    track = Log(noise_m=2.0).of(circling(1.0, (70.0, 25.0)))
    here, there = (resolve(Chart().at(place), dt.date(2026, 6, 1)) for place in (HERE, Place(latitude_deg=41.3)))
    motion = analyse_motion(track, here)
    seen, anew = see_against(motion, there), analyse_motion(track, there)
    assert seen.charted is there
    for field in dataclasses.fields(anew.states):
        np.testing.assert_array_equal(getattr(seen.states, field.name), getattr(anew.states, field.name), strict=True)
    assert not np.array_equal(seen.states.distance_m, motion.states.distance_m)
    assert seen.notes == anew.notes
    with pytest.raises(ValueError, match="read-only"):
        seen.states.distance_m[0] = 1.0


def test_states_cannot_be_changed():
    states = motion_of(circling(1.0)).states
    with pytest.raises(ValueError, match="read-only"):
        states.bank_rad[0] = 1.0
    with pytest.raises(dataclasses.FrozenInstanceError):
        states.bank_rad = states.time_s  # type: ignore[misc]
