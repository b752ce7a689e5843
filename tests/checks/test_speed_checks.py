"""Holding speeds by altitude and target speeds by leg against the published limits."""

import math
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from checked import NOISY, PLAIN, one_of
from hold_flights import LEVEL_FT, SPEED_KT, entered, held
from hold_flights import chart as hold_chart
from missed_flights import chart as missed_chart
from missed_flights import gone_around
from patterns import Pattern, fly_approach
from synthetic import FT, KT, START_S, Chart, Flown, Log, Straight, Turn, fly, standard_rate_bank

from analyzer import debrief
from analyzer.checks.speeds import holding_maximum
from analyzer.checks.standard import read_standard
from analyzer.debriefs.data import Approach
from analyzer.physics import atmosphere

HOLD = {"kind": "hold", "turn": "right", "leg_time_s": 60.0}


def recorded(flown: Flown, indicated_kt: float, chart: Chart, log: Log = NOISY, standard: str = "faa-instrument") -> Approach:
    """The approach of a log with a recorded indicated airspeed."""
    track = log.of(flown)
    track = replace(track, recorded={"indicated_airspeed_mps": np.full(len(track.time_s), indicated_kt * KT)})
    (approach,) = debrief(track, chart.at(), standard).approaches
    return approach


def true_kt(indicated_kt: float, altitude_ft: float) -> float:
    """True airspeed in the standard atmosphere."""
    speeds = np.linspace(50.0, 400.0, 3501) * KT
    indicated = atmosphere.calibrated_airspeed(speeds, np.full(len(speeds), altitude_ft * FT), np.zeros(len(speeds)))
    return float(np.interp(indicated_kt * KT, indicated, speeds)) / KT


def in_a_hold(indicated_kt: float, altitude_ft: float, standard: str = "faa-instrument", **reversal: Any):
    """The finding on the speed of a direct entry into a hold in lieu of a procedure turn."""
    speed = true_kt(indicated_kt, altitude_ft)
    bank = standard_rate_bank(speed, 1.5 if speed > 200.0 else 3.0)
    path = [Straight("arrival", 90.0), Turn("away", 180.0, bank), Straight("out", 60.0), Turn("back", 180.0, bank)]
    flown = fly([*path, Straight("in", 120.0)], (0.0, 90.0 * speed / 3600.0), 180.0, speed, roll_deg_s=5.0)
    chart = Chart(side=None, within_nm=None, reversal={**HOLD, **reversal})
    return one_of(recorded(flown, indicated_kt, chart, replace(NOISY, altitude_ft=altitude_ft), standard), "speed_limit")


@pytest.mark.parametrize(
    ("altitude_ft", "limit_kt"), [(3000.0, 200.0), (6000.0, 200.0), (6040.0, 200.0), (7000.0, 230.0), (14_000.0, 230.0)]
)
@pytest.mark.parametrize(("off_kt", "verdict"), [(-10.0, "inside"), (0.0, "too close to call"), (12.0, "outside")])
def test_a_hold_has_the_speeds_of_a_hold(altitude_ft, limit_kt, off_kt, verdict):
    # AIM 5-3-8 j.2 and 5-4-9 a.5: 200 kt to 6,000 ft, 230 kt to 14,000 ft; 6,040 ft are 6,000 ft held 40 ft high
    finding = in_a_hold(limit_kt + off_kt, altitude_ft)
    assert (finding.verdict, finding.limit) == (verdict, pytest.approx(limit_kt))
    assert "AIM 5-3-8 j.2" in finding.source


def test_the_charted_limit_of_a_hold_comes_first():
    assert in_a_hold(190.0, 3000.0, maximum_speed_kias=175.0).verdict == "outside"
    assert in_a_hold(220.0, 3000.0, maximum_speed_kias=230.0).verdict == "inside"


@pytest.mark.parametrize(("indicated_kt", "verdict"), [(220.0, "inside"), (240.0, "outside")])
def test_icao_s_speeds_of_a_hold(indicated_kt, verdict):
    # ICAO Doc 8168 as a State AIP restates it: 230 kt to 14,000 ft
    finding = in_a_hold(indicated_kt, 5000.0, "icao-ops")
    assert (finding.verdict, finding.limit) == (verdict, pytest.approx(230.0))


def test_a_procedure_turn_keeps_200_knots_at_any_altitude():
    # AIM 5-4-9 a.3
    speed = true_kt(215.0, 9000.0)
    flown = fly_approach(replace(PLAIN, speed_kt=speed, intercept=True, outbound_s=60.0)).flown
    finding = one_of(recorded(flown, 215.0, Chart(), replace(NOISY, altitude_ft=9000.0)), "speed_limit")
    assert (finding.verdict, finding.limit) == ("outside", pytest.approx(200.0))


