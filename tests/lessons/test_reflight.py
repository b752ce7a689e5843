"""When lessons are given: only where the simulation of the reversal reproduces the flight."""

import math
from dataclasses import replace

import numpy as np
import pytest
from checked import NOISY
from patterns import Pattern, fly_approach
from synthetic import CALM, HERE, KT, NM, Chart, Flown, Straight, Turn, Wind, fly, holding

from analyzer import debrief
from analyzer.checks.finding import Context
from analyzer.checks.standard import read_standard
from analyzer.lessons.reflight import Reflight, reflight
from analyzer.lessons.teach import teach

QUIET = replace(NOISY, noise_m=0.5)
FAR = Pattern(speed_kt=140.0, bank_deg=22.0, roll_deg_s=5.0, outbound_s=270.0, intercept=True)
WINDS: list[Wind] = [CALM, (180.0, 25.0), (0.0, 20.0), (90.0, 20.0), (250.0, 25.0)]
QUARTER_NM = 0.25


def context_of(flown: Flown, chart: Chart) -> Context:
    result = debrief(QUIET.of(flown), chart.at())
    (approach,) = result.approaches
    return Context(result.motion, approach.reversal, approach.figures, read_standard("faa-instrument"))


def again(context: Context) -> Reflight:
    found = reflight(context)
    assert found is not None
    return found


def in_wind_off_by(context: Context, knots: float, from_outbound_deg: float) -> Context:
    """The approach with a wind other than that of the flight."""
    wind, blows_to = context.figures.wind, math.radians(HERE.outbound_true_deg + from_outbound_deg + 180.0)
    assert wind is not None
    north, east = wind.to_north_mps + knots * KT * math.cos(blows_to), wind.to_east_mps + knots * KT * math.sin(blows_to)
    return replace(context, figures=replace(context.figures, wind=replace(wind, to_north_mps=north, to_east_mps=east)))


@pytest.mark.parametrize(("shape", "wind"), [*(("45/180", wind) for wind in WINDS), *(("80/260", wind) for wind in WINDS[:3])])
@pytest.mark.parametrize("side", [1, -1])
def test_the_simulation_reaches_as_far_and_begins_where_the_flight_did(shape, wind, side):
    pattern = replace(FAR, wind=wind, side=side, shape=shape)
    approach = fly_approach(pattern)
    found = again(context_of(approach.flown, Chart(side="right" if side > 0 else "left")))
    assert found.farthest_m() / NM == pytest.approx(float(approach.flown.distance_nm.max()), abs=0.12)
    begun = float(approach.flown.at(approach.begin("offset_turn"), approach.flown.distance_nm))
    assert math.hypot(*found.start_m) / NM == pytest.approx(begun, abs=0.08)
    bearing_deg = math.degrees(math.atan2(found.start_m[1], found.start_m[0])) - HERE.outbound_true_deg
    x_nm, y_nm = (
        float(approach.flown.at(approach.begin("offset_turn"), of)) for of in (approach.flown.x_nm, approach.flown.y_nm)
    )
    assert bearing_deg == pytest.approx(math.degrees(math.atan2(x_nm, y_nm)), abs=0.5)
    assert found.back_direction == -side


@pytest.mark.parametrize("wind", WINDS[1:])
def test_without_wind_the_simulation_is_the_flight_in_still_air(wind):
    """From the end of the outbound leg, on the headings and at the banks of the flight, in still air."""
    approach = fly_approach(replace(FAR, wind=wind))
    flown = approach.flown
    begun, back = approach.begin("offset_turn"), approach.begin("reversal_turn")
    legs = [float(flown.at(at, flown.heading_deg)) for at in (begun - 1.0, back - 1.0)]
    home_deg = 180.0 - legs[1]  # the heading is the course in still air, turned to by the left
    path = [Turn("offset", legs[1] - legs[0], 22.0), Straight("leg", back - approach.begin("offset_leg"))]
    path.append(Turn("back", home_deg - 360.0, 22.0))
    start = float(flown.at(begun, flown.x_nm)), float(flown.at(begun, flown.y_nm))
    still = fly(path, start, legs[0], 140.0, CALM, 5.0)
    found = again(context_of(flown, Chart())).in_still_air()
    assert found.farthest_m() / NM == pytest.approx(float(still.distance_nm.max()), abs=0.12)
    assert found.rolled_out_m() / NM == pytest.approx(
        -float(still.x_nm[-1]), abs=0.2
    )  # right of the inbound course is left of the outbound one


@pytest.mark.parametrize("wind", WINDS)
def test_the_heading_home_holds_the_course(wind):
    """The wind triangle of the inbound course, at the airspeed of the flight."""
    found = again(context_of(fly_approach(replace(FAR, wind=wind)).flown, Chart()))
    off_deg = math.degrees(found.home_heading_rad()) - HERE.outbound_true_deg - holding(180.0, 140.0, wind)
    assert math.remainder(off_deg, 360.0) == pytest.approx(0.0, abs=1.0)


