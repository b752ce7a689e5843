"""Where and when the minimum of the arrival holds: up to the fix, on a charted route, and not on the runway."""

import math
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from checked import NOISY, PLAIN, all_of, debriefed, homeward, one_of
from patterns import fly_approach
from synthetic import HERE, START_S, Chart, Straight, Turn, fly

from analyzer import debrief
from analyzer.checks.overall import overall
from analyzer.debriefs.data import Approach
from analyzer.report.words.summary import summary_text

FLOORS = {"arrival": 3000.0, "outbound": 2400.0, "reversal": 2400.0, "inbound": 1800.0}
RADIUS_NM = 120.0**2 * (1852.0 / 3600.0) ** 2 / 9.80665 / math.tan(math.radians(18.0)) / 1852.0


def turned_late(late_s: float):
    """Over the fix at 120 s, 40° right of the outbound course; straight on for some seconds, then back and onto the course."""
    sine, cosine = (f(math.radians(40.0)) for f in (math.sin, math.cos))
    # the turn from 40° right to 40° left ends as far off the course as it begins, and the turn onto it moves R (1 - cos 40°)
    closing_s = late_s - RADIUS_NM * (1.0 - cosine) / sine * 30.0
    path = [Straight("arrival", 120.0 + late_s), Turn("outbound_turn", -80.0, 18.0), Straight("closing", closing_s)]
    path += [Turn("onto", 40.0, 18.0), Straight("outbound", 60.0)]
    return homeward(path, (-4.0 * sine, -4.0 * cosine), 40.0)


@pytest.mark.parametrize("late_s", [25.0, 50.0])
@pytest.mark.parametrize(("begun_s", "arrival", "timing"), [(5.0, "inside", "inside"), (-60.0, "outside", "not assessed")])
def test_past_the_fix_the_minimum_of_the_arrival_no_longer_holds(late_s, begun_s, arrival, timing):
    # AIM 5-4-9 a.2: descent to the altitude of the procedure turn may begin after crossing over the fix and proceeding
    # outbound. Begun before the fix it is below the minimum of the arrival, and that event counts there.
    down = [(0.0, 3060.0), (120.0 + begun_s, 3060.0), (120.0 + begun_s + 50.0, 2460.0), (1e4, 2460.0)]
    approach = debriefed(turned_late(late_s), replace(NOISY, altitude_ft=down), Chart(floors_ft=FLOORS))
    assert one_of(approach, "altitude_floor", leg="arrival").verdict == arrival
    assert one_of(approach, "altitude_floor", leg="outbound").verdict == "inside"
    assert next(f for f in all_of(approach, "descent_timing") if "outbound altitude" in f.sentence).verdict == timing
    # nothing flown after the passage is of the arrival, though the turn began late
    passage, first = approach.reversal.passage("outbound"), approach.reversal.parts[0]
    assert passage is not None
    assert (first.name, first.end_s) == ("arrival", pytest.approx(passage.time_s, abs=0.1))
    assert passage.time_s - START_S == pytest.approx(120.0, abs=1.0)


def test_a_turn_begun_late_keeps_its_bank_and_rate():
    approach = debriefed(turned_late(25.0))
    turn = next(one for one in approach.figures.parts if one.part.name == "outbound_turn")
    assert turn.part.start_s - START_S == pytest.approx(120.0, abs=1.0)
    assert turn.turn is not None
    # of the turning, not of the straight flight since the fix: ω = g tan(bank) / V
    assert math.degrees(turn.turn.bank_mean_rad) == pytest.approx(18.0, abs=1.0)
    assert math.degrees(turn.turn.rate_mean_rad_s) == pytest.approx(math.degrees(120.0 / 3600.0 / RADIUS_NM), abs=0.2)


def test_a_descent_past_the_fix_is_held_to_the_minimum_outbound():
    # which the aircraft goes below before it turns: the stretch between fix and turn belongs to the outbound leg
    down = [(0.0, 3060.0), (120.0, 3060.0), (150.0, 2200.0), (170.0, 2200.0), (200.0, 2460.0), (1e4, 2460.0)]
    approach = debriefed(turned_late(70.0), replace(NOISY, altitude_ft=down), Chart(floors_ft=FLOORS))
    assert one_of(approach, "altitude_floor", leg="arrival").verdict == "inside"
    finding = one_of(approach, "altitude_floor", leg="outbound")
    assert (finding.verdict, finding.measured) == ("outside", pytest.approx(2200.0, abs=15.0))


MAGNETIC = HERE.outbound_true_deg - HERE.variation_deg


def joined(altitude_ft: float, *cleared: str, floors: dict[str, float] = FLOORS, **tables: Any):
    """At 45° to the inbound course 9 NM out, and on it to beyond the fix, level; the chart has a procedure turn."""
    sine = math.sin(math.radians(45.0))
    path = [Straight("arrival", 180.0), Turn("onto", 45.0, 15.0), Straight("inbound", 330.0)]
    end = fly(path[:2], (0.0, 0.0), 135.0, roll_deg_s=5.0)
    flown = fly(path, (-float(end.x_nm[-1]), 9.0 + 6.0 * sine), 135.0, roll_deg_s=5.0)
    chart = Chart(floors_ft=floors, tables=tables)
    (approach,) = debrief(replace(NOISY, altitude_ft=altitude_ft).of(flown), chart.at(), cleared=cleared).approaches
    assert approach.reversal.flown == "straight-in"
    return approach


