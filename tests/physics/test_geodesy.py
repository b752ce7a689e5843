"""Geodesy against published geodesics, a second library, and its own inverse."""

import math

import numpy as np
import pytest
from geographiclib.geodesic import Geodesic
from geographiclib.test import test_geodesic as published
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from analyzer.physics.geodesy import cone_radius, cross_track, direct, inverse, inverse_near, north_east, offset, slant_range
from analyzer.physics.units import DEG, FT, NM

millimetre = 1e-3
micrometre = 1e-6
arcsecond = DEG / 3600.0

latitudes = st.floats(-89.0, 89.0)
longitudes = st.floats(-180.0, 180.0)
bearings = st.floats(0.0, 360.0, exclude_max=True)


def dms(degrees: int, minutes: int, seconds: float) -> float:
    return math.radians(degrees + minutes / 60.0 + seconds / 3600.0)


def difference(one_rad: float, other_rad: float) -> float:
    return abs(math.remainder(float(one_rad) - float(other_rad), math.tau))


# Geoscience Australia, "Geocentric Datum of Australia Technical Manual", Vincenty's formulae, worked example; on GRS 80, which
# differs from WGS 84 by 0.1 mm in the polar radius.
FLINDERS_PEAK = (-dms(37, 57, 3.72030), dms(144, 25, 29.52440))
BUNINYONG = (-dms(37, 39, 10.15610), dms(143, 55, 35.38390))


def test_flinders_peak_to_buninyong():
    distance, bearing = inverse(*FLINDERS_PEAK, *BUNINYONG)
    assert float(distance) == pytest.approx(54_972.271, abs=0.5 * millimetre)
    assert difference(bearing, dms(306, 52, 5.37)) < 0.005 * arcsecond


def test_buninyong_to_flinders_peak_has_its_own_bearing():
    distance, bearing = inverse(*BUNINYONG, *FLINDERS_PEAK)
    assert float(distance) == pytest.approx(54_972.271, abs=0.5 * millimetre)
    assert difference(bearing, dms(127, 10, 25.07)) < 0.005 * arcsecond


def test_flinders_peak_direct_reaches_buninyong():
    latitude, longitude = direct(*FLINDERS_PEAK, dms(306, 52, 5.37), 54_972.271)
    # The azimuth is printed to 0.01", 2.7 mm at this distance.
    assert abs(float(latitude) - BUNINYONG[0]) < 1e-4 * arcsecond
    assert abs(float(longitude) - BUNINYONG[1]) < 1e-4 * arcsecond


@pytest.mark.parametrize(
    ("one_deg", "other_deg", "distance_m"),
    [
        ((-41.32, 174.81), (40.96, -5.50), 19_959_679.267),  # Wellington to Salamanca, GeographicLib documentation
        ((0.0, 0.0), (0.5, 179.5), 19_936_288.579),  # nearly antipodal, Karney (2013), "Algorithms for geodesics", table 4
    ],
)
def test_published_long_geodesics(one_deg, other_deg, distance_m):
    distance, _ = inverse(*(DEG * np.array([*one_deg, *other_deg])))
    assert float(distance) == pytest.approx(distance_m, abs=0.5 * millimetre)


@pytest.mark.parametrize(
    ("start_deg", "bearing_deg", "distance_m", "end_deg", "tolerance_deg"),
    [
        # Perth, 20,000 km to the south-west: GeographicLib documentation, 8 decimals.
        ((-32.06, 115.74), 225.0, 20_000_000.0, (32.11195529, -63.95925278), 0.5e-8),
        # First line of C. F. F. Karney's GeodTest.dat, "Test set for geodesics", doi:10.5281/zenodo.32156.
        ((36.530042355041, 0.0), 176.125875162171, 9_398_502.0434687, (-48.164270779097769, 5.7623446946765105), 1e-12),
    ],
)
def test_published_direct_problems(start_deg, bearing_deg, distance_m, end_deg, tolerance_deg):
    latitude, longitude = direct(start_deg[0] * DEG, start_deg[1] * DEG, bearing_deg * DEG, distance_m)
    assert float(latitude) / DEG == pytest.approx(end_deg[0], abs=tolerance_deg)
    assert float(longitude) / DEG == pytest.approx(end_deg[1], abs=tolerance_deg)


