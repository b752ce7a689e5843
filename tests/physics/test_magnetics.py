"""Declination against the test values that come with the models."""

import datetime as dt
import math
import subprocess
import sys

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from analyzer.errors import ProcedureError
from analyzer.physics.magnetics import declination
from analyzer.physics.units import DEG

# Half of the last printed digit of the tables, and half a day's change: a decimal year seldom falls on midnight.
PRINTED_DEG = 0.005 + 0.001


def day(year: float) -> dt.date:
    """The date nearest to a decimal year."""
    first = dt.date(int(year), 1, 1)
    days = (dt.date(int(year) + 1, 1, 1) - first).days
    return first + dt.timedelta(days=round((year - int(year)) * days))


def degrees_at(year: float, height_km: float, latitude_deg: float, longitude_deg: float) -> float:
    found = declination(latitude_deg * DEG, longitude_deg * DEG, height_km * 1000.0, day(year))
    return math.degrees(found.east_rad)


# Decimal year, height above the ellipsoid [km], latitude, longitude, declination [deg].
# NOAA NCEI and BGS: WMM2010testvalues, WMM2015v2testvalues, WMM2020_TEST_VALUES and WMM2025_TEST_VALUES.
WMM2010 = [
    (2010.0, 0, 80, 0, -6.13),
    (2010.0, 0, 0, 120, 0.97),
    (2010.0, 0, -80, 240, 70.21),
    (2010.0, 100, 80, 0, -6.57),
    (2010.0, 100, 0, 120, 0.94),
    (2010.0, 100, -80, 240, 69.62),
    (2012.5, 0, 80, 0, -5.21),
    (2012.5, 0, 0, 120, 0.88),
    (2012.5, 0, -80, 240, 70.04),
    (2012.5, 100, 80, 0, -5.63),
    (2012.5, 100, 0, 120, 0.86),
    (2012.5, 100, -80, 240, 69.45),
]
WMM2015V2 = [
    (2015.0, 0, 80, 0, -3.90),
    (2015.0, 0, 0, 120, 0.55),
    (2015.0, 0, -80, 240, 69.81),
    (2015.0, 100, 80, 0, -4.32),
    (2015.0, 100, 0, 120, 0.54),
    (2015.0, 100, -80, 240, 69.22),
    (2017.5, 0, 80, 0, -2.59),
    (2017.5, 0, 0, 120, 0.37),
    (2017.5, 0, -80, 240, 69.59),
    (2017.5, 100, 80, 0, -3.01),
    (2017.5, 100, 0, 120, 0.36),
    (2017.5, 100, -80, 240, 69.01),
]
WMM2020 = [
    (2020.0, 65, 43, 93, 0.71),
    (2020.0, 51, -33, 109, -5.78),
    (2020.0, 39, -59, -8, -15.79),
    (2020.0, 3, -50, -103, 28.10),
    (2020.0, 66, 14, 143, 0.12),
    (2020.0, 18, 0, 21, 1.05),
    (2020.5, 6, -36, -137, 20.16),
    (2020.5, 69, 38, -144, 13.39),
    (2020.5, 8, -52, -75, 15.39),
    (2020.5, 22, -37, 140, 9.15),
    (2020.5, 44, 33, -118, 11.46),
    (2021.0, 34, -19, 43, -14.32),
    (2021.5, 44, -46, -42, -11.54),
]
WMM2025 = [
    (2025.0, 65, 43, 93, 0.50),
    (2025.0, 51, -33, 109, -5.49),
    (2025.0, 39, -59, -8, -15.75),
    (2025.0, 3, -50, -103, 27.96),
    (2025.0, 66, 14, 143, -0.19),
    (2025.0, 18, 0, 21, 1.29),
    (2025.5, 6, -36, -137, 20.28),
    (2025.5, 69, 38, -144, 12.93),
    (2025.5, 8, -52, -75, 14.91),
    (2025.5, 22, -37, 140, 9.28),
    (2025.5, 44, 33, -118, 11.10),
    (2026.0, 34, -19, 43, -14.98),
    (2026.5, 44, -46, -42, -11.36),
]


