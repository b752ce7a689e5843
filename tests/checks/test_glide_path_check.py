"""The glide path against three quarters of full scale: on it, off it, at the limit, and not assessed."""

import math
import re
from collections.abc import Callable
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from checked import NOISY, one_of
from final_flights import AIM_NM, BEFORE_NM, CROSSING_FT, EARTH_M, ELEVATION_FT, SECONDS, THRESHOLD_NM, flown_at, runway
from synthetic import FT, NM


def test_no_altitude_no_rate_and_no_path():
    approach = flown_at(None, runway=runway(), glide_path={"angle_deg": 3.0, "threshold_crossing_height_ft": CROSSING_FT})
    assert [one_of(approach, check).verdict for check in ("stabilised_descent", "glide_path")] == ["not assessed"] * 2


def on_path(off_deg: Callable[[float], float], level_ft: float = 2600.0) -> np.ndarray:
    """Level, then down a path whose angle, seen from where it meets the runway, is 3° and something for each mile before it.

    On a sphere a point at an elevation a, an arc s away, is R (cos a / cos(a + s/R) - 1) above the one that sees it.
    """
    heights = []
    for aim_nm in np.maximum(BEFORE_NM + AIM_NM, 0.0):
        angle, arc = math.radians(3.0 + off_deg(aim_nm)), aim_nm * NM / EARTH_M
        heights.append(ELEVATION_FT + EARTH_M * (math.cos(angle) / math.cos(angle + arc) - 1.0) / FT)
    return np.minimum(heights, level_ft)


def dipping(by_deg: float, at_nm: float = 2.5) -> Callable[[float], float]:
    """A departure from the path at one place, back on it a mile before and after."""
    return lambda aim_nm: by_deg * max(0.0, 1.0 - abs(aim_nm - at_nm))


def glide(heights_ft: np.ndarray, **how: Any):
    path = {"angle_deg": 3.0, "threshold_crossing_height_ft": CROSSING_FT}
    return one_of(flown_at(heights_ft, runway=runway(), glide_path=path, **how), "glide_path")


def test_exactly_on_a_straight_path_above_a_round_earth():
    # three degrees are 318 ft a nautical mile; the Earth falls away by d²/2R, 24 ft in 5.2 NM
    finding = glide(on_path(lambda _: 0.0))
    assert (finding.verdict, finding.limit) == ("inside", pytest.approx(0.525))  # FAA-S-ACS-8C IR.VI.B.S12: ¾ scale; of 0.7°
    assert finding.measured == pytest.approx(0.0, abs=0.01)
    assert finding.details["met_ft"] == pytest.approx(2600.0, abs=12.0)  # a second's descent


@pytest.mark.parametrize(
    ("by_deg", "verdict"),
    [(0.3, "inside"), (-0.3, "inside"), (0.525, "too close to call"), (-0.525, "too close to call"), (1.0, "outside"),
     (-1.0, "outside")],
)  # fmt: skip
def test_three_quarters_of_full_scale_off_the_path(by_deg, verdict):
    finding = glide(on_path(dipping(by_deg)))
    assert finding.verdict == verdict
    assert finding.measured == pytest.approx(abs(by_deg), abs=0.02)
    away_ft = 2.5 * NM / FT * (math.tan(math.radians(3.0 + by_deg)) - math.tan(math.radians(3.0)))
    assert finding.details["departure_ft"] == pytest.approx(away_ft, abs=6.0)


@pytest.mark.parametrize(("noise_ft", "verdict"), [(0.0, "inside"), (12.0, "too close to call")])
def test_noise_of_the_log_decides_what_is_too_close_to_call(noise_ft, verdict):
    # 0.025° inside ¾ of 0.7° is 4 ft at 1.5 NM: enough without noise, too close to call in a log that drifts by a dozen feet
    noise = np.cumsum(np.random.default_rng(3).normal(0.0, noise_ft / math.sqrt(45.0), len(BEFORE_NM)))
    finding = glide(on_path(lambda _: 0.5) + noise - np.linspace(noise[0], noise[-1], len(noise)))
    assert finding.verdict == verdict
    assert finding.measured == pytest.approx(0.5, abs=0.01)


