"""Rules of thumb of pilots (common practice, no source), each flown and compared with the debrief."""

import math
from dataclasses import replace

import numpy as np
import pytest
from checked import NOISY, PLAIN, debriefed, of_pattern, one_of
from patterns import TWO_OVER_RATE_S, Pattern, fly_approach
from synthetic import FT, KT, NM, START_S, Straight, Turn, fly, standard_rate_bank

from analyzer.physics.geodesy import slant_range


@pytest.mark.parametrize("speed_kt", [90.0, 120.0, 160.0])
def test_radius_of_a_standard_rate_turn_is_ground_speed_over_180(speed_kt):
    # Common practice, no source: in miles, a third of a mile for each 60 kt. Exactly GS/188.5, 5 % less.
    approach = of_pattern(Pattern(speed_kt=speed_kt, roll_deg_s=5.0, outbound_s=150.0))
    turn = next(figures for figures in approach.figures.parts if figures.part.name == "reversal_turn")
    assert turn.turn is not None
    radius_nm = turn.ground_speed_mps / turn.turn.rate_mean_rad_s / NM
    assert radius_nm == pytest.approx(speed_kt / 180.0, rel=0.06)
    assert radius_nm == pytest.approx(speed_kt / 188.5, rel=0.02)


@pytest.mark.parametrize("turn_deg", [45.0, 60.0, 90.0, 110.0])
def test_a_lead_of_radius_times_tangent_of_half_the_turn(turn_deg):
    # Common practice, no source. Arriving at an angle and turning that far before the fix comes out on the outbound course.
    bank = standard_rate_bank(120.0)
    radius_nm = 120.0 * KT / math.radians(3.0) / NM
    lead_s = radius_nm * math.tan(math.radians(turn_deg / 2.0)) / 120.0 * 3600.0
    path = [Straight("arrival", 120.0 - lead_s), Turn("outbound_turn", -turn_deg, bank), Straight("outbound", 120.0)]
    path += [Turn("offset_turn", 45.0, bank), Straight("offset_leg", TWO_OVER_RATE_S), Turn("reversal_turn", -225.0, bank)]
    back = math.radians(turn_deg)
    start = -4.0 * math.sin(back), -4.0 * math.cos(back)  # two minutes before the fix
    approach = debriefed(fly([*path, Straight("inbound", 260.0)], start, turn_deg))
    outbound = approach.reversal.part("outbound")
    turn = approach.reversal.part("outbound_turn")
    assert outbound is not None
    assert turn is not None
    assert turn.start_s - START_S == pytest.approx(120.0 - lead_s, abs=2.5)
    finding = one_of(approach, "outbound_course")
    assert abs(finding.details["cross_track_ft"]) < 60.0


@pytest.mark.parametrize("speed_kt", [90.0, 120.0, 180.0])
def test_two_over_the_rate_makes_turn_back_and_roll_out_one_turn(speed_kt):
    # Derived: in still air 2/ω on the offset leg (38.2 s at 3°/s) rolls the turn back out onto the course, at any speed.
    approach = debriefed(fly_approach(Pattern(speed_kt=speed_kt, leg_s=TWO_OVER_RATE_S)))
    turn, established = approach.reversal.part("reversal_turn"), approach.reversal.established_s
    assert approach.reversal.part("intercept") is None
    assert turn is not None
    assert established is not None
    assert established <= turn.end_s
    assert one_of(approach, "intercept").measured == pytest.approx(0.0, abs=0.01)
    assert one_of(approach, "inbound_course").measured < 0.5


def test_longer_on_the_offset_leg_needs_an_intercept():
    approach = debriefed(fly_approach(Pattern(leg_s=70.0, roll_deg_s=5.0, intercept=True)))
    part = approach.reversal.part("intercept")
    assert part is not None
    assert part.duration_s > 5.0


@pytest.mark.parametrize(("outbound_nm", "speed_kt"), [(4.5, 120.0), (5.25, 90.0), (4.5, 180.0)])
def test_four_and_a_half_miles_outbound_stay_inside_ten(outbound_nm, speed_kt):
    # Common practice, no source: 4.5 NM outbound (5 to 5.5 for slower aircraft) before a 45° turn.
    pattern = Pattern(speed_kt=speed_kt, outbound_s=outbound_nm / speed_kt * 3600.0, leg_s=40.0, roll_deg_s=5.0, intercept=True)
    approach = of_pattern(pattern)
    assert approach.figures.outbound_length_m is not None
    assert approach.figures.outbound_length_m / NM == pytest.approx(outbound_nm, abs=0.05)
    finding = one_of(approach, "distance_limit")
    assert finding.verdict == "inside"
    assert finding.margin is not None
    assert finding.margin > 1.0


def test_half_a_mile_of_slant_at_three_thousand_feet():
    # Common practice, no source: overhead at 3,000 ft a DME still reads half a mile.
    assert float(slant_range(0.0, 3000.0 * FT)) / NM == pytest.approx(0.5, abs=0.01)
    near = of_pattern(replace(PLAIN, outbound_s=60.0), replace(NOISY, altitude_ft=3000.0))
    finding = one_of(near, "distance_limit")
    assert isinstance(finding.measured, float)
    assert finding.details["slant_nm"] ** 2 - finding.measured**2 == pytest.approx(0.5**2, abs=0.02)


def test_bank_of_the_turn_back_at_standard_rate_is_twenty_odd_degrees_at_jet_speeds():
    # Common practice, no source: 20° to 30°, 20° to 25° in the turn back. At 160 kt standard rate requires 23.7°.
    finding = one_of(of_pattern(Pattern(speed_kt=160.0, roll_deg_s=5.0, outbound_s=90.0)), "turn_bank", "reversal_turn")
    assert 20.0 < finding.details["mean_deg"] < 25.0
    assert np.isfinite(finding.measured)
