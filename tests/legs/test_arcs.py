"""Arcs about a point: laid out on the ellipsoid, and those of calibration flights about published stations."""

import csv
import datetime as dt
import math
from pathlib import Path

import numpy as np
import pytest
from all_day import joined, way_to
from found import found, starts
from patterns import Pattern, fly_approach
from pyproj import Geod
from synthetic import CALM, HERE, KT, NM, START_S, Chart, Place, Turn, fly

from analyzer import debrief, read_track
from analyzer.doubts.crossed import crossed
from analyzer.legs.arcs import Arc, arcs_about, keeps_round
from analyzer.legs.find import find_reversals
from analyzer.motion.motion import Motion
from analyzer.motion.smooth import analyse_motion
from analyzer.procedure.charted import resolve
from analyzer.report.words.unrecognised import nothing_found
from analyzer.track.read import ReadOptions
from analyzer.track.track import Track

CENTRE = (41.2, -38.4)
REAL = Path(__file__).resolve().parents[3] / "shared" / "real"


def motion_of(track: Track) -> Motion:
    return analyse_motion(track, resolve(Chart().at(), dt.date(2019, 6, 1)))


def round_about(bearings_deg: np.ndarray, radius_nm: np.ndarray) -> Motion:
    """A flight through points by bearing and distance from the centre, a second apart."""
    n = len(bearings_deg)
    longitude, latitude, _ = Geod(ellps="WGS84").fwd(np.full(n, CENTRE[1]), np.full(n, CENTRE[0]), bearings_deg, radius_nm * NM)
    track = Track(
        "made.csv", "csv", START_S + np.arange(n, dtype=float), np.radians(latitude), np.radians(longitude),
        np.full(n, 900.0), {}, (), (), (),
    )  # fmt: skip
    return motion_of(track)


@pytest.mark.parametrize("sign", [1.0, -1.0])
@pytest.mark.parametrize("radius_nm", [7.0, 15.0, 25.0])
def test_an_arc_between_two_radials(sign, radius_nm):
    # 110 kt round the arc from one radial to another 80° on, after and before a flight straight out
    rate = 110.0 / 3600.0 / radius_nm * 180.0 / math.pi
    out, seconds = 200, round(80.0 / rate)
    legs = radius_nm - 110.0 / 3600.0 * np.arange(out)[::-1]
    bearings = np.concatenate([np.full(out, 350.0), 350.0 + sign * rate * np.arange(1, seconds)])
    motion = round_about(bearings, np.concatenate([legs, np.full(seconds - 1, radius_nm)]))
    (arc,) = arcs_about(motion, *map(math.radians, CENTRE))
    assert arc.radius_m / NM == pytest.approx(radius_nm, abs=0.005)
    assert arc.departure_m / NM < 0.05
    assert math.degrees(arc.swept_rad) == pytest.approx(sign * 80.0, abs=8.0)  # half a minute at either end
    assert arc.start_s == pytest.approx(START_S + out, abs=35.0)


def test_what_is_no_arc():
    seconds = np.arange(1200)
    through = round_about(np.full(1200, 40.0), np.abs(20.0 - 110.0 / 3600.0 * seconds) + 0.01)
    short = round_about(40.0 + 0.02 * seconds, np.full(1200, 15.0))  # 24°
    circling = round_about(40.0 + 1.2 * seconds, np.full(1200, 1.5))
    spiral = round_about(40.0 + 0.1 * seconds, 6.0 + 0.01 * seconds)
    for motion in (through, short, circling, spiral):
        assert arcs_about(motion, *map(math.radians, CENTRE)) == ()


@pytest.mark.parametrize(("radius_nm", "is_arc"), [(1.5, False), (2.8, False), (3.5, True), (10.0, True)])
def test_a_turn_close_to_the_point_is_an_arc_only_where_it_is_charted(radius_nm, is_arc):
    bearing = np.radians(np.linspace(20.0, 80.0, 120))
    distance, track = np.full(120, radius_nm * NM), bearing + 0.5 * np.pi
    assert keeps_round(distance, bearing, track, None) == is_arc
    assert keeps_round(distance, bearing, track, radius_nm * NM)


@pytest.mark.parametrize("overshot_deg", [20.0, -20.0])
def test_the_end_of_the_turn_onto_a_short_arc_may_be_counted_with_it(overshot_deg):
    # 40° of a 10 NM arc, a state a second; the first seconds are those of a turn that went too far, or not yet far enough
    bearing = np.radians(np.linspace(0.0, 40.0, 230))
    track = bearing + 0.5 * math.pi
    track[:10] += np.radians(np.linspace(overshot_deg, 0.0, 10))
    assert keeps_round(np.full(230, 10.0 * NM), bearing, track, 10.0 * NM)
    straight = np.full(230, track[115])
    assert not keeps_round(np.full(230, 10.0 * NM), bearing, straight, 10.0 * NM)


