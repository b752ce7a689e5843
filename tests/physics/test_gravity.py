"""Gravity and the apparent accelerations of a rotating Earth, against published values and motion in an inertial frame."""

import math

import numpy as np
import pytest

from analyzer.physics.gravity import normal_gravity, unbanked_acceleration, weighed_gravity

EARTH_RATE = 7.292115e-5  # rad/s, WGS 84
RADIUS = 6_371_008.8


@pytest.mark.parametrize(("latitude", "published"), [(0.0, 9.7803253359), (90.0, 9.8321849378)])
def test_gravity_of_the_ellipsoid(latitude, published):
    # Equator and pole: NIMA TR 8350.2, table 3.4. From memory.
    assert float(normal_gravity(math.radians(latitude), 0.0)) == pytest.approx(published, abs=2e-10)


def test_gravity_at_45_degrees_and_its_fall_with_height():
    # 9.80620 m/s² at 45° (GRS 80, whose surface gravity is that of WGS 84 to a millionth); 0.3086 mGal a metre. From memory.
    at_45 = float(normal_gravity(math.radians(45.0), 0.0))
    assert at_45 == pytest.approx(9.80620, abs=5e-6)
    assert (at_45 - float(normal_gravity(math.radians(45.0), 1000.0))) / 1000.0 == pytest.approx(3.086e-6, rel=1e-3)


def inertial_acceleration(latitude: float, north: float, east: float) -> np.ndarray:
    """Inertial acceleration, north, east and down, of a point moving along the parallel or meridian of a rotating sphere."""

    def place(t: float) -> np.ndarray:
        phi = latitude + north * t / RADIUS
        lam = EARTH_RATE * t + east * t / (RADIUS * math.cos(latitude))
        return RADIUS * np.array([math.cos(phi) * math.cos(lam), math.cos(phi) * math.sin(lam), math.sin(phi)])

    h = 10.0
    acceleration = (place(h) - 2.0 * place(0.0) + place(-h)) / h**2
    sine, cosine = math.sin(latitude), math.cos(latitude)
    axes = np.array([[-sine, 0.0, cosine], [0.0, 1.0, 0.0], [-cosine, 0.0, -sine]])
    return axes @ acceleration


@pytest.mark.parametrize("latitude_deg", [-60.0, -20.0, 0.0, 45.0])
@pytest.mark.parametrize("east", [-240.0, 60.0, 240.0])
def test_flying_along_a_parallel(latitude_deg, east):
    # Compared with standing still, the motion in an inertial frame needs less weight and a pull towards the pole, which is on
    # the left when flying east in the northern hemisphere. Without the pull the aircraft drifts to the right.
    latitude = math.radians(latitude_deg)
    needed = inertial_acceleration(latitude, 0.0, east) - inertial_acceleration(latitude, 0.0, 0.0)
    weight = float(weighed_gravity(latitude, 0.0, 0.0, east)) - float(normal_gravity(latitude, 0.0))
    assert weight == pytest.approx(-needed[2], abs=2e-5)
    right = math.copysign(1.0, east)  # flying west, the pole in the north lies to the right
    assert float(unbanked_acceleration(latitude, east, abs(east))) == pytest.approx(right * needed[0], abs=2e-5)


@pytest.mark.parametrize("north", [-200.0, 50.0])
def test_flying_along_a_meridian_weighs_less_by_the_curve_of_the_earth(north):
    needed = inertial_acceleration(0.6, north, 0.0) - inertial_acceleration(0.6, 0.0, 0.0)
    weight = float(weighed_gravity(0.6, 0.0, north, 0.0)) - float(normal_gravity(0.6, 0.0))
    assert weight == pytest.approx(-needed[2], abs=2e-5)
