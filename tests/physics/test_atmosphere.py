"""The atmosphere and airspeeds against published tables and a flight simulator's atmosphere."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from analyzer.physics.atmosphere import (
    GAS_CONSTANT,
    SEA_LEVEL_PRESSURE_PA,
    SEA_LEVEL_SPEED_OF_SOUND_MPS,
    SEA_LEVEL_TEMPERATURE_K,
    calibrated_airspeed,
    impact_pressure,
    pressure,
    pressure_altitude,
    speed_of_sound,
    temperature,
    true_airspeed,
)
from analyzer.physics.units import FT, KT

SEA_LEVEL_DENSITY_KGPM3 = SEA_LEVEL_PRESSURE_PA / (GAS_CONSTANT * SEA_LEVEL_TEMPERATURE_K)
altitudes = st.floats(-1_000.0, 20_000.0)


def density_ratio(altitude_m, deviation_k=0.0):
    """Density over that of the standard at sea level, by the equation of state."""
    return pressure(altitude_m) / SEA_LEVEL_PRESSURE_PA * SEA_LEVEL_TEMPERATURE_K / temperature(altitude_m, deviation_k)


def test_sea_level():
    # ISO 2533:1975: 101,325 Pa, 288.15 K, 1.225 kg/m³, 340.294 m/s.
    assert float(pressure(0.0)) == pytest.approx(101_325.0, abs=0.001)
    assert float(temperature(0.0)) == 288.15
    assert pytest.approx(1.225, abs=0.00005) == SEA_LEVEL_DENSITY_KGPM3
    assert pytest.approx(340.294, abs=0.0005) == SEA_LEVEL_SPEED_OF_SOUND_MPS


@pytest.mark.parametrize(
    ("altitude_ft", "pressure_ratio", "density"),
    [(1_000.0, 0.9644, 0.9711), (5_000.0, 0.8320, 0.8617), (6_000.0, 0.8014, 0.8359), (10_000.0, None, 0.7385)],
)
def test_published_ratios(altitude_ft, pressure_ratio, density):
    # "International standard atmosphere", table 3.5 of a flight-mechanics textbook (a scan), four decimals.
    assert float(density_ratio(altitude_ft * FT)) == pytest.approx(density, abs=0.0001)
    if pressure_ratio is not None:
        assert float(pressure(altitude_ft * FT)) / SEA_LEVEL_PRESSURE_PA == pytest.approx(pressure_ratio, abs=0.0001)
        assert float(pressure_altitude(pressure_ratio * SEA_LEVEL_PRESSURE_PA)) / FT == pytest.approx(altitude_ft, abs=3.0)


@pytest.mark.parametrize(
    ("altitude_m", "temperature_k", "pressure_pa"),
    [
        (-1_000.0, 294.65, 113_929.0),
        (1_000.0, 281.65, 89_874.6),
        (5_000.0, 255.65, 54_019.9),
        (10_000.0, 223.15, 26_436.3),
        (11_000.0, 216.65, 22_632.1),
        (15_000.0, 216.65, 12_044.6),
        (20_000.0, 216.65, 5_474.89),
    ],
)
def test_table_of_the_standard(altitude_m, temperature_k, pressure_pa):
    # ISO 2533:1975, table of geopotential altitudes, from memory; test_agrees_with_jsbsim guards against a slip of it.
    assert float(temperature(altitude_m)) == pytest.approx(temperature_k, abs=0.0005)
    assert float(pressure(altitude_m)) == pytest.approx(pressure_pa, rel=5e-6)


@given(altitudes, altitudes)
def test_pressure_falls_and_is_continuous(one_m, other_m):
    lower, higher = sorted((one_m, other_m))
    assert float(pressure(higher)) <= float(pressure(lower))
    # Hydrostatic: never steeper than the densest air of the range, 1.35 kg/m³ at -1 km.
    assert float(pressure(lower) - pressure(higher)) <= 1.35 * 9.80665 * (higher - lower) + 1e-6


@pytest.mark.parametrize("function", [temperature, pressure, speed_of_sound])
@pytest.mark.parametrize("altitude_m", [-1_000.1, 20_000.1, math.inf])
def test_altitudes_beyond_the_layers_are_refused(function, altitude_m):
    with pytest.raises(ValueError, match=r"outside.*-1,000 to 20,000 m"):
        function(np.array([0.0, altitude_m]))


def test_conversion_factor_of_pans_ops():
    # ICAO Doc 8168 Vol. II, Table I-4-3-App C-1, line K: 140 kt IAS at 6,000 ft, ISA+15, make 157.23 kt TAS; K = 1.1231, which
    # takes no account of compressibility.
    factor = 1.0 / np.sqrt(density_ratio(6_000.0 * FT, 15.0))
    assert float(factor) == pytest.approx(1.1231, abs=0.00005)
    assert 140.0 * float(factor) == pytest.approx(157.23, abs=0.005)
    # Compressibility takes off M²/8 (1/δ - 1) to first order, with M = 0.212 at sea level and δ = 0.801: 0.14 %.
    assert float(true_airspeed(140.0 * KT, 6_000.0 * FT, 15.0)) / KT == pytest.approx(157.23 * (1.0 - 0.0014), abs=0.03)


def test_conversion_factors_at_other_altitudes():
    # The same table's formula, from memory: K = 171,233 sqrt((288 + VAR) - 0.00198 H) / (288 - 0.00198 H)^2.628.
    factors = 1.0 / np.sqrt(density_ratio(np.array([0.0, 3_000.0, 5_000.0, 10_000.0]) * FT, 15.0))
    assert factors == pytest.approx([1.0257, 1.0728, 1.1059, 1.1958], abs=0.0001)


@pytest.mark.parametrize(
    ("calibrated_kt", "altitude_ft", "true_kt"),
    [(100.0, 5_000.0, 107.67), (120.0, 5_000.0, 129.17), (100.0, 10_000.0, 116.22), (200.0, 10_000.0, 231.58)],
)
def test_calibrated_to_true(calibrated_kt, altitude_ft, true_kt):
    # The compressible formula worked separately, good to 0.01 kt; incompressible flow gives 107.73, 129.27, 116.37, 232.74.
    assert float(true_airspeed(calibrated_kt * KT, altitude_ft * FT)) / KT == pytest.approx(true_kt, abs=0.01)


@pytest.mark.parametrize(("mach", "static_over_total"), [(0.3, 0.9395), (0.5, 0.8430), (0.8, 0.6560), (1.0, 0.5283)])
def test_impact_pressure_is_isentropic(mach, static_over_total):
    # NACA Report 1135, "Equations, Tables, and Charts for Compressible Flow", table I, p/p_t; from memory.
    impact = float(impact_pressure(mach * SEA_LEVEL_SPEED_OF_SOUND_MPS))
    assert SEA_LEVEL_PRESSURE_PA / (SEA_LEVEL_PRESSURE_PA + impact) == pytest.approx(static_over_total, abs=0.00005)


@given(st.floats(0.01, 150.0))
def test_impact_pressure_tends_to_the_dynamic_one(speed_mps):
    # Its series is ½ρV² (1 + M²/4 + M⁴/40 + ...).
    dynamic = 0.5 * SEA_LEVEL_DENSITY_KGPM3 * speed_mps**2
    mach_squared = (speed_mps / SEA_LEVEL_SPEED_OF_SOUND_MPS) ** 2
    assert float(impact_pressure(speed_mps)) / dynamic == pytest.approx(
        1.0 + mach_squared / 4.0, abs=mach_squared**2 / 39.0 + 1e-12
    )


@given(st.floats(0.0, 150.0), altitudes, st.floats(-40.0, 40.0))
def test_airspeeds_round_trip(calibrated_mps, altitude_m, deviation_k):
    true = true_airspeed(calibrated_mps, altitude_m, deviation_k)
    if math.isnan(float(true)):
        # Only where the flight would be supersonic.
        assert float(impact_pressure(calibrated_mps)) > 0.8929 * float(pressure(altitude_m))
    else:
        back = calibrated_airspeed(true, altitude_m, deviation_k)
        assert float(back) == pytest.approx(calibrated_mps, abs=1e-6)


@given(st.floats(0.0, 300.0))
def test_at_sea_level_both_airspeeds_are_equal(speed_mps):
    assert float(true_airspeed(speed_mps, 0.0)) == pytest.approx(speed_mps, abs=1e-9)


@pytest.mark.parametrize("speed_mps", [-1.0, 341.0])
def test_speeds_outside_the_formula_are_nan(speed_mps):
    assert np.isnan(impact_pressure(speed_mps))
    assert np.isnan(true_airspeed(speed_mps, 0.0))
    assert np.isnan(calibrated_airspeed(speed_mps, 0.0))


def test_agrees_with_jsbsim():
    jsbsim = pytest.importorskip("jsbsim")
    jsbsim.FGJSBBase().debug_lvl = 0
    simulator = jsbsim.FGFDMExec(jsbsim.get_default_root_dir())
    simulator.disable_output()
    simulator.load_model("ball")
    for altitude_ft in (0.0, 3_000.0, 8_000.0, 20_000.0, 35_000.0, 45_000.0, 65_000.0):
        simulator["ic/h-sl-ft"] = altitude_ft
        simulator["ic/vt-kts"] = 250.0
        simulator.run_ic()
        geometric_m = altitude_ft * FT
        altitude_m = geometric_m * 6_356_766.0 / (6_356_766.0 + geometric_m)  # geopotential, with the radius of the standard
        assert float(temperature(altitude_m)) == pytest.approx(simulator["atmosphere/T-R"] / 1.8, rel=2e-5)
        assert float(pressure(altitude_m)) == pytest.approx(simulator["atmosphere/P-psf"] * 47.880259, rel=2e-4)
        true_mps, calibrated_mps = simulator["velocities/vtrue-kts"] * KT, simulator["velocities/vc-kts"] * KT
        assert float(calibrated_airspeed(true_mps, altitude_m)) == pytest.approx(calibrated_mps, rel=2e-4)
        assert float(true_airspeed(calibrated_mps, altitude_m)) == pytest.approx(true_mps, rel=2e-4)