def slipping(by_nm: float, angle_deg: float) -> Motion:
    """In to a 10 NM arc and round it to a radial, and in; on the way it is left by an angle, and corrected back by the same.

    Half of the correction is flown where the arc is left for the radial. 120 kt, a point a second, corners at the turns.
    """
    step = 120.0 / 3600.0
    bearing, radius, points = 260.0, 10.0, [(260.0, 13.0 - step * k) for k in range(int(2.9 / step))]
    out, slope = False, 0.0
    while not (out and abs(radius - 10.0) < 0.5 * abs(by_nm)):
        points.append((bearing, radius))
        if bearing > 280.0 and not out:
            slope = angle_deg
        if abs(radius - 10.0) >= abs(by_nm):
            slope, out = -angle_deg, True
        radius += math.copysign(step * math.sin(math.radians(slope)), by_nm * slope) if slope else 0.0
        bearing += math.degrees(step * math.cos(math.radians(slope)) / radius)
    points += [(bearing, radius - step * k) for k in range(int((radius - 0.1) / step))]
    points += [(bearing + 180.0, 0.1 + step * k) for k in range(90)]
    bearings, radii = (np.array(values) for values in zip(*points, strict=True))
    return round_about(bearings, radii)


@pytest.mark.parametrize("by_nm", [1.3, -1.3])
@pytest.mark.parametrize("angle_deg", [14.0, 15.0])
def test_an_arc_that_is_left_and_corrected_back_to_is_still_the_charted_one(by_nm, angle_deg):
    # the turn onto the course begins in the correction, so that the track has not turned as much as the bearing has
    centre = {"latitude_deg": CENTRE[0], "longitude_deg": CENTRE[1], "radius_nm": 10.0}
    motion = slipping(by_nm, angle_deg)
    place = Place(*CENTRE, float(np.degrees(motion.states.track_rad[-30])) + 180.0, 0.0)
    charted = Chart(None, None, reversal={"kind": "arc", "turn": "right"}, tables={"arc": centre}).at(place)
    (arc,) = find_reversals(analyse_motion(motion.track, resolve(charted, dt.date(2019, 6, 1))))
    assert arc.flown == "arc"
    part = arc.part("arc")
    assert part is not None
    flown = motion.states.between(part.start_s, part.end_s)
    away = [
        Geod(ellps="WGS84").inv(CENTRE[1], CENTRE[0], *at)[2] / NM
        for at in zip(*np.degrees((flown.longitude_rad, flown.latitude_rad)), strict=True)
    ]
    assert max(abs(one - 10.0) for one in away) == pytest.approx(abs(by_nm), abs=0.1)


def orbits(radius_nm: float, turns: float, knots: float = 120.0) -> tuple[np.ndarray, np.ndarray]:
    """Bearings and distances of an orbit, a second apart."""
    rate = knots / 3600.0 / radius_nm * 180.0 / math.pi
    bearings = rate * np.arange(round(360.0 * turns / rate))
    return bearings, np.full(len(bearings), radius_nm)


def test_two_orbits_are_two_arcs():
    wide, near = orbits(20.0, 1.1), orbits(15.0, 1.3)
    for closing_deg in (90.0, 40.0, 8.0):  # across from one to the other straight, by a slant, and by a spiral
        inwards = 120.0 / 3600.0 * math.sin(math.radians(closing_deg))
        across = np.arange(20.0, 15.0, -inwards)
        round_s = math.degrees(120.0 / 3600.0 * math.cos(math.radians(closing_deg))) / across
        bearings = np.concatenate([wide[0], wide[0][-1] + np.cumsum(round_s)])
        motion = round_about(np.concatenate([bearings, bearings[-1] + near[0]]), np.concatenate([wide[1], across, near[1]]))
        found = arcs_about(motion, *map(math.radians, CENTRE))
        assert [arc.radius_m / NM for arc in found] == pytest.approx([20.0, 15.0], abs=0.1)


def straight_past(nearest_nm: float, minutes: float) -> Motion:
    """A straight flight at 300 kt that passes the centre at a distance, half of it before that."""
    along = 300.0 / 3600.0 * (np.arange(minutes * 60.0) - 30.0 * minutes)
    return round_about(np.degrees(np.arctan2(along, nearest_nm)), np.hypot(along, nearest_nm))