@pytest.mark.parametrize("sign", [1.0, -1.0])
def test_a_departure_beyond_the_limit_counts_where_it_is_surest(sign):
    # 0.14° beyond ¾ of 0.7° are 62 ft at 4.2 NM and 22 ft at 1.5 NM, where the angle is as great but for the drift of the log
    noise = np.cumsum(np.random.default_rng(3).normal(0.0, 12.0 / math.sqrt(45.0), len(BEFORE_NM)))
    off = on_path(lambda aim_nm: sign * float(np.interp(aim_nm, [4.2, 5.0], [0.665, 0.0])))
    finding = glide(off + noise - np.linspace(noise[0], noise[-1], len(noise)))
    assert finding.verdict == "outside"
    assert finding.measured == pytest.approx(0.665, abs=0.05)
    where = re.search(r"([0-9.]+) NM before the threshold", finding.sentence)
    assert where is not None
    assert float(where[1]) > 3.0


@pytest.mark.parametrize("by_deg", [-0.2, -0.4])
def test_a_path_flown_parallel_counts_as_met(by_deg):
    # down 2.8° or 2.6° all the way it is never crossed, and ¾ of 0.7° off is within the limit throughout
    finding = glide(on_path(lambda _: by_deg))
    assert (finding.verdict, finding.measured) == ("inside", pytest.approx(abs(by_deg), abs=0.03))
    assert "before the threshold" in finding.sentence


def test_a_path_being_intercepted_is_not_met_yet():
    # from half a degree above it back onto it in two miles: the rest of the intercept is not a departure
    finding = glide(on_path(lambda aim_nm: min(1.0, 0.4 * max(0.0, aim_nm - 3.0))))
    assert (finding.verdict, finding.measured) == ("inside", pytest.approx(0.0, abs=0.1))


def test_a_path_is_not_met_by_passing_below_it_on_the_way_down_to_the_platform():
    # on the final leg from 5 NM before the threshold: 0.5° below the path and sinking at 900 ft/min, level at 1,700 ft, where
    # the path is met 1,200 ft above the threshold, and down it
    path = on_path(lambda _: 0.0, 5000.0)
    at = int(np.argmax(BEFORE_NM <= THRESHOLD_NM - 0.05))
    low = on_path(lambda _: -0.5, 5000.0)[at]
    heights = np.minimum(path, np.maximum(1700.0, low - (SECONDS - SECONDS[at]) * 15.0))
    heights[:at] = np.maximum(heights[:at], low + (SECONDS[at] - SECONDS[:at]) * 15.0)[:at]
    heights[: at - 60] = heights[at - 60]
    finding = glide(heights)
    assert finding.verdict == "inside"
    assert finding.details["met_ft"] == pytest.approx(1700.0, abs=30.0)


def test_a_path_crossed_level_before_the_final_leg_and_left_above_is_judged():
    # level through the path 6.5 NM before the threshold, and down a degree above it to 500 ft: final begins at the fix, 5 NM
    # before the threshold, so that the path is never met there
    heights = on_path(lambda aim_nm: min(1.0, 2.0 * max(0.0, 6.7 - aim_nm)) if aim_nm > 1.0 else aim_nm, 2600.0)
    finding = glide(heights)
    assert (finding.verdict, finding.measured) == ("outside", pytest.approx(1.0, abs=0.05))
    assert "above it" in finding.sentence


def test_a_path_that_was_never_met_is_not_assessed():
    finding = glide(on_path(lambda _: -1.0))
    assert (finding.verdict, finding.measured) == ("not assessed", None)
    assert "not met" in str(finding.reason)


@pytest.mark.parametrize(
    ("how", "why"),
    [
        ({"log": replace(NOISY, hole_s=(320.0, 335.0))}, "gap"),
        ({"missing": (300.0, 312.0)}, "altitude is missing"),
        ({"missing": (395.0, 425.0)}, "altitude is missing"),  # 500 ft above the threshold lies in it
        ({"log": replace(NOISY, end_s=400.0)}, "the log ends before 500 ft above the threshold"),
    ],
)
def test_missing_data_make_inside_not_assessed_but_leave_outside(how, why):
    # 2,600 ft to 1,000 ft down 3° at 120 kt: met after 261 s, 500 ft above the threshold after 410 s
    finding = glide(on_path(lambda _: 0.0), **how)
    assert finding.verdict == "not assessed"
    assert why in str(finding.reason)
    assert glide(on_path(dipping(-1.0)), **how).verdict == "outside"