def test_ten_miles_from_40n_75w():
    # Computed with geographiclib 2.1, 8 decimals.
    latitude, longitude = direct(40.0 * DEG, -75.0 * DEG, np.array([45.0, 90.0]) * DEG, 10.0 * NM)
    assert np.asarray(latitude) / DEG == pytest.approx([40.11783882, 39.99979709], abs=0.5e-8)
    assert np.asarray(longitude) / DEG == pytest.approx([-74.84638014, -74.78312300], abs=0.5e-8)


@pytest.mark.parametrize("case", published.GeodesicTest.testcases)
def test_the_test_set_of_geographiclib(case):
    latitude_1, longitude_1, azimuth_1, latitude_2, longitude_2, azimuth_2, distance_m = case[:7]
    distance, bearing = inverse(latitude_1 * DEG, longitude_1 * DEG, latitude_2 * DEG, longitude_2 * DEG)
    assert float(distance) == pytest.approx(distance_m, abs=micrometre)
    assert difference(bearing, azimuth_1 * DEG) < 1e-11
    _, back = inverse(latitude_2 * DEG, longitude_2 * DEG, latitude_1 * DEG, longitude_1 * DEG)
    assert difference(back, (azimuth_2 + 180.0) * DEG) < 1e-11


@given(latitudes, longitudes, bearings, st.floats(1.0, 500_000.0))
@settings(deadline=None)
def test_inverse_undoes_direct_and_agrees_with_geographiclib(latitude_deg, longitude_deg, bearing_deg, distance_m):
    latitude, longitude = direct(latitude_deg * DEG, longitude_deg * DEG, bearing_deg * DEG, distance_m)
    distance, bearing = inverse(latitude_deg * DEG, longitude_deg * DEG, latitude, longitude)
    assert float(distance) == pytest.approx(distance_m, abs=micrometre)
    assert difference(bearing, bearing_deg * DEG) * distance_m < 10.0 * micrometre
    second_opinion = Geodesic.WGS84.Direct(latitude_deg, longitude_deg, bearing_deg, distance_m)
    assert float(latitude) / DEG == pytest.approx(second_opinion["lat2"], abs=1e-11)
    assert -math.pi <= float(longitude) <= math.pi
    assert 0.0 <= float(bearing) <= math.tau


@given(latitudes, longitudes, latitudes, longitudes)
@settings(deadline=None)
def test_distance_is_the_same_both_ways(latitude_1, longitude_1, latitude_2, longitude_2):
    there, _ = inverse(latitude_1 * DEG, longitude_1 * DEG, latitude_2 * DEG, longitude_2 * DEG)
    back, _ = inverse(latitude_2 * DEG, longitude_2 * DEG, latitude_1 * DEG, longitude_1 * DEG)
    assert float(there) == pytest.approx(float(back), abs=micrometre)


def test_one_fix_against_many_samples_is_each_sample_alone():
    latitude, longitude = np.array([0.5, 0.51, 0.49]), np.array([3.1, -3.1, math.pi])
    distance, bearing = inverse(0.5, 3.14, latitude, longitude)
    assert distance.shape == (3,)
    for k in range(3):
        alone = inverse(0.5, 3.14, float(latitude[k]), float(longitude[k]))
        assert (distance[k], bearing[k]) == (alone[0], alone[1])


def test_distances_are_continuous_across_the_antimeridian():
    across, _ = inverse(0.0, 179.99 * DEG, 0.0, -179.99 * DEG)
    assert float(across) == pytest.approx(0.02 * 111_319.491, abs=millimetre)  # a degree on the equator: π a / 180


def test_slant_range_of_a_worked_case():
    # FAA-H-8083-15B chapter 9 calls the error negligible from 1 NM per 1,000 ft; there, 5,000 ft at 5 NM, it is 1.35 %.
    assert float(slant_range(5.0 * NM, 5_000.0 * FT)) / NM == pytest.approx(5.067, abs=0.0005)


@given(st.floats(0.0, 4e5), st.floats(-1e4, 2e4))
def test_slant_range_is_never_less_than_the_distance(distance_m, height_m):
    slant = float(slant_range(distance_m, height_m))
    assert slant >= distance_m
    assert slant <= distance_m + abs(height_m) + micrometre


def test_cone_radii_at_3000_ft():
    # ICAO Doc 8168 Vol. I, Part I, section 2, 2.4.4: 50° from the vertical for a VOR, 40° for an NDB.
    assert float(cone_radius(3_000.0 * FT, "vor")) / NM == pytest.approx(0.588, abs=0.0005)
    assert float(cone_radius(3_000.0 * FT, "ndb")) / NM == pytest.approx(0.414, abs=0.0005)
    # ICAO Doc 8168 Vol. II, appendix to Part I, section 4, chapter 3, line 8: zN = 0.164 h tan 40°, 0.83 NM at 6,000 ft.
    assert float(cone_radius(6_000.0 * FT, "ndb")) / NM == pytest.approx(0.83, abs=0.005)