@pytest.mark.parametrize("nearest_nm", [6.0, 10.0, 40.0, 102.0])
def test_straight_flight_at_any_distance_is_no_arc(nearest_nm):
    motion = straight_past(nearest_nm, 40.0)
    assert arcs_about(motion, *map(math.radians, CENTRE)) == ()
    assert [one.flown for one in find_reversals(seen_by(motion, min(nearest_nm, 100.0)))] == []


def seen_by(motion: Motion, radius_nm: float) -> Motion:
    """The flight against a chart of an arc of some radius about the centre, which is the fix as well."""
    arc = {"latitude_deg": CENTRE[0], "longitude_deg": CENTRE[1], "radius_nm": radius_nm}
    place = Place(*CENTRE, 0.0, 0.0)
    charted = Chart(None, None, reversal={"kind": "arc", "turn": "right"}, tables={"arc": arc}).at(place)
    return analyse_motion(motion.track, resolve(charted, dt.date(2019, 6, 1)))


def test_two_hours_round_a_charted_arc_are_an_arc():
    bearings, distances = orbits(10.0, 4.0)
    out = 10.0 - 120.0 / 3600.0 * np.arange(240)[::-1]
    motion = round_about(np.concatenate([np.zeros(240), bearings]), np.concatenate([out, distances]))
    (arc,) = find_reversals(seen_by(motion, 10.0))
    assert (arc.flown, [part.name for part in arc.parts]) == ("arc", ["arrival", "arc"])
    assert arc.parts[-1].duration_s > 7000.0
    assert find_reversals(seen_by(motion, 15.0)) == ()


def test_a_charted_arc_is_found_beside_a_reversal():
    """Round three quarters of the arc, away, and later over the fix, a 45/180, and home."""
    approach = fly_approach(Pattern(roll_deg_s=5.0))
    f = approach.flown
    bank_deg = math.degrees(math.atan((120.0 * KT) ** 2 / (9.80665 * 10.0 * NM)))  # of a turn of 10 NM
    elsewhere = fly([Turn("arc", 270.0, bank_deg)], (-10.0, 0.0), 0.0, 120.0)
    here = float(elsewhere.x_nm[-1]), float(elsewhere.y_nm[-1])
    heading = float(elsewhere.heading_deg[-1])
    there = float(f.x_nm[0]), float(f.y_nm[0])
    away = fly(way_to(here, heading, there, float(f.heading_deg[0]), 120.0, CALM), here, heading, 120.0)
    flown = joined(joined(elsewhere, away), f)
    arc = {"latitude_deg": HERE.latitude_deg, "longitude_deg": HERE.longitude_deg, "radius_nm": 10.0}
    charted = Chart(None, None, reversal={"kind": "arc", "turn": "right"}, tables={"arc": arc})
    shapes = found(flown, chart=charted)
    assert [one.flown for one in shapes] == ["arc", "45/180"]
    assert starts(shapes[0]) == pytest.approx({"arc": 0.0}, abs=40.0)


@pytest.mark.parametrize(("swept_deg", "goes_on_s", "doubted"), [(55.0, 600, True), (55.0, 20, False), (90.0, 600, False)])
def test_a_short_arc_that_leads_nowhere_may_be_no_approach(swept_deg, goes_on_s, doubted):
    """A bend about the fix and straight on; a log that ends soon after it may have ended in the approach."""
    rate = 110.0 / 3600.0 / 7.0 * 180.0 / math.pi
    bearings = 270.0 + rate * np.arange(round(swept_deg / rate))
    on_nm = 110.0 / 3600.0 * np.arange(1, goes_on_s)
    away = np.full(300, 270.0) - np.degrees(np.arctan2(110.0 / 3600.0 * np.arange(300)[::-1], 7.0))
    first = 7.0 / np.cos(np.radians(away - 270.0))
    last_deg, last_nm = bearings[-1] + np.degrees(np.arctan2(on_nm, 7.0)), np.hypot(7.0, on_nm)
    motion = seen_by(
        round_about(np.concatenate([away, bearings, last_deg]), np.concatenate([first, np.full(len(bearings), 7.0), last_nm])),
        7.0,
    )
    flown = find_reversals(motion)
    assert [one.flown for one in flown] == ["arc"]
    assert [doubt.touches for doubt in crossed(motion, flown)] == (["all"] if doubted else [])