@pytest.mark.parametrize("share", [0.5, 1.5])
@pytest.mark.parametrize("from_deg", [90.0, 270.0])
def test_a_wrong_wind_suppresses_the_simulation(share, from_deg):
    """A crosswind in error by v displaces the end of a flight of duration T by vT: half a quarter mile, or more."""
    approach = fly_approach(FAR)
    lasts_s = approach.begin("intercept") - approach.begin("offset_turn")
    knots = share * QUARTER_NM / lasts_s * 3600.0
    context = in_wind_off_by(context_of(approach.flown, Chart()), knots, from_deg)
    assert (reflight(context) is not None) == (share < 1.0)


@pytest.mark.parametrize("off_nm", [-0.4, -0.15, 0.15, 0.4])
def test_a_distance_that_is_not_reproduced_suppresses_the_simulation(off_nm):
    context = context_of(fly_approach(FAR).flown, Chart())
    far = context.figures.farthest_from_limit
    assert far is not None
    elsewhere = replace(far, distance_m=far.distance_m + off_nm * NM)
    context = replace(context, figures=replace(context.figures, farthest_from_limit=elsewhere))
    assert (reflight(context) is not None) == (abs(off_nm) < QUARTER_NM)


@pytest.mark.parametrize(("stop_s", "speaks"), [(3.0, True), (30.0, False)])
def test_a_turn_stopped_in_its_middle_suppresses_the_simulation(stop_s, speaks):
    path = [
        Straight("arrival", 90.0),
        Straight("outbound", 270.0),
        Turn("offset_turn", 45.0, 22.0),
        Straight("offset_leg", 38.0),
    ]
    path += [Turn("reversal_turn", -90.0, 22.0), Straight("stop", stop_s), Turn("rest", -105.0, 22.0)]
    near, far = (float(fly([*path, Straight("cut", s)], (0.0, -3.5), 0.0, 140.0, CALM, 5.0).x_nm[-1]) for s in (10.0, 20.0))
    path += [Straight("cut", max(-10.0 * near / (far - near), 1.0)), Turn("on", -30.0, 15.0), Straight("home", 280.0)]
    result = debrief(QUIET.of(fly(path, (0.0, -3.5), 0.0, 140.0, CALM, 5.0)), Chart(within_nm=10.0).at())
    (finding,) = (finding for finding in result.approaches[0].findings if finding.check == "distance_limit")
    assert finding.verdict == "outside"
    assert (finding.lesson is not None) == speaks


def test_a_limit_from_another_point_is_measured_from_there():
    """Two miles behind the fix and off the course: the greatest distance is that from this point."""
    approach = fly_approach(FAR)
    latitude, longitude = (float(value[0]) for value in HERE.lay(np.array([1.5]), np.array([-2.0])))
    point = {"latitude_deg": latitude, "longitude_deg": longitude}
    found = again(context_of(approach.flown, Chart(reversal={"within_from": point})))
    from_there = float(((approach.flown.x_nm - 1.5) ** 2 + (approach.flown.y_nm + 2.0) ** 2).max() ** 0.5)
    assert found.farthest_m() / NM == pytest.approx(from_there, abs=0.12)


def test_parallel_entries_and_circuits_are_not_simulated():
    bank = 18.2
    hold = Chart(side=None, within_nm=10.0, reversal={"kind": "hold", "turn": "right", "leg_time_s": 60.0})
    parallel = [Straight("arrival", 90.0), Turn("in", -20.0, bank), Straight("out", 60.0), Turn("back", -225.0, bank)]
    parallel += [Straight("cut", 22.0), Turn("on", 45.0, bank), Straight("home", 150.0)]
    start = -3.0 * math.sin(math.radians(20.0)), -3.0 * math.cos(math.radians(20.0))
    of_entry = context_of(fly(parallel, start, 20.0), hold)
    assert of_entry.reversal.flown == "hold-parallel"
    assert reflight(of_entry) is None
    circuits = [Straight("arrival", 90.0)]
    circuits += [segment for _ in range(2) for segment in (Turn("away", 180.0, bank), Straight("out", 60.0)) * 2]
    of_two = context_of(fly([*circuits, Straight("final", 60.0)], (0.0, 3.0), 180.0), hold)
    assert sum(part.name == "reversal_turn" for part in of_two.reversal.parts) == 2
    assert reflight(of_two) is None


def test_lessons_are_added_to_findings_outside_or_close_only():
    context = context_of(fly_approach(FAR).flown, Chart(within_nm=10.0))
    result = debrief(QUIET.of(fly_approach(FAR).flown), Chart(within_nm=10.0).at())
    (finding,) = (finding for finding in result.approaches[0].findings if finding.check == "distance_limit")
    bare = replace(finding, lesson=None)
    for verdict, taught in (("outside", True), ("too close to call", True), ("inside", False), ("not assessed", False)):
        (said,) = teach(context, (replace(bare, verdict=verdict),))
        assert (said.lesson is not None) == taught, verdict