@pytest.mark.parametrize("kind", ["marker", "waypoint", "localizer", "gps"])
def test_only_stations_overhead_have_a_cone(kind):
    assert float(cone_radius(1_000.0, kind)) == 0.0


def test_no_cone_below_the_station():
    assert cone_radius(np.array([-10.0, 0.0]), "vor").tolist() == [0.0, 0.0]


def exact_cross_track(latitude_deg: float, bearing_deg: float, angle_deg: float, distance_m: float) -> float:
    """Distance from a geodesic by geographiclib: steps along it to the foot of the perpendicular."""
    wgs84 = Geodesic.WGS84
    place = wgs84.Direct(latitude_deg, 10.0, bearing_deg + angle_deg, distance_m)
    along = distance_m * math.cos(angle_deg * DEG)
    for _ in range(8):
        foot = wgs84.Direct(latitude_deg, 10.0, bearing_deg, along)
        line = wgs84.Inverse(foot["lat2"], foot["lon2"], place["lat2"], place["lon2"])
        across = (line["azi1"] - foot["azi2"]) * DEG
        along += line["s12"] * math.cos(across)
    return line["s12"] * math.sin(across)


@pytest.mark.parametrize(("distance_m", "tolerance_m"), [(10.0 * NM, 0.2 * millimetre), (100.0 * NM, 0.1)])
@pytest.mark.parametrize("latitude_deg", [-75.0, -33.0, 0.0, 47.0, 70.0])
@pytest.mark.parametrize("angle_deg", [-120.0, -10.0, 2.0, 45.0, 90.0, 170.0])
def test_cross_track_keeps_its_stated_error_on_the_ellipsoid(distance_m, tolerance_m, latitude_deg, angle_deg):
    for bearing_deg in (0.0, 61.0, 135.0, 241.0):
        exact = exact_cross_track(latitude_deg, bearing_deg, angle_deg, distance_m)
        assert float(cross_track(distance_m, angle_deg * DEG)) == pytest.approx(exact, abs=tolerance_m)


def test_cross_track_of_five_degrees_at_five_miles_is_positive_on_the_right():
    assert float(cross_track(5.0 * NM, 5.0 * DEG)) / NM == pytest.approx(0.44, abs=0.005)  # 5 sin 5°
    assert float(cross_track(5.0 * NM, -5.0 * DEG)) / NM == pytest.approx(-0.44, abs=0.005)


def test_frame_measures_a_meridian_and_a_parallel():
    # A degree of latitude at the equator and at 45°, 110,574.4 m and 111,131.8 m with the degree centred there (0.1 m printed),
    # and a degree of longitude at the equator, π a / 180.
    north, _ = north_east(np.array([-0.5, 0.5]) * DEG, np.zeros(2))
    assert north[1] == pytest.approx(110_574.4, abs=0.3)
    north, _ = north_east(np.array([44.5, 45.5]) * DEG, np.zeros(2))
    assert north[1] == pytest.approx(111_131.8, abs=0.3)
    _, east = north_east(np.zeros(2), np.array([10.0, 11.0]) * DEG)
    assert east[1] == pytest.approx(111_319.491, abs=millimetre)


def test_frame_of_a_quarter_meridian():
    north, _ = north_east(np.linspace(0.0, 90.0, 1001) * DEG, np.zeros(1001))
    assert north[-1] == pytest.approx(10_001_965.729, abs=0.05)  # WGS 84


def test_frame_crosses_the_antimeridian_without_a_jump():
    longitude = np.array([179.8, 179.9, -180.0, -179.9, -179.8])
    _, east = north_east(np.zeros(5), longitude * DEG)
    assert np.diff(east) == pytest.approx(np.full(4, 11_131.9491), abs=millimetre)