@pytest.mark.parametrize(
    ("model", "row"),
    [(model, row) for model, rows in
     {"WMM2010": WMM2010, "WMM2015v2": WMM2015V2, "WMM2020": WMM2020, "WMM2025": WMM2025}.items() for row in rows],
)  # fmt: skip
def test_world_magnetic_model_reproduces_its_test_values(model, row):
    year, height_km, latitude_deg, longitude_deg, expected_deg = row
    assert degrees_at(year, height_km, latitude_deg, longitude_deg) == pytest.approx(expected_deg, abs=PRINTED_DEG)
    found = declination(latitude_deg * DEG, longitude_deg * DEG, height_km * 1000.0, day(year))
    assert found.model == model
    assert found.date == day(year)


# Decimal year, height [km], colatitude, east longitude [deg], north and east components [nT]: output of igrf13syn, the
# reference program of IAGA Working Group V-MOD, as kept by the SatelliteToolbox project (IGRF13_test_geodetic.txt, made by its
# IGRF_Test). The coefficients before 2010 are the same in the 14th generation.
IGRF = [
    (1900.0, 232.32, 68.00, 165.11, 27505.75351, 3089.91355),
    (1934.1, 97.80, 66.25, 118.16, 34943.70376, -779.04525),
    (1947.5, 360.29, 89.92, 55.30, 28259.01590, -1596.85988),
    (1952.6, 65.02, 33.91, 127.88, 17459.04580, -3807.33398),
    (1956.7, 32.01, 52.63, 186.65, 24506.25510, 4675.50304),
    (1968.1, 72.48, 67.79, 212.97, 26787.13949, 5624.72147),
    (1970.7, 244.57, 40.53, 356.17, 17777.19168, -2733.80921),
    (1980.7, 201.62, 28.53, 139.69, 14492.69856, -3222.99789),
    (1984.7, 138.16, 56.85, 318.49, 23008.49997, -7453.09723),
    (1987.2, 34.18, 34.51, 24.06, 16826.21453, 1195.71248),
    (1991.0, 209.76, 68.63, 189.40, 25291.78399, 4604.52124),
    (1999.0, 100.67, 72.54, 267.02, 26940.29355, 1919.61494),
    (2002.0, 366.90, 35.21, 305.69, 11845.91658, -5148.95548),
    (2004.6, 44.88, 70.63, 140.48, 34504.07013, -683.09421),
    (2007.8, 45.78, 24.68, 231.47, 8410.00787, 4084.16622),
]


@pytest.mark.parametrize("row", IGRF)
def test_reference_field_reproduces_its_own_program(row):
    year, height_km, colatitude_deg, longitude_deg, north_nt, east_nt = row
    expected_deg = math.degrees(math.atan2(east_nt, north_nt))
    assert degrees_at(year, height_km, 90.0 - colatitude_deg, longitude_deg) == pytest.approx(expected_deg, abs=PRINTED_DEG)
    assert declination((90.0 - colatitude_deg) * DEG, longitude_deg * DEG, 0.0, day(year)).model == "IGRF-14"


@pytest.mark.parametrize(
    ("date", "model"),
    [
        (dt.date(2009, 12, 31), "IGRF-14"),
        (dt.date(2010, 1, 1), "WMM2010"),
        (dt.date(2014, 12, 31), "WMM2010"),
        (dt.date(2015, 1, 1), "WMM2015v2"),
        (dt.date(2019, 12, 31), "WMM2015v2"),
        (dt.date(2020, 1, 1), "WMM2020"),
        (dt.date(2024, 12, 31), "WMM2020"),
        (dt.date(2025, 1, 1), "WMM2025"),
        (dt.date(2029, 12, 31), "WMM2025"),
    ],
)
def test_the_epoch_follows_the_date(date, model):
    assert declination(0.8, 0.1, 0.0, date).model == model


