"""Whether the inbound course was joined before the fix; if never, and the log covers the fix, it is outside.

Doc 8168: within half of full scale; AIM 5-4-9 a.5 and the Pilot/Controller Glossary, Procedure Turn Inbound: the reversal is
complete when the aircraft is established inbound.
"""

from dataclasses import replace

import pytest
from checked import NOISY, PLAIN, all_of, debriefed, of_pattern, one_of
from patterns import fly_approach
from synthetic import START_S, Chart, Log, Straight, fly

from analyzer import debrief
from analyzer.checks.overall import overall

FAST = replace(PLAIN, speed_kt=190.0)
PARALLEL = replace(PLAIN, leg_s=80.0)  # rolled out parallel to the course, 1 NM from it
BEYOND = replace(FAST, leg_s=0.5)  # 1.2 NM on the other side of it, parallel as well


def beside_nm(pattern) -> float:
    return float(fly_approach(pattern).flown.x_nm[-1])


@pytest.mark.parametrize("pattern", [PARALLEL, BEYOND])
@pytest.mark.parametrize("standard_of_log", [NOISY, replace(NOISY, step_s=5.0), replace(NOISY, noise_m=5.0)])
def test_never_established_is_outside(pattern, standard_of_log):
    approach = of_pattern(pattern, standard_of_log)
    assert approach.reversal.established_s is None
    finding = one_of(approach, "established")
    assert (finding.verdict, finding.leg) == ("outside", "inbound")
    assert overall(approach.findings, approach.reversal)[0] == "outside"
    assert "Never established" in finding.sentence
    assert finding.measured == pytest.approx(abs(beside_nm(pattern)), abs=0.1)


@pytest.mark.parametrize("leg_s", [110.0, 150.0])
def test_passing_two_or_three_miles_abeam_the_fix_is_outside_if_the_log_continues(leg_s):
    pattern = replace(PLAIN, leg_s=leg_s)
    approach = of_pattern(pattern, chart=Chart(within_nm=15.0))
    finding = one_of(approach, "established")
    assert finding.verdict == "outside"
    abeam = float(finding.sentence.split(" NM abeam")[0].split()[-1])
    assert abeam == pytest.approx(beside_nm(pattern), abs=0.02)
    # the same log, ending half a mile before abeam the fix, is not assessed
    ends = replace(NOISY, end_s=fly_approach(pattern).inbound_passage_s - 15.0)
    assert one_of(debriefed(fly_approach(pattern), ends, Chart(within_nm=15.0)), "established").verdict == "not assessed"


def test_the_sentence_gives_the_fix_and_the_distance_abeam():
    finding = one_of(of_pattern(PARALLEL), "established")
    assert f"{beside_nm(PARALLEL):.1f}" in finding.sentence or f"{beside_nm(PARALLEL):.2f}" in finding.sentence


def test_the_overshoot_is_measured_but_not_counted_again():
    approach = of_pattern(BEYOND)
    crossed = -beside_nm(BEYOND)
    assert crossed > 1.1
    finding = one_of(approach, "intercept")
    assert finding.measured == pytest.approx(crossed, abs=0.02)  # beyond the 1 NM that is allowed
    assert finding.margin < 0.0
    assert finding.verdict == "not assessed"
    assert "follows from established" in str(finding.reason)
    assert "never established" in finding.sentence
    assert len([f for f in approach.findings if f.verdict == "outside" and f.check in ("established", "intercept")]) == 1
    # with a return to the course the aircraft is established, and the overshoot counts
    recovered = of_pattern(replace(BEYOND, intercept=True, outbound_s=200.0))
    assert one_of(recovered, "established").verdict == "inside"
    assert one_of(recovered, "intercept").verdict == "outside"


def test_the_inbound_course_is_not_judged_if_it_was_never_joined():
    assert [f.verdict for f in all_of(of_pattern(PARALLEL), "inbound_course")] in ([], ["not assessed"])