def test_arcs_are_named_of_a_flight_that_comes_nowhere_near():
    bearings, distances = orbits(20.0, 0.5)
    charted = Chart().at(Place(*CENTRE, 0.0, 0.0))
    said = nothing_found(debrief(round_about(bearings, distances).track, charted))
    assert "no closer to QRL than 20.0 NM" in said
    assert "20.0 NM through 1" in said


def stations() -> dict[str, tuple[float, float]]:
    with (REAL / "navaids" / "navaids.csv").open() as file:
        return {
            row["ident"]: (math.radians(float(row["latitude_deg"])), math.radians(float(row["longitude_deg"])))
            for row in csv.DictReader(file)
        }


def real_arcs(name: str) -> dict[str, tuple[Arc, ...]]:
    track = read_track(REAL / "adsb" / f"{name}.csv", ReadOptions(units={"altitude": "ft"}))
    motion = motion_of(track)
    return {ident: arcs_about(motion, *place) for ident, place in stations().items()}


@pytest.mark.skipif(not REAL.is_dir(), reason="the real logs are not beside the checkout")
class TestCalibrationFlights:
    """Flown round published stations at whole distances. What was flown is read off the track: no order comes with it."""

    def test_arcs_of_20_and_15_nm(self):
        found = real_arcs("brussels_vor")
        assert [ident for ident, arcs in found.items() if arcs] == ["BUB"]
        assert [arc.radius_m / NM for arc in found["BUB"]] == pytest.approx([20.0, 15.0], abs=0.1)
        assert all(abs(arc.swept_rad) > math.tau for arc in found["BUB"])  # more than one turn each

    def test_two_stations_five_miles_apart(self):
        found = real_arcs("liege_sprimont")
        assert {ident for ident, arcs in found.items() if arcs} == {"LNO", "SPI"}
        for ident, other in (("LNO", "SPI"), ("SPI", "LNO")):
            long = [arc for arc in found[ident] if abs(arc.swept_rad) > 2.0]  # through more than 115°: flown on purpose
            assert len(long) >= 2
            assert [arc.radius_m / NM for arc in long] == pytest.approx([15.0] * len(long), abs=0.1)
            rivals = [one for arc in long for one in found[other] if one.start_s < arc.end_s and one.end_s > arc.start_s]
            assert all(abs(one.swept_rad) < 1.1 for one in rivals)  # about the wrong station: no more than a glance of 60°

    @pytest.mark.parametrize("name", ["kingston", "pixair_toulouse", "inflight_refuelling"])
    def test_flights_without_arcs(self, name):
        assert not any(real_arcs(name).values())


@pytest.mark.parametrize("sign", [1.0, -1.0])
@pytest.mark.parametrize("minutes", [3.0, 6.0])
def test_the_arrival_ends_with_the_turn_onto_an_arc_in_which_the_log_ends(sign, minutes):
    """In along a radial, round a quarter of a circle onto the arc at 3° a second, and round; a descent may begin there."""
    step, radius = 120.0 / 3600.0, 10.0
    turn_nm = step / math.radians(3.0)
    points = [(0.0, radius + turn_nm + step * k) for k in range(200, -1, -1)]
    for k in range(1, 31):  # the centre of the turn lies on the tangent of the arc's beginning, a radius farther out
        angle = math.radians(3.0 * k)
        across, out = turn_nm * (1.0 - math.cos(angle)), radius + turn_nm * (1.0 - math.sin(angle))
        points.append((sign * math.degrees(math.atan2(across, out)), math.hypot(across, out)))
    joined_s, rate = len(points) - 1, math.degrees(step / radius)
    points += [(points[joined_s][0] + sign * rate * k, radius) for k in range(1, round(60.0 * minutes))]
    bearings, radii = (np.array(values) for values in zip(*points, strict=True))
    motion = round_about(bearings % 360.0, radii)
    centre = {"latitude_deg": CENTRE[0], "longitude_deg": CENTRE[1], "radius_nm": radius}
    side = "right" if sign > 0.0 else "left"
    charted = Chart(None, None, reversal={"kind": "arc", "turn": side}, tables={"arc": centre}).at(Place(*CENTRE, 90.0, 0.0))
    (flown,) = find_reversals(analyse_motion(motion.track, resolve(charted, dt.date(2019, 6, 1))))
    assert [part.name for part in flown.parts] == ["arrival", "arc_turn", "arc"]
    _, onto, on = flown.parts
    assert onto.start_s - START_S == pytest.approx(joined_s - 30.0, abs=5.0)
    assert on.start_s - START_S == pytest.approx(joined_s, abs=6.0)
