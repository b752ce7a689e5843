"""Average bank in the turns of a reversal against what ICAO's areas are designed for: only shallow turns are outside."""

import math
import re
from dataclasses import replace

import pytest
from checked import NOISY, PLAIN, one_of
from patterns import fly_approach
from synthetic import START_S, Chart, Straight, Turn, fly

from analyzer import debrief
from analyzer.checks.finding import GAP, Finding

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


@pytest.mark.parametrize(
    ("speed_kt", "why"), [(140.0, r"for 3°/s at (13[89]|14[012]) kt true"), (210.0, "as the area is designed for")]
)
def test_the_sentence_says_which_of_the_two_asks_for_it(speed_kt, why):
    finding = banked(20.0, speed_kt=speed_kt, outbound_s=60.0)["average_bank", "reversal_turn"]
    shown = rf"Average bank in the reversal turn: {finding.measured:.1f}°; {finding.limit:.1f}° needed {why} \(2° tolerance\)\."
    assert re.fullmatch(shown, finding.sentence)
    assert finding.details["true_airspeed_kt"] == pytest.approx(speed_kt, abs=2.0)


@pytest.mark.parametrize(("bank_deg", "whole", "holed"), [(18.2, "inside", "not assessed"), (12.0, "outside", "outside")])
def test_a_hole_in_the_turn_takes_a_pass_and_leaves_a_fault(bank_deg, whole, holed):
    pattern = replace(PLAIN, bank_deg=bank_deg, back_bank_deg=bank_deg, intercept=True, wind=(130.0, 10.0))
    flown = fly_approach(pattern)
    hole = flown.begin("reversal_turn") + 20.0, flown.begin("reversal_turn") + 28.0
    for log, verdict in ((QUIET, whole), (replace(QUIET, hole_s=hole), holed)):
        (approach,) = debrief(log.of(flown.flown), Chart().at(), "icao-ops").approaches
        finding = one_of(approach, "average_bank", "reversal_turn")
        assert finding.verdict == verdict
        assert ("gap" in str(finding.reason)) == (verdict == "not assessed")


@pytest.mark.parametrize("hole_s", [(-14.0, 26.0), (-5.0, 33.0), (2.0, 40.0)])
def test_the_average_of_a_turn_that_is_mostly_in_a_gap_is_not_known(hole_s):
    """Flown at standard rate: what the curve does over a gap of forty seconds is no fault."""
    flown = fly_approach(replace(PLAIN, bank_deg=18.2, back_bank_deg=18.2, intercept=True, wind=(130.0, 10.0)))
    track = QUIET.of(flown.flown)
    for part in ("offset_turn", "reversal_turn"):
        since = track.time_s - START_S - flown.begin(part)
        kept = (since < hole_s[0]) | (since > hole_s[1])
        names = ("time_s", "latitude_rad", "longitude_rad", "altitude_m")
        holed = replace(track, **{name: getattr(track, name)[kept] for name in names})
        for approach in debrief(holed, Chart().at(), "icao-ops").approaches:
            assert "outside" not in [one.verdict for one in approach.findings if one.check == "average_bank"]
            hidden = {one.part.name for one in approach.figures.parts if one.turn is None and one.turn_seen is not None}
            for name in hidden & {"offset_turn", "reversal_turn"}:
                (finding,) = [one for one in approach.findings if (one.check, one.part) == ("average_bank", name)]
                assert (finding.verdict, finding.measured, finding.reason) == ("not assessed", None, GAP)


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
    assert [finding.unit for finding in found] == ["deg"] * len(found)
    # the pattern's turn of 3° a second at 120 kt
    assert re.fullmatch(r"Average bank in the offset turn: 1[789]°\.", found[0].sentence)


@pytest.mark.parametrize("noise_m", [5.0, 20.0, 50.0])
@pytest.mark.parametrize(("speed_kt", "bank_deg"), [(110.0, 18.0), (140.0, 25.0)])
def test_noise_that_flattens_a_short_turn_is_in_its_error(noise_m, speed_kt, bank_deg):
    """A receiver that scatters by tens of metres calls for smoothing that draws a turn of 45° out: no bank for a verdict."""
    pattern = replace(PLAIN, bank_deg=bank_deg, back_bank_deg=bank_deg, intercept=True, wind=(130.0, 10.0), speed_kt=speed_kt)
    track = replace(NOISY, noise_m=noise_m).of(fly_approach(replace(pattern, outbound_s=60.0)).flown)
    for approach in debrief(track, Chart().at(), "icao-ops").approaches:
        for finding in approach.findings:
            if finding.check == "average_bank" and finding.sd is not None:
                assert finding.verdict != "outside", finding.sentence
                assert finding.measured == pytest.approx(bank_deg, abs=1.0 + 2.5 * finding.sd)


@pytest.mark.parametrize("step_s", [10.0, 12.0, 15.0])
@pytest.mark.parametrize("seed", range(3))
def test_a_turn_that_is_over_before_the_log_shows_it_is_not_said_to_be_shallow(step_s, seed):
    """45° at 23° of bank take ten seconds and the rolls, which positions as far apart spread over twice that."""
    pattern = replace(PLAIN, bank_deg=23.0, back_bank_deg=23.0, intercept=True)
    log = replace(QUIET, step_s=step_s, seed=seed)
    (approach,) = debrief(log.of(fly_approach(pattern).flown), Chart().at(), "icao-ops").approaches
    verdicts = {finding.part: finding.verdict for finding in approach.findings if finding.check == "average_bank"}
    assert verdicts["offset_turn"] != "outside"
    assert verdicts["reversal_turn"] == "inside"


@pytest.mark.parametrize(("bank_deg", "verdict"), [(18.2, "inside"), (12.0, "outside")])
def test_a_turn_back_that_is_tightened_at_its_end_is_judged_by_all_of_it(bank_deg, verdict):
    """Round through 150° at one bank and 45° more at 22°: the average over the steady part of the turn counts."""
    tight = Turn("tight", 45.0, 22.0)
    path = [Straight("arrival", 120.0), Straight("outbound", 100.0), Turn("off", -45.0, 18.2), Straight("leg", 60.0)]
    path += [Turn("back", 150.0, bank_deg), tight, Straight("closing", 40.0), Turn("on", 30.0, 18.2), Straight("home", 120.0)]
    flown = fly(path, (0.0, -4.0), 0.0, 120.0, (130.0, 10.0))
    (approach,) = debrief(QUIET.of(flown), Chart(side="left").at(), "icao-ops").approaches
    finding = one_of(approach, "average_bank", "reversal_turn")
    # the time that a turn takes is inversely as the tangent of its bank
    slow, steep = 150.0 / math.tan(math.radians(bank_deg)), 45.0 / math.tan(math.radians(22.0))
    assert finding.measured == pytest.approx((slow * bank_deg + steep * 22.0) / (slow + steep), abs=0.7)
    assert finding.verdict == verdict
