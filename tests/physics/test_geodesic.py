"""Short geodesics by plain arithmetic, against a library by the author of the algorithms and against PROJ."""

import math

import numpy as np
import pytest
from geographiclib.geodesic import Geodesic
from hypothesis import example, given, settings
from hypothesis import strategies as st

from analyzer.physics.geodesic import ECCENTRICITY_SQUARED, EQUATOR_M, NEAR_RAD, direct_near, inverse_line
from analyzer.physics.geodesy import direct, inverse
from analyzer.physics.units import DEG

nanometre = 1e-9
latitudes = st.floats(-89.5, 89.5)  # nearer to a pole, rounding a latitude in radians turns the meridian by 1e-13 and more
bearings = st.floats(-180.0, 180.0)
distances = st.floats(0.01, 940_000.0)


def test_the_ellipsoid_is_that_of_the_library():
    assert Geodesic.WGS84.a == EQUATOR_M
    assert pytest.approx(Geodesic.WGS84.f * (2.0 - Geodesic.WGS84.f), rel=1e-14) == ECCENTRICITY_SQUARED


@given(latitudes, bearings, distances)
@example(0.0, 90.0, 100_000.0)  # along the equator
@example(0.0, 0.0, 100_000.0)  # across it, along a meridian
@example(89.9, 10.0, 100_000.0)  # past the pole
@example(45.0, 90.0, 0.01)
@settings(deadline=None)
def test_the_end_of_a_line_agrees_with_geographiclib(latitude_deg, bearing_deg, distance_m):
    latitude, eastward = direct_near(latitude_deg * DEG, bearing_deg * DEG, distance_m)
    expected = Geodesic.WGS84.Direct(latitude_deg, 0.0, bearing_deg, distance_m)
    assert abs(latitude - expected["lat2"] * DEG) * EQUATOR_M < 50.0 * nanometre
    along_parallel = math.remainder(eastward - expected["lon2"] * DEG, math.tau) * math.cos(latitude)
    assert abs(along_parallel) * EQUATOR_M < 50.0 * nanometre


@given(latitudes, bearings, distances)
@example(0.0, 90.0, 100_000.0)
@example(0.0, 0.0, 100_000.0)
@example(89.9, 10.0, 100_000.0)
@settings(deadline=None)
def test_length_and_bearing_agree_with_geographiclib(latitude_deg, bearing_deg, distance_m):
    end = Geodesic.WGS84.Direct(latitude_deg, 0.0, bearing_deg, distance_m)
    expected = Geodesic.WGS84.Inverse(latitude_deg, 0.0, end["lat2"], end["lon2"])
    distance, bearing = inverse_line(latitude_deg * DEG, end["lat2"] * DEG, end["lon2"] * DEG)
    assert abs(distance - expected["s12"]) < 50.0 * nanometre
    # near a pole rounding of the longitude turns the meridian itself
    assert abs(math.remainder(bearing - expected["azi1"] * DEG, math.tau)) * expected["s12"] < 50.0 * nanometre


def test_points_that_coincide_have_no_distance():
    assert inverse_line(0.7, 0.7, 0.0)[0] == 0.0
    assert inverse_line(0.7, 0.7, math.tau)[0] == pytest.approx(0.0, abs=nanometre)


@pytest.mark.parametrize("longitude", [NEAR_RAD * 1.01, math.pi, math.nan, math.inf])
def test_long_lines_are_left_to_others(longitude):
    assert inverse_line(0.0, 0.0, longitude) is None
    assert direct_near(0.0, 1.0, longitude * EQUATOR_M) is None


@pytest.mark.parametrize("place", range(3))
def test_nothing_is_made_of_what_is_no_number(place):
    values = [0.5, 0.51, 0.01]
    values[place] = math.nan
    assert inverse_line(*values) is None
    assert direct_near(*values) is None


def test_one_line_and_many_are_alike():
    """One by one here, and by PROJ, which many are given to."""
    latitude, longitude = np.linspace(0.80, 0.86, 2500), np.linspace(3.10, 3.16, 2500)
    distances_m, bearings_rad = inverse(0.83, 3.13, latitude, longitude)
    latitudes_rad, longitudes_rad = direct(0.83, 3.13, bearings_rad, distances_m)
    for k in range(0, 2500, 25):
        distance, bearing = inverse(0.83, 3.13, latitude[k], longitude[k])
        assert float(distance) == pytest.approx(distances_m[k], abs=50.0 * nanometre)
        assert abs(math.remainder(bearing - bearings_rad[k], math.tau)) * float(distance) < 50.0 * nanometre
        end = direct(0.83, 3.13, float(bearings_rad[k]), float(distances_m[k]))
        assert [*map(float, end)] == pytest.approx([latitudes_rad[k], longitudes_rad[k]], abs=1e-14)