@pytest.mark.parametrize("bearing_deg", [0.0, 37.0, 90.0, 200.0, 315.0])
def test_frame_keeps_true_track_along_300_km(bearing_deg):
    """Each step's direction is the geodesic's own true azimuth there, however far from the start."""
    line = Geodesic.WGS84.Line(47.0, 179.0, bearing_deg)
    points = [line.Position(1_000.0 * k) for k in range(301)]
    north, east = north_east(np.array([p["lat2"] for p in points]) * DEG, np.array([p["lon2"] for p in points]) * DEG)
    track = np.arctan2(np.diff(east), np.diff(north))
    middle = np.array([line.Position(1_000.0 * k + 500.0)["azi2"] for k in range(300)]) * DEG
    assert np.abs(np.remainder(track - middle + np.pi, 2.0 * np.pi) - np.pi).max() < 1e-6
    assert np.hypot(np.diff(east), np.diff(north)) == pytest.approx(np.full(300, 1_000.0), abs=millimetre)


@given(st.floats(-80.0, 80.0), longitudes, st.floats(-5_000.0, 5_000.0), st.floats(-5_000.0, 5_000.0))
@settings(deadline=None)
def test_offset_inverts_a_step_of_the_frame(latitude_deg, longitude_deg, north_m, east_m):
    latitude, longitude = offset(latitude_deg * DEG, longitude_deg * DEG, north_m, east_m)
    north, east = north_east(np.array([latitude_deg * DEG, float(latitude)]), np.array([longitude_deg * DEG, float(longitude)]))
    assert north[1] == pytest.approx(north_m, abs=millimetre)
    assert east[1] == pytest.approx(east_m, abs=millimetre)
    assert -math.pi <= float(longitude) <= math.pi


@given(st.floats(-80.0, 80.0), bearings, st.floats(0.0, 2_000.0))
@settings(deadline=None)
def test_offset_is_the_geodesic_for_short_steps(latitude_deg, bearing_deg, distance_m):
    assume(distance_m > 1.0)
    bearing = bearing_deg * DEG
    latitude, longitude = offset(latitude_deg * DEG, 1.0, distance_m * math.cos(bearing), distance_m * math.sin(bearing))
    expected_latitude, expected_longitude = direct(latitude_deg * DEG, 1.0, bearing, distance_m)
    apart, _ = inverse(latitude, longitude, expected_latitude, expected_longitude)
    # In terms of a = s/R and t = tan φ a step along meridian and parallel departs from the geodesic by R a² t / 2, 1.8 m for
    # 2 km at 80°, plus terms of the order R a³ (1 + 3t²) / 6.
    arc, tangent = distance_m / 6.35e6, abs(math.tan(latitude_deg * DEG))
    assert float(apart) <= 6.4e6 * (arc**2 * tangent / 2.0 + arc**3 * (1.0 + 3.0 * tangent**2) / 6.0) + micrometre


def test_empty_and_single_tracks_have_a_frame():
    assert [part.tolist() for part in north_east(np.array([]), np.array([]))] == [[], []]
    assert [part.tolist() for part in north_east(np.array([0.5]), np.array([0.5]))] == [[0.0], [0.0]]


def test_a_missing_sample_makes_the_rest_of_the_frame_unknown():
    north, east = north_east(np.array([0.1, math.nan, 0.2]), np.array([0.1, 0.1, 0.1]))
    assert north[0] == 0.0
    assert np.isnan(north[1:]).all()
    assert east[0] == 0.0
    north, _ = north_east(np.array([math.nan, 0.1, 0.2]), np.array([0.1, 0.1, 0.1]))
    assert np.isnan(north).all()


@given(st.floats(-1.55, 1.55), st.floats(-np.pi, np.pi), st.floats(0.0, 360.0), st.floats(1.0, 19e6) | st.floats(1.0, 1e6))
def test_one_point_to_many_agrees_with_an_independent_solver(latitude, longitude, azimuth_deg, distance_m):
    # geographiclib is exact to nanometres; the docstring promises 3 mm and 4e-5 degrees within 200 km
    far = Geodesic.WGS84.Direct(np.degrees(latitude), np.degrees(longitude), azimuth_deg, distance_m)
    distance, bearing = inverse_near(
        latitude, longitude, np.array([np.radians(far["lat2"])]), np.array([np.radians(far["lon2"])])
    )
    exact = Geodesic.WGS84.Inverse(np.degrees(latitude), np.degrees(longitude), far["lat2"], far["lon2"])
    assert distance[0] == pytest.approx(exact["s12"], abs=0.003 if distance_m <= 200_000.0 else 1e-3)
    if 1000.0 < distance_m < 19_000_000.0:
        off = (np.degrees(bearing[0]) - exact["azi1"] + 180.0) % 360.0 - 180.0
        assert abs(off) < 4e-5