@pytest.mark.parametrize("after_s", [-20.0, 10.0, 40.0])
def test_a_log_that_ends_before_the_fix_is_not_assessed(after_s):
    approach = fly_approach(PARALLEL)
    result = debriefed(approach, replace(NOISY, end_s=approach.rolled_out_s + after_s))
    finding = one_of(result, "established")
    assert (finding.verdict, finding.measured) == ("not assessed", None)
    assert "log ends" in str(finding.reason)
    assert overall(result.findings, result.reversal)[0] != "inside"


@pytest.mark.parametrize("before_s", [5.0, 12.0, 25.0])
def test_a_log_that_ends_close_to_the_fix_has_not_passed_it(before_s):
    """Beside the course, within a mile of the fix: it may yet be joined, as far as the log shows."""
    pattern = replace(PLAIN, leg_s=66.0)
    assert 0.3 < beside_nm(pattern) < 0.8
    approach = fly_approach(pattern)
    result = debriefed(approach, replace(NOISY, end_s=approach.inbound_passage_s - before_s))
    assert one_of(result, "established").verdict == "not assessed"
    assert [passage.direction for passage in result.reversal.passages] == ["outbound"]
    assert one_of(debriefed(approach, NOISY), "established").verdict == "outside"


def test_a_gap_before_the_fix_is_not_assessed():
    approach = fly_approach(PARALLEL)
    log = replace(NOISY, hole_s=(approach.rolled_out_s + 30.0, approach.rolled_out_s + 60.0))
    finding = one_of(debriefed(approach, log), "established")
    assert (finding.verdict, finding.unit) == ("not assessed", "NM")
    assert "gap" in str(finding.reason)


@pytest.mark.parametrize("leg_s", [36.0, 45.0, 52.0])
def test_established_with_its_distance_from_the_fix(leg_s):
    flown = fly_approach(replace(PLAIN, leg_s=leg_s, intercept=True))
    approach = debriefed(flown)
    settled = approach.reversal.established_s
    assert settled is not None
    finding = one_of(approach, "established")
    assert finding.verdict == "inside"
    there = float(flown.flown.at(settled - START_S, flown.flown.distance_nm))
    assert finding.measured == pytest.approx(there, abs=0.02)


@pytest.mark.parametrize("side", [1, -1])
def test_left_and_right(side):
    chart = Chart(side="right" if side > 0 else "left")
    assert one_of(of_pattern(replace(PARALLEL, side=side), chart=chart), "established").verdict == "outside"
    assert one_of(of_pattern(replace(PLAIN, side=side), chart=chart), "established").verdict == "inside"


def test_a_straight_in_that_was_established_is_inside():
    (finding,) = all_of(debriefed(fly([Straight("in", 400.0)], (0.0, 10.0), 180.0), Log(noise_m=1.0)), "established")
    assert finding.verdict == "inside"


def test_one_who_joins_the_course_past_the_final_approach_fix_reads_so():
    pattern = replace(BEYOND, intercept=True, outbound_s=200.0)
    joined_nm = one_of(of_pattern(pattern), "established").measured
    faf = {"name": "TARRO", "role": "final-approach-fix", "distance_nm": -(joined_nm + 1.0)}
    finding = one_of(of_pattern(pattern, chart=Chart(tables={"fixes": [faf]})), "established")
    flown = fly_approach(pattern).flown
    back = flown.time_s > flown.begins["intercept"]
    passed_s = float(flown.time_s[back][flown.y_nm[back] <= joined_nm + 1.0][0])
    late_s = finding.place.time_s - START_S - passed_s
    words = finding.sentence.split(" s after passing TARRO beside the course")
    assert len(words) == 2
    assert float(words[0].split()[-1]) == pytest.approx(late_s, abs=1.5)


def test_a_log_that_begins_on_the_course_shows_the_least_distance_only():
    flown = fly_approach(PLAIN).flown
    track = NOISY.of(flown)
    kept = track.time_s - START_S > flown.begins["inbound"] + 40.0
    arrays = {name: getattr(track, name)[kept] for name in ("time_s", "latitude_rad", "longitude_rad", "altitude_m")}
    (approach,) = debrief(replace(track, **arrays), Chart().at()).approaches
    finding = one_of(approach, "established")
    assert "at least" in finding.sentence
    assert "where the log begins" in finding.sentence
