"""Greatest speeds of holds that go through an altitude where the maximum changes, or that may be either side of one."""

import math
from dataclasses import replace

import numpy as np
import pytest
from checked import NOISY, one_of
from synthetic import FT, KT, Chart, Straight, Turn, fly, standard_rate_bank

from analyzer import debrief
from analyzer.checks.finding import Finding
from analyzer.physics import atmosphere

HOLD = {"kind": "hold", "turn": "right", "leg_time_s": 60.0}
EARLY_S, LATE_S = 150.0, 330.0  # in the first turn, and at the start of the turn back; established after some 445 s


def speed_of(
    heights_ft: list[tuple[float, float]],
    indicated_kt: float,
    reference: str = "mean sea level",
    outbound_kt: float | None = None,
    unknown_from_s: float = math.inf,
) -> Finding:
    """The finding on the speed of a hold at the true airspeed that indicates so much at 6,000 ft, recorded as indicated.

    Slowed to `outbound_kt` early on the outbound leg, where given.
    """
    true_kt, then_kt = (
        float(atmosphere.true_airspeed(kt * KT, 6000.0 * FT)) / KT for kt in (indicated_kt, outbound_kt or indicated_kt)
    )
    bank, same_radius = standard_rate_bank(true_kt, 1.5), standard_rate_bank(then_kt, 1.5 * then_kt / true_kt)
    path = [Straight("arrival", 90.0), Turn("away", 180.0, bank), Straight("slowing", 20.0, then_kt), Straight("out", 100.0)]
    path += [Turn("back", 180.0, same_radius), Straight("in", 150.0)]
    flown = fly(path, (0.0, 90.0 * true_kt / 3600.0), 180.0, true_kt, roll_deg_s=5.0)
    track = replace(NOISY, altitude_ft=heights_ft).of(flown)
    since = track.time_s - track.time_s[0]
    height_m = np.interp(since, *zip(*heights_ft, strict=True)) * FT
    slowing_s = flown.begins["slowing"]
    speed_kt = np.interp(since, [slowing_s, slowing_s + 20.0], [true_kt, then_kt])
    recorded = {"indicated_airspeed_mps": atmosphere.calibrated_airspeed(speed_kt * KT, height_m)}
    altitude_m = np.where(since < unknown_from_s, track.altitude_m, np.nan)
    track = replace(track, recorded=recorded, altitude_reference=reference, altitude_m=altitude_m)
    (approach,) = debrief(track, Chart(side=None, within_nm=None, reversal=HOLD).at()).approaches
    return one_of(approach, "speed_limit")


def down(from_ft: float, to_ft: float, at_s: float) -> list[tuple[float, float]]:
    """Down at 1,000 ft/min."""
    return [(0.0, from_ft), (at_s, from_ft), (at_s + (from_ft - to_ft) / 1000.0 * 60.0, to_ft), (1e4, to_ft)]


@pytest.mark.parametrize(
    ("at_s", "outbound_kt", "median_kt", "then_kt"), [(EARLY_S, 180.0, 200, 230), (LATE_S, 217.0, 230, 200)]
)
def test_between_the_maximums_of_two_bands_that_are_flown_there_is_no_verdict(at_s, outbound_kt, median_kt, then_kt):
    """AIM 5-3-8 j.2: 230 kt above 6,000 ft, 200 kt to it. From 7,500 down to 5,000 ft at 217 kt, slowed in time or not."""
    finding = speed_of(down(7500.0, 5000.0, at_s), 217.0, outbound_kt=outbound_kt)
    assert finding.verdict == "not assessed"
    assert f"it is {median_kt} kt at their median, and {then_kt} kt where the aircraft was then" in str(finding.reason)


def test_a_descent_within_one_band_has_its_maximum():
    finding = speed_of(down(8500.0, 7000.0, EARLY_S), 205.0)
    assert (finding.verdict, finding.limit) == ("inside", pytest.approx(230.0))


@pytest.mark.parametrize(("indicated_kt", "verdict"), [(180.0, "inside"), (250.0, "outside")])
@pytest.mark.parametrize("at_s", [EARLY_S, LATE_S])
def test_slow_for_both_bands_is_inside_and_fast_for_both_outside(at_s, indicated_kt, verdict):
    assert speed_of(down(7500.0, 5000.0, at_s), indicated_kt).verdict == verdict


@pytest.mark.parametrize(
    ("reference", "indicated_kt", "verdict"),
    [
        ("mean sea level", 215.0, "outside"),
        ("pressure altitude", 215.0, "not assessed"),
        ("pressure altitude", 190.0, "inside"),
        ("ellipsoid", 190.0, "inside"),
        ("pressure altitude", 250.0, "outside"),
        ("ellipsoid", 215.0, "not assessed"),
        ("pressure altitude, QNH applied", 215.0, "outside"),
    ],
)
def test_an_altitude_that_may_be_either_side_of_6000_ft_gives_no_verdict_that_rests_on_it(reference, indicated_kt, verdict):
    """5,900 ft on 1013 hPa are 6,560 ft by an altimeter set to 1,037 hPa; the ellipsoid may lie 200 ft from sea level."""
    finding = speed_of([(0.0, 5900.0), (1e4, 5900.0)], indicated_kt, reference)
    assert finding.verdict == verdict
    if verdict == "not assessed":
        assert "another maximum then applies: 230 kt" in str(finding.reason)


@pytest.mark.parametrize("level_ft", [5900.0, 6100.0])
def test_at_the_maximum_of_the_lower_band_nothing_is_inside_where_that_may_apply(level_ft):
    """201 kt may be at the 200 kt of the lower band."""
    assert speed_of([(0.0, level_ft), (1e4, level_ft)], 201.0, "ellipsoid").verdict == "not assessed"


def test_how_far_altitudes_may_be_off_counts_for_nothing_far_from_any_edge():
    assert speed_of([(0.0, 3000.0), (1e4, 3000.0)], 215.0, "pressure altitude").verdict == "outside"


@pytest.mark.parametrize(("indicated_kt", "verdict"), [(190.0, "inside"), (215.0, "not assessed")])
def test_where_the_altitude_of_a_hold_is_missing_its_band_is_not_known(indicated_kt, verdict):
    """Of the whole hold, but known before it, where the record was checked: 215 kt are too fast to 6,000 ft only."""
    finding = speed_of([(0.0, 5000.0), (1e4, 5000.0)], indicated_kt, unknown_from_s=60.0)
    assert finding.verdict == verdict
    assert ("altitude is missing" in str(finding.reason)) is (verdict == "not assessed")
