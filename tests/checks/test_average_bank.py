"""Average bank in the turns of a reversal against what ICAO's areas are designed for: only shallow turns are outside."""

from dataclasses import replace

import pytest
from checked import NOISY, PLAIN
from patterns import fly_approach
from synthetic import Chart

from analyzer import debrief
from analyzer.checks.finding import Finding

QUIET = replace(NOISY, noise_m=0.5)


def banked(bank_deg: float, standard: str = "icao-ops", **how: object) -> dict[tuple[str, str | None], Finding]:
    """The findings of a procedure turn at one bank, by check and part."""
    pattern = replace(PLAIN, bank_deg=bank_deg, back_bank_deg=bank_deg, intercept=True, wind=(130.0, 10.0), **how)
    (approach,) = debrief(QUIET.of(fly_approach(pattern).flown), Chart().at(), standard).approaches
    return {(finding.check, finding.part): finding for finding in approach.findings}


@pytest.mark.parametrize(
    ("speed_kt", "bank_deg", "asked_deg", "verdict"),
    [
        # standard rate is 18.2° at 120 kt, 21.1° at 140 (atan of V × 3°/s over g)
        (120.0, 18.2, 18.2, "inside"),
        (120.0, 12.0, 18.2, "outside"),
        (120.0, 16.2, 18.2, "too close to call"),
        (120.0, 28.0, 18.2, "inside"),  # steeper keeps the area
        (140.0, 21.0, 21.0, "inside"),
        (140.0, 15.0, 21.0, "outside"),
        # from 170 kt on it is 25° (ICAO Doc 8168 Vol II I-4-3-7 f): standard rate would take 30° at 210 kt
        (210.0, 25.0, 25.0, "inside"),
        (210.0, 20.0, 25.0, "outside"),
    ],
)
@pytest.mark.parametrize("part", ["offset_turn", "reversal_turn"])
def test_the_lesser_of_25_degrees_and_3_degrees_a_second_on_average(speed_kt, bank_deg, asked_deg, verdict, part):
    finding = banked(bank_deg, speed_kt=speed_kt, outbound_s=60.0)["average_bank", part]
    assert finding.measured == pytest.approx(bank_deg, abs=2.2 if part == "offset_turn" else 0.7)  # 45° hold the rolls as well
    assert finding.limit == pytest.approx(asked_deg, abs=0.3)
    assert (finding.verdict, finding.tolerance, finding.unit) == (verdict, 2.0, "deg")


def test_a_peak_of_28_degrees_is_inside_what_both_allow():
    # 30° is the maximum bank (FAA-H-8083-15B chapter 7); 25° is the design average, which may be exceeded
    found = banked(28.0, speed_kt=140.0)
    assert found["average_bank", "reversal_turn"].verdict == "inside"
    assert found["turn_bank", "reversal_turn"].verdict in ("inside", "too close to call")


def test_turns_onto_a_course_need_no_average_bank():
    found = banked(18.2, speed_kt=120.0, arrival_deg=40.0)
    assert {part for check, part in found if check == "average_bank"} == {"offset_turn", "reversal_turn"}


@pytest.mark.parametrize("standard", ["faa-instrument", "faa-transport", "part-fcl", "common-practice"])
def test_other_standards_have_no_average_bank(standard):
    # AIM 5-4-9 a.1: the rate of turn is the pilot's choice
    assert not any(check == "average_bank" for check, _ in banked(10.0, standard))


def test_no_wind_no_airspeed_and_no_verdict():
    approach = fly_approach(PLAIN)
    log = replace(QUIET, end_s=approach.begin("reversal_turn") + 20.0)
    (result,) = debrief(log.of(approach.flown), Chart().at(), "icao-ops").approaches
    assert result.figures.wind is None
    found = [finding for finding in result.findings if finding.check == "average_bank"]
    assert {finding.verdict for finding in found} == {"not assessed"}
    assert all("wind" in str(finding.reason) for finding in found)
