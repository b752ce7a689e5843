"""Turn performance against the handbooks' worked figures."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from analyzer.physics.turning import STANDARD_RATE_RADPS, bank_for_rate, turn_radius, turn_rate
from analyzer.physics.units import DEG, FT, KT, NM

speeds = st.floats(20.0, 250.0)
banks = st.floats(1.0, 80.0) | st.floats(-80.0, -1.0)


@pytest.mark.parametrize(
    ("speed_kt", "rate_deg_s", "full_turn_s", "radius_ft"), [(120.0, 5.25, 68.6, 2_215.0), (240.0, 2.63, 137.0, 8_861.0)]
)
def test_thirty_degrees_of_bank(speed_kt, rate_deg_s, full_turn_s, radius_ft):
    # FAA-H-8083-25C chapter 5, figures 5-56 to 5-61. The book's constants 1,091 and 11.26 are rounded: 0.2 % and 0.5 %.
    rate = float(turn_rate(speed_kt * KT, 30.0 * DEG))
    assert rate / DEG == pytest.approx(rate_deg_s, rel=0.002)
    assert math.tau / rate == pytest.approx(full_turn_s, rel=0.002)
    assert float(turn_radius(speed_kt * KT, 30.0 * DEG)) / FT == pytest.approx(radius_ft, rel=0.005)


@pytest.mark.parametrize(("bank_deg", "radius_ft"), [(30.0, 4_194.0), (20.0, 6_654.0)])
def test_radius_at_165_knots(bank_deg, radius_ft):
    # FAA Aeronautical Information Manual 5-4-7 c.1, with the rounded constant 11.24: 0.6 %.
    assert float(turn_radius(165.0 * KT, bank_deg * DEG)) / FT == pytest.approx(radius_ft, rel=0.006)


@pytest.mark.parametrize(("speed_kt", "bank_deg"), [(100.0, 15.0), (120.0, 18.0), (90.0, 16.0)])
def test_bank_for_standard_rate_is_near_the_rules_of_thumb(speed_kt, bank_deg):
    # FAA-H-8083-15B chapters 4 and 7: 15 % of the airspeed, or a tenth of it and 7; they differ by up to 3° themselves.
    assert float(bank_for_rate(speed_kt * KT, STANDARD_RATE_RADPS)) / DEG == pytest.approx(bank_deg, abs=3.0)


@pytest.mark.parametrize(
    ("speed_kt", "bank_deg"), [(80, 12.4), (90, 13.9), (100, 15.4), (120, 18.2), (140, 21.0), (160, 23.7), (180, 26.3)]
)
def test_bank_for_standard_rate(speed_kt, bank_deg):
    # arctan(V ω / g) worked separately, to a tenth of a degree.
    assert float(bank_for_rate(speed_kt * KT, STANDARD_RATE_RADPS)) / DEG == pytest.approx(bank_deg, abs=0.05)


def test_the_design_bank_takes_over_at_170_knots():
    # ICAO Doc 8168 Vol. II, Part I, section 4, chapter 3: 25° or 3°/s, whichever is less bank; above 170 kt always the 25°.
    assert float(bank_for_rate(170.0 * KT, STANDARD_RATE_RADPS)) / DEG == pytest.approx(25.0, abs=0.1)


def test_base_turn_template():
    # ICAO Doc 8168 Vol. II, Table I-4-3-App C-1: 157.23 kt, 25° of bank turn 3.24°/s; at 3°/s the radius is 0.83 NM.
    assert float(turn_rate(157.23 * KT, 25.0 * DEG)) / DEG == pytest.approx(3.24, abs=0.005)
    bank = bank_for_rate(157.23 * KT, STANDARD_RATE_RADPS)
    assert float(turn_radius(157.23 * KT, bank)) / NM == pytest.approx(0.83, abs=0.005)


def test_a_standard_rate_turn_takes_two_minutes():
    assert math.tau / STANDARD_RATE_RADPS == pytest.approx(120.0)  # FAA Pilot/Controller Glossary, "standard rate turn"


@given(speeds, banks)
def test_the_rate_round_trips_to_the_bank(speed_mps, bank_deg):
    bank = bank_deg * DEG
    assert float(bank_for_rate(speed_mps, turn_rate(speed_mps, bank))) == pytest.approx(bank)


@given(speeds, banks)
def test_speed_is_rate_times_radius(speed_mps, bank_deg):
    assert float(turn_rate(speed_mps, bank_deg * DEG) * turn_radius(speed_mps, bank_deg * DEG)) == pytest.approx(speed_mps)


@given(speeds, banks)
def test_a_left_turn_mirrors_a_right_turn(speed_mps, bank_deg):
    bank = bank_deg * DEG
    assert float(turn_rate(speed_mps, -bank)) == -float(turn_rate(speed_mps, bank))
    assert float(turn_radius(speed_mps, -bank)) == -float(turn_radius(speed_mps, bank))
    assert math.copysign(1.0, float(turn_rate(speed_mps, bank))) == math.copysign(1.0, bank)


def test_wings_level_never_turns():
    assert float(turn_rate(60.0, 0.0)) == 0.0
    assert math.isinf(turn_radius(60.0, 0.0))