@pytest.mark.parametrize("date", [dt.date(1899, 12, 31), dt.date(2030, 1, 1)])
def test_a_date_beyond_the_models_is_refused_with_the_remedy(date):
    with pytest.raises(ProcedureError, match=rf"{date.isoformat()}.*variation_deg_east"):
        declination(0.8, 0.1, 0.0, date)


@given(st.floats(-55.0, 55.0), st.floats(-180.0, 180.0), st.sampled_from([2010, 2015, 2020, 2025]))
@settings(deadline=None, max_examples=60)
def test_models_agree_where_one_ends_and_the_next_begins(latitude_deg, longitude_deg, year):
    """Two models of one field: in 2010 the reference field and the world model, later the old world model and the new."""
    place = (latitude_deg * DEG, longitude_deg * DEG, 0.0)
    before, after = declination(*place, dt.date(year - 1, 12, 31)), declination(*place, dt.date(year, 1, 1))
    assert before.model != after.model
    # 0.3° is the model's own standard deviation; its 5-year prediction can be off by about three of them.
    tolerance_deg = 0.3 if year == 2010 else 3.0 * 0.3
    assert abs(math.remainder(before.east_rad - after.east_rad, math.tau)) / DEG < tolerance_deg


def test_a_full_turn_of_longitude_changes_nothing():
    date = dt.date(2026, 6, 1)
    assert declination(0.5, -2.0, 0.0, date).east_rad == pytest.approx(declination(0.5, math.tau - 2.0, 0.0, date).east_rad)


def test_standard_deviation_is_the_published_error_model():
    # The documentation of pygeomag 1.1, for 47.6205 N 122.3493 W in 2023.75 (WMM2020): 0.3935°.
    seattle = (47.6205 * DEG, -122.3493 * DEG, 0.0)
    assert declination(*seattle, day(2023.75)).sd_rad / DEG == pytest.approx(0.3935, abs=0.0001)
    # The world_magnetic_model crate's example, 54.20 N 18.67 E on 2023-01-15: declination 6.4395°, uncertainty 0.4105°.
    gdansk = declination(54.20 * DEG, 18.67 * DEG, 100.0, dt.date(2023, 1, 15))
    assert gdansk.east_rad / DEG == pytest.approx(6.4395, abs=0.002)
    assert gdansk.sd_rad / DEG == pytest.approx(0.4105, abs=0.0002)


def test_package_examples():
    # The documentation of pygeomag 1.1: 15.0656° in 2025.25, 16.4156° in 2013.25.
    assert degrees_at(2025.25, 0.0, 47.6205, -122.3493) == pytest.approx(15.0656, abs=0.001)
    assert degrees_at(2013.25, 0.0, 47.6205, -122.3493) == pytest.approx(16.4156, abs=0.001)


def test_caution_zone_warns_and_blackout_zone_refuses():
    # igrf13syn as above: 2006.2, 57.19 km, colatitude 14.47, longitude 254.50: H = hypot(1663.9, 167.3) = 1672 nT, a blackout;
    # 1990.3, 744.82 km, 23.73, 239.58: H = hypot(5141.4, 2720.0) = 5817 nT, caution; 2007.8 above: 9349 nT, neither.
    assert np.hypot(1663.92617, 167.26708) < 2000.0 < np.hypot(5141.39347, 2720.02070) < 6000.0 < np.hypot(8410.0, 4084.2)
    with pytest.raises(ProcedureError, match=r"167\d nT.*variation_deg_east"):
        declination((90.0 - 14.47) * DEG, 254.50 * DEG, 57_190.0, day(2006.2))
    assert "5817 nT" in declination((90.0 - 23.73) * DEG, 239.58 * DEG, 744_820.0, day(1990.3)).caution
    assert declination((90.0 - 24.68) * DEG, 231.47 * DEG, 45_780.0, day(2007.8)).caution == ""


def test_current_dates_do_not_load_pandas():
    code = (
        "import sys, datetime; from analyzer.physics.magnetics import declination;"
        "declination(0.8, 0.1, 0.0, datetime.date(2026, 1, 1)); sys.exit('pandas' in sys.modules)"
    )
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0  # noqa: S603 - our own code