@pytest.mark.parametrize(
    ("altitude_ft", "light", "speed_kt"),
    [(14_000.0, True, 170.0), (14_000.0, False, 230.0), (16_000.0, True, 240.0), (math.nan, False, 230.0)],
)
def test_170_knots_only_where_the_hold_itself_is_limited_to_categories_a_and_b(altitude_ft, light, speed_kt):
    # ICAO Doc 8168 as a State AIP restates it; without an altitude the lowest band counts
    maximum = holding_maximum(read_standard("icao-ops"), altitude_ft * FT, light)
    assert maximum.speed_mps / KT == pytest.approx(speed_kt)


def test_the_aim_has_no_speeds_for_categories():
    assert holding_maximum(read_standard(), 3000.0 * FT, light=True).speed_mps / KT == pytest.approx(200.0)


def on_target(indicated_kt: float, targets: dict[str, float], standard: str = "faa-instrument", **how: Any) -> Approach:
    flown = fly_approach(replace(Pattern(roll_deg_s=5.0, intercept=True), speed_kt=true_kt(indicated_kt, 3000.0), **how)).flown
    return recorded(flown, indicated_kt, Chart(tables={"speeds": targets}), standard=standard)


@pytest.mark.parametrize(
    ("standard", "leg", "allowed_kt"),
    [
        # FAA-S-ACS-8C IR.VI.A.S9 and S12: ±10 kt; FAA-S-ACS-11A AA.VI.D.S9 and S12: ±10, on final ±5; Part-FCL Appendix 7: ±5
        ("faa-instrument", "outbound", 10.0),
        ("faa-instrument", "final", 10.0),
        ("faa-transport", "outbound", 10.0),
        ("faa-transport", "final", 5.0),
        ("part-fcl", "outbound", 5.0),
        ("part-fcl", "final", 5.0),
    ],
)
@pytest.mark.parametrize(
    ("share", "verdict"), [(0.5, "inside"), (-0.5, "inside"), (1.0, "too close to call"), (-1.5, "outside")]
)
def test_the_median_speed_of_a_leg_against_its_target(standard, leg, allowed_kt, share, verdict):
    approach = on_target(110.0 + share * allowed_kt, {leg: 110.0}, standard)
    finding = one_of(approach, "target_speed")
    assert (finding.leg, finding.verdict, finding.tolerance) == (leg, verdict, allowed_kt)
    assert finding.measured == pytest.approx(110.0 + share * allowed_kt, abs=0.1)
    assert finding.limit == pytest.approx(110.0)
    assert ("above" if share > 0 else "below") in finding.sentence


def test_a_leg_not_flown_or_without_a_target_has_no_finding():
    found = [
        finding.leg
        for finding in on_target(110.0, {"inbound": 110.0, "hold": 90.0}).findings
        if finding.check == "target_speed"
    ]
    assert found == ["inbound"]


@pytest.mark.parametrize(("off_kt", "verdict"), [(3.0, "inside"), (-25.0, "outside")])
def test_a_published_hold_has_its_own_target(off_kt, verdict):
    """Only the key `hold` applies to a published hold."""
    flown_kt = SPEED_KT * 100.0 / true_kt(100.0, LEVEL_FT)
    target = flown_kt - off_kt
    plain = hold_chart()
    chart = replace(plain, tables={**plain.tables, "speeds": {"hold": target, "final": 60.0}})
    (found,) = [finding for finding in held(entered("direct"), chart).findings if finding.check == "target_speed"]
    assert (found.leg, found.verdict) == ("hold", verdict)
    assert found.measured == pytest.approx(flown_kt, abs=2.0)


def test_the_missed_approach_has_a_target_speed():
    plain = missed_chart()
    debriefed = gone_around().debrief(replace(plain, tables={**plain.tables, "speeds": {"missed": 60.0}}))
    found = [finding for finding in debriefed.approaches[0].findings if finding.check == "target_speed"]
    assert [finding.leg for finding in found] == ["missed"]


def test_without_a_recorded_speed_it_is_estimated_from_the_wind():
    flown = fly_approach(Pattern(roll_deg_s=5.0, intercept=True, speed_kt=true_kt(110.0, 3000.0), wind=(40.0, 15.0))).flown
    chart = Chart(tables={"speeds": {"outbound": 140.0}})
    (approach,) = debrief(NOISY.of(flown), chart.at()).approaches
    finding = one_of(approach, "target_speed")
    assert (finding.verdict, finding.basis) == ("outside", "estimate")
    assert finding.measured == pytest.approx(110.0, abs=2.0)
    assert finding.lesson is not None
    assert "Be at 140 kt" in str(finding.lesson.advice)


