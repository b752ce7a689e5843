"""Arcs flown through a wind: the radius is kept, and time and heading agree with an independent integration."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from analyzer.nominal.arc import Arc, fly_arc, heading_on_arc
from analyzer.nominal.fly import Air

NM, KT = 1852.0, 1852.0 / 3600.0


def test_in_still_air_the_heading_is_the_tangent_and_the_time_the_length_over_the_speed():
    """A quarter of a 10 NM arc, clockwise from due north of the centre: 5π NM at 120 kt are 471.24 s."""
    path = fly_arc(Arc((0.0, 0.0), 1, math.pi / 2.0), Air(120.0 * KT), (10.0 * NM, 0.0))
    assert float(path.time_s[-1]) == pytest.approx(471.24, abs=0.01)
    assert np.degrees(path.heading_rad[[0, -1]]) == pytest.approx([90.0, 180.0])
    assert np.hypot(path.north_m, path.east_m) == pytest.approx(10.0 * NM)


@settings(max_examples=40, deadline=None)
@given(
    st.floats(3.0, 20.0), st.floats(20.0, 300.0), st.sampled_from([1, -1]), st.floats(0.0, 60.0), st.floats(0.0, 360.0),
    st.floats(0.0, 360.0),
)  # fmt: skip
def test_integrating_the_headings_follows_the_arc(radius_nm, sweep_deg, direction, wind_kt, wind_to, begin_deg):
    """Small steps through the air on the given headings, plus the wind, stay on the arc."""
    to, begin, radius = math.radians(wind_to), math.radians(begin_deg), radius_nm * NM
    air = Air(110.0 * KT, wind_kt * KT * math.cos(to), wind_kt * KT * math.sin(to))
    centre = (500.0, -2000.0)
    start = centre[0] + radius * math.cos(begin), centre[1] + radius * math.sin(begin)
    path = fly_arc(Arc(centre, direction, begin + direction * math.radians(sweep_deg)), air, start)
    step, middle = np.diff(path.time_s), (path.heading_rad[1:] + path.heading_rad[:-1]) / 2.0
    north = start[0] + np.cumsum((air.true_airspeed_mps * np.cos(middle) + air.wind_north_mps) * step)
    east = start[1] + np.cumsum((air.true_airspeed_mps * np.sin(middle) + air.wind_east_mps) * step)
    assert np.hypot(north - centre[0], east - centre[1]) == pytest.approx(radius, abs=2.0)
    turned = direction * (math.atan2(float(east[-1]) - centre[1], float(north[-1]) - centre[0]) - begin)
    assert math.remainder(turned - math.radians(sweep_deg), math.tau) == pytest.approx(0.0, abs=0.001)


def test_no_heading_holds_an_arc_in_a_wind_stronger_than_the_airspeed():
    heading, speed = heading_on_arc(np.array([0.0, math.pi / 2.0]), 1, Air(50.0, 0.0, -60.0))
    assert math.isnan(float(speed[0]))  # eastward against 60 m/s from the east
    assert math.isnan(float(heading[1]))  # southward with it abeam
