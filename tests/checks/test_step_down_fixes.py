"""Fixes of the final course: at or above the minimum of each until it is passed (AIM 5-4-5).

The ±100 ft of a test standard apply to altitudes that are held and do not lower a charted minimum; an altitude below it by less
than its error is too close to call.
"""

from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from checked import NOISY, PLAIN, all_of, one_of
from checked import debriefed as flown_debrief
from descents import LANDING, descended, path, second
from patterns import fly_approach
from synthetic import HERE, START_S, Chart

# miles beyond the reversal fix, 5 NM before the threshold
FAF = {"name": "TARRO", "role": "final-approach-fix", "distance_nm": 0.5, "minimum_ft": 1700}  # 4.5 NM before the threshold
STEP = {"name": "KESTA", "role": "step-down", "distance_nm": 2.0, "minimum_ft": 1300}  # 3.0 NM
POINT = {"name": "MAPAR", "role": "missed-approach-point", "distance_nm": 5.0}
FIXES = [FAF, STEP, POINT]
GOOD = ((15.0, 2500.0), (7.0, 2500.0), (5.0, 1800.0), (4.4, 1800.0), (3.6, 1400.0), (2.9, 1400.0), (2.0, 950.0), *path(3.0))


def of(name: str, heights: Any = GOOD, fixes: Any = FIXES, **given: Any):
    return next(f for f in all_of(descended(heights, fixes=fixes, **given), "step_down") if f.fix == name)


def test_each_fix_with_a_minimum_has_a_finding():
    found = all_of(descended(GOOD, fixes=FIXES), "step_down")
    assert [(finding.fix, finding.verdict) for finding in found] == [("TARRO", "inside"), ("KESTA", "inside")]
    assert [finding.limit for finding in found] == pytest.approx([1700.0, 1300.0])
    assert [finding.measured for finding in found] == pytest.approx([1800.0, 1400.0], abs=6.0)
    # where the minimum ends, at the fix, the next begins: 1,400 ft before TARRO would be 300 ft low
    assert all(finding.margin == pytest.approx(100.0, abs=6.0) for finding in found)


@pytest.mark.parametrize(
    ("by_ft", "verdict"),
    [(-200.0, "outside"), (-60.0, "outside"), (-10.0, "too close to call"), (0.0, "too close to call"), (60.0, "inside")],
)
@pytest.mark.parametrize("standard", ["faa-instrument", "faa-transport", "icao-ops", "common-practice"])
def test_no_standard_lowers_the_minimum_of_a_fix(by_ft, verdict, standard):
    level = 1300.0 + by_ft
    heights = (*GOOD[:4], (3.6, level), (2.9, level), (2.0, 950.0), *path(3.0))
    finding = of("KESTA", heights, standard=standard)
    assert (finding.verdict, finding.tolerance) == (verdict, 0.0)
    assert finding.margin == pytest.approx(by_ft, abs=6.0)


def test_leaving_the_minimum_before_the_fix():
    # 1,400 ft left 3.5 NM before the threshold at 800 ft/min, 400 ft a mile: 1,300 ft is passed at 3.25 NM, the fix at 1,200
    heights = (*GOOD[:4], (3.8, 1400.0), (3.5, 1400.0), (2.375, 950.0), *path(3.0))
    finding = of("KESTA", heights)
    assert finding.verdict == "outside"
    assert finding.measured == pytest.approx(1200.0, abs=15.0)  # a second's flight
    assert finding.details["left_before_nm"] == pytest.approx(0.25, abs=0.05)
    assert finding.place is not None
    assert finding.place.time_s - START_S == pytest.approx(second(3.0), abs=1.5)
    assert finding.leg == "final"
    # begun half a mile later it is inside
    later = (*GOOD[:4], (3.9, 1400.0), (3.0, 1400.0), (1.5, 950.0), *path(3.0))
    assert of("KESTA", later).verdict == "inside"


def test_a_dip_between_two_fixes_counts_whatever_the_altitude_at_the_fix():
    heights = (*GOOD[:4], (3.8, 1150.0), (3.4, 1400.0), (2.9, 1400.0), (2.0, 950.0), *path(3.0))
    finding = of("KESTA", heights)
    assert finding.verdict == "outside"
    assert finding.measured == pytest.approx(1150.0, abs=25.0)


def test_the_minimum_of_a_fix_applies_from_the_previous_fix():
    # below 1,300 ft beyond KESTA, below 1,700 ft beyond TARRO: neither counts
    assert [f.verdict for f in all_of(descended(GOOD, fixes=[STEP]), "step_down")] == ["inside"]
    # without TARRO the minimum of KESTA holds from being established on, long before the reversal fix
    dipped = ((15.0, 2500.0), (9.0, 1150.0), (8.0, 1150.0), (7.0, 1800.0), *GOOD[3:])
    assert of("KESTA", dipped, [STEP]).verdict == "outside"
    assert of("KESTA", dipped, [FAF, STEP]).verdict == "inside"
    assert of("TARRO", dipped, [FAF, STEP]).verdict == "outside"


def test_the_minimum_of_the_final_approach_fix_itself():
    early = ((15.0, 2500.0), (7.0, 2500.0), (5.5, 1800.0), (5.0, 1550.0), (4.0, 1400.0), *GOOD[5:])
    finding = of("TARRO", early)
    assert (finding.verdict, finding.leg) == ("outside", "inbound")
    assert of("KESTA", early).verdict == "inside"