def test_the_landing_does_not_count_for_the_target_speed_on_final():
    # 110 kt down to the minimum, slowing to 70 kt in the longer part below it, in agreement with the positions
    flown = fly([Straight("in", 300.0), Straight("level", 60.0), Straight("landing", 400.0, 70.0)], (0.0, 10.0), 180.0)
    heights = [(0.0, 2500.0), (310.0, 2500.0), (350.0, 800.0), (360.0, 800.0), (500.0, 500.0), (1e4, 500.0)]
    tables = {"speeds": {"final": 110.0}, "minimum": {"kind": "mda", "altitude_ft": 750.0}}
    chart = Chart(side=None, within_nm=None, reversal={"kind": "none"}, tables=tables)
    track = replace(NOISY, altitude_ft=heights).of(flown)
    speed = np.interp(track.time_s - track.time_s[0], [365.0, 760.0], [110.0, 70.0]) * KT
    (approach,) = debrief(replace(track, recorded={"indicated_airspeed_mps": speed}), chart.at()).approaches
    finding = one_of(approach, "target_speed")
    assert (finding.verdict, finding.measured) == ("inside", pytest.approx(110.0, abs=0.5))


@pytest.mark.parametrize(("written", "verdict"), [(1.0, "inside"), (1.06, "too close to call")])
def test_a_recorded_airspeed_beyond_the_one_flown_is_no_verdict(written, verdict):
    """Flown at 120 kt against a limit of 124 kt, and written as flown, or, as true airspeed is at 4,000 ft, as 127 kt."""
    speed = true_kt(120.0, 3000.0)
    flown = fly_approach(Pattern(roll_deg_s=5.0, intercept=True, speed_kt=speed, wind=(40.0, 15.0))).flown
    chart = Chart(reversal={"maximum_speed_kias": 126.0 if written == 1.0 else 124.0})
    finding = one_of(recorded(flown, 120.0 * written, chart), "speed_limit")
    assert finding.basis == "recorded"
    assert finding.measured == pytest.approx(120.0 * written, abs=0.1)
    assert finding.verdict == verdict


def greatest_kt(noise_m: float, seed: int, burst_kt: float = 0.0) -> float:
    """The greatest estimated airspeed of a procedure turn at 120 kt in still air at sea level, 8 s of it faster by so much."""
    path = fly_approach(PLAIN).flown
    k = int(np.argmax(path.time_s > path.begins["outbound"] + 20.0))
    along = np.clip(path.time_s - path.time_s[k], 0.0, 8.0) * burst_kt / 3600.0
    moved = replace(path, x_nm=path.x_nm + along * 0.0, y_nm=path.y_nm + along)
    (approach,) = debrief(Log(altitude_ft=0.0, noise_m=noise_m, seed=seed).of(moved), Chart().at()).approaches
    found = approach.figures.indicated
    assert found is not None
    return found.speed_mps / KT


def test_the_greatest_airspeed_is_not_that_of_the_noise():
    """Scatter of 8 and 15 m, as of a poor receiver: the peak of single speeds is 1.5 and 2.3 kt beyond the speed flown."""
    for noise_m, most_kt in ((8.0, 1.35), (15.0, 2.05)):
        off = [greatest_kt(noise_m, seed) - 120.0 for seed in range(6)]
        assert -1.0 < float(np.median(off)) < most_kt


def test_nor_is_it_averaged_where_there_is_next_to_none():
    """Eight seconds at 12 kt more."""
    assert greatest_kt(0.3, 0, 12.0) - greatest_kt(0.3, 0) == pytest.approx(12.0, abs=2.5)


@pytest.mark.parametrize("aside_m", [900.0, -900.0])
def test_a_curve_that_hastens_in_a_hole_is_no_airspeed(aside_m):
    """After 25 s without a position the aircraft is farther on, or nearer, than at its speed: what was flown does not show."""
    pattern = Pattern(arrival_deg=40.0, speed_kt=110.0, wind=(70.0, 12.0), roll_deg_s=4.0)
    track = replace(NOISY, altitude_ft=3000.0).of(fly_approach(pattern).flown)
    begin = fly_approach(pattern).begin("outbound") + 20.0
    since = track.time_s - START_S
    later = np.where(since >= begin + 25.0, aside_m, 0.0) / 6_371_000.0
    kept = (since < begin) | (since >= begin + 25.0)
    moved = replace(track, latitude_rad=track.latitude_rad + later)
    names = ("time_s", "latitude_rad", "longitude_rad", "altitude_m")
    result = debrief(replace(moved, **{name: getattr(moved, name)[kept] for name in names}), Chart().at())
    (finding,) = [one for one in result.approaches[0].findings if one.check == "speed_limit"]
    assert finding.measured < 118.0
    assert finding.verdict != "outside"