@pytest.mark.parametrize(
    "how",
    [
        {"log": replace(NOISY, hole_s=(425.0, 440.0))},
        {"missing": (425.0, 440.0)},
        {"log": replace(NOISY, end_s=420.0)},
        {"log": replace(NOISY, hole_s=(200.0, 220.0))},
        {"missing": (200.0, 220.0)},
        {"missing": (300.0, 308.0)},  # bridged
    ],
)
def test_missing_data_before_the_path_is_met_or_below_five_hundred_feet_do_not_matter(how):
    assert glide(on_path(lambda _: 0.0), **how).verdict == "inside"


@pytest.mark.parametrize("by_deg", [1.0, -1.0])
def test_the_path_is_not_judged_below_five_hundred_feet(by_deg):
    # 500 ft are met 500 / 318 = 1.57 NM before the path meets the runway; this is off it in the last mile and a half
    finding = glide(on_path(dipping(by_deg, 0.5)))
    assert (finding.verdict, finding.measured) == ("inside", pytest.approx(0.0, abs=0.01))


@pytest.mark.parametrize("minimum", [{"minimum": {"kind": "mda", "altitude_ft": 900.0}}, {"altitudes": {"final_ft": 900.0}}])
def test_down_to_a_minimum_descent_altitude_the_path_is_for_information(minimum):
    """14 CFR 1.1: an MDA is the lowest altitude to which descent is authorised until the runway is in sight, by no path.

    So on the localizer line of an ILS chart the aircraft may be below the path, level at its minimum.
    """
    path = {"angle_deg": 3.0, "threshold_crossing_height_ft": CROSSING_FT}
    low = on_path(dipping(-1.0))
    finding = one_of(flown_at(low, runway=runway(), glide_path=path, **minimum), "glide_path")
    assert (finding.verdict, finding.limit, finding.margin) == ("not assessed", None, None)
    assert finding.measured == pytest.approx(1.0, abs=0.02)  # still reported
    assert "for information" in str(finding.reason)
    assert "limit" not in finding.sentence
    # with a decision altitude the path leads to it
    decided = {"minimum": {"kind": "da", "altitude_ft": 900.0}}
    assert one_of(flown_at(low, runway=runway(), glide_path=path, **decided), "glide_path").verdict == "outside"


@pytest.mark.parametrize(("off_deg", "verdict"), [(0.0, "inside"), (1.0, "outside")])
def test_a_go_around_from_high_up_is_judged_down_to_its_climb(off_deg, verdict):
    # on the path, or 1° off it 3.5 NM before, to 2.3 NM before the threshold, 780 ft above it; from there up at 800 ft/min
    down = on_path(dipping(off_deg, 3.5))
    begun = int(np.argmax(BEFORE_NM <= 2.3))
    up = down[begun] + np.maximum(np.arange(len(down)) - begun, 0) / 60.0 * 800.0
    finding = glide(np.where(np.arange(len(down)) < begun, down, up))
    assert finding.verdict == verdict
    assert finding.measured == pytest.approx(off_deg, abs=0.1)  # the corner of a climb at once is rounded by 20 ft
    assert "down to the go-around" in finding.sentence


@pytest.mark.parametrize("before_s", [5.0, 25.0])
def test_a_climb_whose_beginning_a_gap_hides_is_no_departure_from_the_path(before_s):
    # the go-around of the test before this one, with a hole of half a minute and more about where it begins, after which the
    # aircraft is higher than before it, or not yet
    down = on_path(lambda _: 0.0)
    begun = int(np.argmax(BEFORE_NM <= 2.3))
    up = down[begun] + np.maximum(np.arange(len(down)) - begun, 0) / 60.0 * 800.0
    heights = np.where(np.arange(len(down)) < begun, down, up)
    finding = glide(heights, log=replace(NOISY, hole_s=(SECONDS[begun] - before_s, SECONDS[begun] + 20.0)))
    assert finding.verdict in ("inside", "not assessed")
    assert finding.measured == pytest.approx(0.0, abs=0.1)