def test_off_every_charted_route_the_minimum_of_the_arrival_is_not_assessed():
    # 14 CFR 91.175(i): the altitude that is assigned is kept until established on a segment of a published route or approach
    approach = joined(2200.0)
    finding = one_of(approach, "altitude_floor", leg="arrival")
    assert (finding.verdict, finding.measured) == ("not assessed", pytest.approx(2200.0, abs=10.0))
    assert "off the charted routes" in str(finding.reason)
    # on the inbound leg its own minimum holds, whichever way led to it
    assert one_of(approach, "altitude_floor", leg="inbound").verdict == "inside"
    assert one_of(joined(1700.0), "altitude_floor", leg="inbound").verdict == "outside"
    # what may have been below a minimum without a reason does not pass, nor does what excuses only the reversal excuse it
    assert overall(approach.findings, approach.reversal)[0] == "not assessed"
    straight_in = joined(2200.0, "straight-in")
    assert one_of(straight_in, "altitude_floor", leg="arrival").verdict == "not assessed"
    assert overall(straight_in.findings, straight_in.reversal)[0] == "not assessed"
    # above it, it is kept on any route
    assert one_of(joined(3100.0), "altitude_floor", leg="arrival").verdict == "inside"


@pytest.mark.parametrize("altitude_ft", [2200.0, 3100.0])
def test_under_vectors_no_minimum_of_an_arrival_is_charted(altitude_ft):
    approach = joined(altitude_ft, "vectors")
    finding = one_of(approach, "altitude_floor", leg="arrival")
    assert (finding.verdict, finding.margin) == ("not assessed", None)
    assert "under radar vectors" in str(finding.reason)
    assert overall(approach.findings, approach.reversal)[0] == "inside"


@pytest.mark.parametrize(("assigned", "verdict"), [("arrival=2500", "outside"), ("arrival=2100", "inside")])
def test_under_vectors_the_assigned_altitude_holds_alone(assigned, verdict):
    # lower than the charted 3,000 ft of the arrival, which is of its routes; 14 CFR 91.123(a): a clearance is kept
    finding = one_of(joined(2200.0, "vectors", assigned), "altitude_floor", leg="arrival")
    assert (finding.verdict, finding.limit) == (verdict, pytest.approx(float(assigned[-4:])))
    assert finding.source.startswith("assigned, 14 CFR 91.123(a)")
    # without vectors a clearance lowers no charted minimum
    assert one_of(joined(2200.0, assigned), "altitude_floor", leg="arrival").limit == pytest.approx(3000.0)


def test_established_on_a_charted_arrival_its_own_minimum_begins_under_vectors_too():
    # 14 CFR 91.175(i), again: published altitudes apply once on a published route
    arrivals = [{"name": "KELDO", "course_deg": (MAGNETIC + 180.0) % 360.0, "reversal": False, "minimum_ft": 2500}]
    low = joined(2200.0, "vectors", floors={"arrival": 3000.0}, arrivals=arrivals)
    (finding,) = [f for f in all_of(low, "altitude_floor") if f.verdict == "outside"]
    assert "the arrival KELDO" in finding.sentence
    assert finding.limit == pytest.approx(2500.0)


def test_a_reversal_that_was_not_needed_is_said_in_a_sentence():
    path = fly([Straight("in", 420.0)], (0.0, 10.0), 180.0)
    text = " ".join(summary_text(debrief(NOISY.of(path), Chart().at(), cleared=("vectors",))).split())
    assert "- The charted reversal was not flown, nor was it needed: cleared by radar vectors to the final course." in text
    assert "limit none" not in text


def taken_off(
    from_ft: float, fpm: float, away_nm: float = 0.0, runway: bool = True, speed_kt: float = 70.0, taxied: bool = False
) -> Approach:
    """From so high, so far beyond a runway at 500 ft that lies 8 NM before the fix, up at some rate to 3,100 ft; then a 45/180.

    The log begins at `speed_kt`, 120 kt are reached half a minute later.
    """
    path = [Straight("roll", 30.0, 120.0), Straight("arrival", 240.0), Straight("outbound", 120.0)]
    path += [Turn("offset_turn", 45.0, 18.0), Straight("offset_leg", 38.2), Turn("reversal_turn", -225.0, 18.0)]
    flown = fly([*path, Straight("inbound", 300.0)], (0.0, -8.0), 0.0, speed_kt, roll_deg_s=5.0)
    climbs_s = (3100.0 - from_ft) / fpm * 60.0
    latitude, longitude = HERE.lay(np.array([0.0]), np.array([-8.0 - away_nm]))
    threshold = {"threshold_latitude_deg": float(latitude[0]), "threshold_longitude_deg": float(longitude[0])}
    table = {"name": "24", "true_heading_deg": HERE.outbound_true_deg + 180.0, "threshold_elevation_ft": 500.0, **threshold}
    log = replace(NOISY, altitude_ft=[(0.0, from_ft), (climbs_s, 3100.0), (1e4, 3100.0)])
    charted = Chart(floors_ft=FLOORS, tables={"runway": table} if runway else {}).at(HERE)
    (approach,) = debrief(replace(log.of(flown, HERE), takes_off=taxied), charted).approaches
    return approach