def test_a_fix_not_passed_is_not_assessed_but_outside_stays():
    log = replace(NOISY, end_s=second(3.3))
    finding = of("KESTA", log=log)
    assert finding.verdict == "not assessed"
    assert "not passed" in str(finding.reason)
    low = (*GOOD[:4], (3.8, 1100.0), (3.0, 1100.0))
    assert of("KESTA", low, log=log).verdict == "outside"
    # a fix beyond one that was not passed has no finding
    beyond = {"name": "GERRI", "role": "step-down", "distance_nm": 3.5, "minimum_ft": 1000}
    found = all_of(descended(GOOD, fixes=[FAF, STEP, beyond], log=log), "step_down")
    assert [finding.fix for finding in found] == ["TARRO", "KESTA"]


def test_what_a_gap_may_hide():
    assert of("KESTA", log=replace(NOISY, hole_s=(second(4.0), second(3.3)))).verdict == "not assessed"
    assert of("TARRO", log=replace(NOISY, hole_s=(second(4.0), second(3.3)))).verdict == "inside"


def test_without_altitude_there_is_no_verdict():
    found = all_of(descended(None, fixes=FIXES), "step_down")
    assert [(finding.fix, finding.verdict, finding.measured) for finding in found] == [
        ("TARRO", "not assessed", None),
        ("KESTA", "not assessed", None),
    ]
    assert all("no altitude" in str(finding.reason) for finding in found)


def test_a_missed_approach_point_is_not_a_step_down():
    point = {**POINT, "distance_nm": 4.5, "minimum_ft": 900}
    assert [f.fix for f in all_of(descended(GOOD, fixes=[FAF, STEP, point]), "step_down")] == ["TARRO", "KESTA"]


@pytest.mark.parametrize("step_s", [2.0, 5.0])
def test_sparse_logs(step_s):
    log = replace(NOISY, step_s=step_s)
    assert of("KESTA", log=log).verdict == "inside"
    early = (*GOOD[:4], (3.9, 1400.0), (3.6, 1400.0), (2.0, 950.0), *path(3.0))
    assert of("KESTA", early, log=log).verdict == "outside"


def test_an_undershoot_fails_the_approach():
    heights = (*GOOD[:4], (3.9, 1100.0), (2.9, 1100.0), (2.0, 950.0), *LANDING)
    assert one_of(descended(heights, fixes=[STEP]), "step_down").verdict == "outside"


def test_a_fix_behind_the_aircraft_when_established_is_not_assessed():
    # The reversal comes out 2.6 NM before a facility on the field, inside the final approach fix at 4 NM; 1,600 ft there is
    # below that fix's 2,000 ft and above the step-down's 1,000 ft.
    flown = fly_approach(replace(PLAIN, outbound_s=30.0, leg_s=45.0, intercept=True))
    out = flown.rolled_out_s
    assert float(flown.flown.at(out, flown.flown.y_nm)) < 4.0
    fixes = [{**FAF, "distance_nm": -4.0, "minimum_ft": 2000}, {**STEP, "distance_nm": -2.0, "minimum_ft": 1000}]
    latitude, longitude = HERE.lay(np.array([0.0]), np.array([0.5]))
    where = {"threshold_latitude_deg": float(latitude[0]), "threshold_longitude_deg": float(longitude[0])}
    field = {"name": "24", "threshold_elevation_ft": 300, "true_heading_deg": 242.0, **where}
    heights = [(0.0, 2500.0), (out - 60.0, 2500.0), (out, 1500.0), (out + 60.0, 1100.0), (out + 90.0, 400.0)]
    approach = flown_debrief(flown, replace(NOISY, altitude_ft=heights), Chart(tables={"fixes": fixes, "runway": field}))
    first, second_ = all_of(approach, "step_down")
    assert (first.fix, first.verdict, first.measured) == ("TARRO", "not assessed", None)
    assert "lay behind" in str(first.reason)
    assert (second_.fix, second_.verdict) == ("KESTA", "inside")


@pytest.mark.parametrize("low_ft", [0.0, 200.0])
@pytest.mark.parametrize(("from_nm", "to_nm"), [(3.6, 2.2), (4.7, 2.2)])
def test_a_gap_over_a_fix_hides_where_its_minimum_was_left(from_nm, to_nm, low_ft):
    """Over KESTA, or over TARRO as well: neither what may have been flown low in it nor what was low after it is known."""
    heights = (*GOOD[:4], (3.3, 1400.0 - low_ft), (2.9, 1400.0 - low_ft), (2.0, 950.0), *path(3.0))
    finding = of("KESTA", heights, log=replace(NOISY, hole_s=(second(from_nm), second(to_nm))))
    assert (finding.verdict, finding.reason) == ("not assessed", "the log has a gap in this stretch")


def test_a_gap_over_a_fix_in_which_its_minimum_is_out_of_reach_hides_nothing():
    """Level 700 ft above it for 24 s, in which 300 ft are lost and regained at 1,500 ft/min."""
    high = (*GOOD[:4], (4.0, 2000.0), (2.4, 2000.0), *path(4.5))
    finding = of("KESTA", high, log=replace(NOISY, hole_s=(second(3.4), second(2.6))))
    assert (finding.verdict, finding.measured) == ("inside", pytest.approx(1800.0, abs=6.0))
