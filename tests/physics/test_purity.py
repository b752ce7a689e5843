"""Properties of all physics functions: arguments are unchanged, NaN propagates, and arrays agree with scalars."""

import math
from collections.abc import Callable

import numpy as np
import pytest

from analyzer.physics import atmosphere, geodesy, gravity, turning, wind_triangle

# Function, and arguments it accepts.
CASES: dict[str, tuple[Callable[..., object], list[list[float]]]] = {
    "inverse": (geodesy.inverse, [[0.1, 0.2], [3.1, 0.3], [0.15, -0.2], [-3.1, 0.4]]),
    "direct": (geodesy.direct, [[0.1, 0.2], [3.1, 0.3], [1.0, 6.0], [1e4, 2e4]]),
    "slant_range": (geodesy.slant_range, [[1e3, 2e4], [500.0, 900.0]]),
    "cross_track": (geodesy.cross_track, [[1e3, 2e4], [0.1, -2.0]]),
    "cone_radius": (lambda height: geodesy.cone_radius(height, "vor"), [[500.0, -3.0]]),
    "offset": (geodesy.offset, [[0.1, -0.2], [3.1, 0.3], [10.0, -5.0], [4.0, 900.0]]),
    "temperature": (atmosphere.temperature, [[0.0, 15_000.0]]),
    "pressure": (atmosphere.pressure, [[0.0, 15_000.0]]),
    "pressure_altitude": (atmosphere.pressure_altitude, [[101_325.0, 70_000.0]]),
    "speed_of_sound": (atmosphere.speed_of_sound, [[0.0, 15_000.0]]),
    "impact_pressure": (atmosphere.impact_pressure, [[0.0, 150.0]]),
    "true_airspeed": (atmosphere.true_airspeed, [[50.0, 100.0], [0.0, 9_000.0]]),
    "calibrated_airspeed": (atmosphere.calibrated_airspeed, [[50.0, 100.0], [0.0, 9_000.0]]),
    "normal_gravity": (gravity.normal_gravity, [[0.1, -0.2], [0.0, 9_000.0]]),
    "weighed_gravity": (gravity.weighed_gravity, [[0.1, -0.2], [0.0, 9_000.0], [50.0, 0.0], [-9.0, 200.0]]),
    "unbanked_acceleration": (gravity.unbanked_acceleration, [[0.1, -0.2], [50.0, -90.0], [50.0, 100.0]]),
    "turn_rate": (turning.turn_rate, [[50.0, 100.0], [0.3, -0.4]]),
    "turn_radius": (turning.turn_radius, [[50.0, 100.0], [0.3, -0.4]]),
    "bank_for_rate": (turning.bank_for_rate, [[50.0, 100.0], [0.05, -0.04]]),
    "heading_needed": (wind_triangle.heading_needed, [[0.1, 6.0], [60.0, 90.0], [1.0, 2.0], [5.0, 12.0]]),
}


def frozen(values: list[float]) -> np.ndarray:
    array = np.array(values)
    array.flags.writeable = False
    return array


def parts(result: object) -> list[np.ndarray]:
    return [np.asarray(part) for part in result] if isinstance(result, tuple) else [np.asarray(result)]


@pytest.mark.parametrize("name", CASES)
def test_arrays_agree_with_scalars_and_stay_unchanged(name):
    function, arguments = CASES[name]
    together = parts(function(*(frozen(values) for values in arguments)))
    for k in range(2):
        alone = parts(function(*(values[k] for values in arguments)))
        assert [part[k] for part in together] == [pytest.approx(float(part), rel=1e-14) for part in alone]
    assert all(part.shape == (2,) and np.isfinite(part).all() for part in together)


@pytest.mark.parametrize("name", CASES)
def test_nan_propagates_to_its_own_element_only(name):
    function, arguments = CASES[name]
    clean = parts(function(*(np.array(values) for values in arguments)))
    for k in range(len(arguments)):
        spoilt = [np.array(values) for values in arguments]
        spoilt[k][0] = math.nan
        spoilt_parts = parts(function(*spoilt))
        assert any(np.isnan(part[0]) for part in spoilt_parts)
        # one or many lines may be worked out in another order: equal but for the last digits
        assert [part[1] for part in spoilt_parts] == pytest.approx([part[1] for part in clean], rel=1e-13)


def test_the_frame_leaves_its_input_unchanged():
    north, east = geodesy.north_east(frozen([0.1, 0.2]), frozen([3.1, -3.1]))
    assert np.isfinite([north, east]).all()


def test_one_point_to_many_leaves_its_input_unchanged_and_keeps_nan_in_place():
    distance, bearing = geodesy.inverse_near(0.1, 3.1, frozen([0.2, math.nan]), frozen([3.1, 3.1]))
    assert np.isfinite([distance[0], bearing[0]]).all()
    assert np.isnan([distance[1], bearing[1]]).all()


@pytest.mark.parametrize("module", [atmosphere, geodesy, gravity, turning, wind_triangle])
def test_every_public_function_is_covered_here(module):
    functions = {name for name in module.__all__ if name[0].islower()}
    assert functions - {"north_east", "inverse_near"} <= set(CASES)