@pytest.mark.parametrize("from_ft", [505.0, 800.0, 1400.0])
def test_a_log_that_begins_in_a_take_off_counts_once_the_minimum_is_reached(from_ft):
    # nobody takes off at the minimum of an arrival; circuits are flown 1,000 ft above the aerodrome (AIM 4-3-3), so that who
    # climbs near a runway from below that comes from it
    finding = one_of(taken_off(from_ft, 800.0), "altitude_floor", leg="arrival")
    assert (finding.verdict, finding.measured) == ("inside", pytest.approx(3095.0, abs=20.0))


@pytest.mark.parametrize(
    ("begins", "words"),
    [({"from_ft": 1700.0}, "The arrival began at 1,700 ft"), ({"from_ft": 1400.0, "away_nm": 4.0}, "began at 1,400 ft"),
     ({"from_ft": 505.0, "runway": False}, "The arrival began at 505 ft")],
)  # fmt: skip
def test_in_the_air_away_from_the_runway_it_counts_from_the_start(begins, words):
    finding = one_of(taken_off(fpm=800.0, **begins), "altitude_floor", leg="arrival")
    assert finding.verdict == "outside"
    assert words in finding.sentence


def test_after_a_taxi_that_was_left_out_the_log_begins_in_a_take_off_wherever_the_runway_is():
    # the first sample that is kept may be well in the roll, where samples are seconds apart or the aircraft is a jet
    finding = one_of(taken_off(505.0, 800.0, runway=False, taxied=True), "altitude_floor", leg="arrival")
    assert (finding.verdict, finding.measured) == ("inside", pytest.approx(3095.0, abs=20.0))


def test_a_take_off_that_never_reaches_the_minimum_is_outside():
    # 30 s at 95 kt on average and the rest of 8 NM at 120 kt are 246 s to the fix, which at 300 ft/min add 1,231 ft
    finding = one_of(taken_off(505.0, 300.0), "altitude_floor", leg="arrival")
    assert (finding.verdict, finding.measured) == ("outside", pytest.approx(1736.0, abs=20.0))


def test_an_arrival_flown_too_low_throughout_is_no_early_descent_as_well():
    # a hundred feet and some below the minimum all the way, now a little more and now less: one event, counted once
    low = [(0.0, 2860.0), (50.0, 2910.0), (90.0, 2906.0), (105.0, 2892.0), (125.0, 2892.0), (165.0, 2450.0), (1e4, 2450.0)]
    approach = debriefed(turned_late(25.0), replace(NOISY, altitude_ft=low), Chart(floors_ft=FLOORS))
    assert one_of(approach, "altitude_floor", leg="arrival").verdict == "outside"
    timing = next(f for f in all_of(approach, "descent_timing") if "outbound altitude" in f.sentence)
    assert (timing.verdict, "follows from altitude floor (arrival)" in str(timing.reason)) == ("not assessed", True)


@pytest.mark.parametrize("after_s", [44.0, 56.0, 68.0])
@pytest.mark.parametrize(("speed_kt", "bank_deg"), [(120.0, None), (150.0, 15.0)])
def test_a_log_that_begins_in_the_turn_past_the_fix_holds_no_arrival(after_s, speed_kt, bank_deg):
    """Over the fix on the inbound course and round to the outbound one, descending once it was passed (AIM 5-4-9 a.2).

    The turn comes out a mile beside the course, abeam the fix, which looks like an arrival that passes it there.
    """
    approach = fly_approach(replace(PLAIN, arrival_deg=180.0, speed_kt=speed_kt, bank_deg=bank_deg))
    passed_s = approach.outbound_passage_s
    heights = [(0.0, 3050.0), (passed_s, 3050.0), (passed_s + 40.0, 2650.0), (1e5, 2650.0)]
    chart = Chart(floors_ft={"arrival": 3000.0, "outbound": 2600.0, "reversal": 2600.0})
    track = replace(NOISY, altitude_ft=heights).of(approach.flown)
    later = track.time_s >= START_S + passed_s + after_s
    names = ("time_s", "latitude_rad", "longitude_rad", "altitude_m")
    found = debrief(replace(track, **{name: getattr(track, name)[later] for name in names}), chart.at()).approaches
    verdicts = {(one.check, one.verdict) for flown in found for one in flown.findings}
    assert ("altitude_floor", "outside") not in verdicts
    assert ("descent_timing", "outside") not in verdicts
