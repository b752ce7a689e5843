"""The wind triangle against the handbook's and a measured one, and against vectors."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from analyzer.physics.units import DEG, KT
from analyzer.physics.wind_triangle import heading_needed

angles = st.floats(0.0, 360.0)


def test_handbook_triangle():
    # FAA-H-8083-25C chapter 16, figures 16-19 to 16-23: course 090, wind 045 at 40 kt, 120 kt: heading 076 (14° left), 88 kt,
    # 220 NM in 2.5 h. Read off a drawing, so to the degree and the knot.
    needed = heading_needed(90.0 * DEG, 120.0 * KT, 45.0 * DEG, 40.0 * KT)
    assert float(needed.heading_rad) / DEG == pytest.approx(76.0, abs=0.5)
    assert float(needed.correction_rad) / DEG == pytest.approx(-14.0, abs=0.5)
    assert float(needed.ground_speed_mps) / KT == pytest.approx(88.0, abs=0.5)
    assert 220.0 / (float(needed.ground_speed_mps) / KT) == pytest.approx(2.5, abs=0.05)


@pytest.mark.parametrize(
    ("heading_deg", "course_deg", "ground_speed_kt"), [(199.7, 192.0, 140.0), (287.8, 283.0, 112.0), (11.7, 20.0, 120.0)]
)
def test_three_measured_legs(heading_deg, course_deg, ground_speed_kt):
    # D. Gray, "Using GPS to accurately establish True Airspeed (TAS)", 1998: TAS 130.0 kt, wind from 314.8° at 20.6 kt; the
    # result's last digit moves course and speed by less than 0.1.
    needed = heading_needed(course_deg * DEG, 130.0 * KT, 314.8 * DEG, 20.6 * KT)
    assert float(needed.heading_rad) / DEG == pytest.approx(heading_deg, abs=0.1)
    assert float(needed.ground_speed_mps) / KT == pytest.approx(ground_speed_kt, abs=0.1)


@given(angles, st.floats(30.0, 250.0), angles, st.floats(0.0, 29.0))
def test_the_heading_needed_makes_the_course(course_deg, airspeed_mps, wind_from_deg, wind_mps):
    wind = (wind_from_deg * DEG, wind_mps)
    needed = heading_needed(course_deg * DEG, airspeed_mps, *wind)
    # As complex numbers north + i east; the wind blows towards the opposite of where it comes from.
    air, from_wind = airspeed_mps * np.exp(1j * needed.heading_rad), wind_mps * np.exp(1j * wind_from_deg * DEG)
    ground = float(needed.ground_speed_mps) * np.exp(1j * course_deg * DEG)
    assert abs(air - from_wind - ground) < 1e-9
    assert math.remainder(float(needed.heading_rad - needed.correction_rad) - course_deg * DEG, math.tau) == pytest.approx(
        0.0, abs=1e-9
    )


@given(angles, st.floats(1.0, 100.0), angles)
def test_no_wind_no_correction(course_deg, airspeed_mps, wind_from_deg):
    needed = heading_needed(course_deg * DEG, airspeed_mps, wind_from_deg * DEG, 0.0)
    assert float(needed.correction_rad) == 0.0
    assert float(needed.ground_speed_mps) == airspeed_mps


@given(angles, st.floats(20.0, 100.0), st.floats(0.0, 180.0), st.floats(0.0, 19.0))
def test_wind_from_the_other_side_mirrors_the_correction(course_deg, airspeed_mps, off_course_deg, wind_mps):
    right = heading_needed(course_deg * DEG, airspeed_mps, (course_deg + off_course_deg) * DEG, wind_mps)
    left = heading_needed(course_deg * DEG, airspeed_mps, (course_deg - off_course_deg) * DEG, wind_mps)
    assert float(right.correction_rad) >= -1e-12
    assert float(right.correction_rad) == pytest.approx(-float(left.correction_rad), abs=1e-12)
    assert float(right.ground_speed_mps) == pytest.approx(float(left.ground_speed_mps))


@pytest.mark.parametrize(
    ("airspeed_mps", "wind_from_deg", "wind_mps"),
    [(30.0, 90.0, 31.0), (30.0, 0.0, 30.0), (30.0, 0.0, 40.0), (0.0, 90.0, 5.0), (0.0, 0.0, 0.0)],
)
def test_no_heading_holds_an_impossible_course(airspeed_mps, wind_from_deg, wind_mps):
    assert all(np.isnan(part) for part in heading_needed(0.0, airspeed_mps, wind_from_deg * DEG, wind_mps))
