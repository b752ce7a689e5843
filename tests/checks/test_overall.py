"""The result of an approach as a function of its findings: the worst verdict, and never inside on incomplete data."""

from dataclasses import replace

import pytest
from checked import NOISY, PLAIN, all_of, debriefed, of_pattern, one_of
from descents import MDA, TO_MDA, descended, path
from hypothesis import given
from hypothesis import strategies as st
from patterns import fly_approach
from synthetic import Chart, Straight, fly

from analyzer.checks.finding import Finding
from analyzer.checks.overall import grouped, informs, overall
from analyzer.legs.reversal import Part, Passage, Reversal

INBOUND = Passage(700.0, 20.0, "inbound")
COMPLETE = Reversal("45/180", 9.0, 1, -1, (INBOUND,), (), 600.0)
CUT_SHORT = Reversal("45/180", 9.0, 1, -1, (), (), None)
INSIDE, OUTSIDE, CLOSE, NONE = "inside", "outside", "too close to call", "not assessed"
NAMES = ("distance_limit", "altitude_floor", "inbound_course", "turn_bank")


INFORMS = "left to the pilot; for information only"


def finding(verdict: str, check: str = "turn_bank", reason: str = "why", **values: object) -> Finding:
    return Finding(check, "reversal", None, "A sentence.", verdict, reason=reason if verdict == NONE else None, **values)


# down to 450 ft above the runway 5 NM before it; to the minimum, and from it 1.3 NM before the threshold on a path of 3°
LEFT_EARLY = [
    (((15.0, 1700.0), (7.0, 1700.0), (4.9, 950.0), *path(1.2)), "deg", MDA),
    ((*TO_MDA, *path(3.0)), "NM", {**MDA, "visual_descent_point_nm": 0.7}),
]
SKIPPED = finding(NONE, "no_reversal", measured="none", limit="procedure-turn")
made = st.builds(
    finding, st.sampled_from([INSIDE, OUTSIDE, CLOSE, NONE]), st.sampled_from(NAMES), st.sampled_from(["why", INFORMS])
)


def verdict_of(*verdicts: str, reversal: Reversal = COMPLETE) -> str:
    return overall([finding(verdict) for verdict in verdicts], reversal)[0]


@pytest.mark.parametrize(
    ("verdicts", "result"),
    [
        ((INSIDE,), INSIDE),
        ((INSIDE, INSIDE, NONE), INSIDE),
        ((INSIDE, CLOSE), CLOSE),
        ((CLOSE, NONE), CLOSE),
        ((INSIDE, CLOSE, OUTSIDE), OUTSIDE),
        ((OUTSIDE, NONE), OUTSIDE),
        ((NONE, NONE), NONE),
        ((), NONE),
    ],
)
def test_the_worst_verdict_decides(verdicts, result):
    assert verdict_of(*verdicts) == result


@given(st.lists(made, max_size=8), st.randoms(use_true_random=False), st.sampled_from([COMPLETE, CUT_SHORT]))
def test_the_order_of_the_findings_does_not_matter(findings, shuffle, reversal):
    mixed = list(findings)
    shuffle.shuffle(mixed)
    assert overall(mixed, reversal)[0] == overall(findings, reversal)[0]


@given(st.lists(made, max_size=8), st.sampled_from([COMPLETE, CUT_SHORT]))
def test_a_finding_outside_decides_and_one_not_assessed_changes_nothing(findings, reversal):
    assert overall([*findings, finding(OUTSIDE)], reversal)[0] == OUTSIDE
    assert overall([*findings, finding(NONE, "offset_time", measured=40.0)], reversal) == overall(findings, reversal)


def test_the_words_name_each_check_once():
    findings = [
        finding(OUTSIDE, "turn_bank"),
        finding(OUTSIDE, "turn_bank"),
        finding(OUTSIDE, "altitude_floor"),
        finding(CLOSE),
    ]
    verdict, words = overall([*findings, finding(INSIDE), finding(NONE)], COMPLETE)
    assert verdict == OUTSIDE
    assert words.startswith("3 of 5 ")
    assert (words.count("turn bank"), words.count("altitude floor")) == (1, 1)


def test_an_incomplete_approach_is_not_assessed():
    assert verdict_of(INSIDE, INSIDE, reversal=CUT_SHORT) == NONE
    assert verdict_of(INSIDE, CLOSE, reversal=CUT_SHORT) == CLOSE
    assert verdict_of(INSIDE, OUTSIDE, reversal=CUT_SHORT) == OUTSIDE
    for findings, count in (
        ([finding(INSIDE)], "the only finding on what was flown is"),
        ([finding(INSIDE)] * 2, "all 2 findings on what was flown are"),
    ):
        verdict, words = overall([*findings, finding(NONE)], CUT_SHORT)
        assert verdict == NONE
        assert words == f"the approach is not complete; {count} inside"


def test_an_approach_without_the_charted_reversal_is_not_assessed():
    assert overall([finding(INSIDE), finding(INSIDE), SKIPPED], COMPLETE)[0] == NONE
    assert "not flown" in overall([finding(INSIDE), finding(INSIDE), SKIPPED], COMPLETE)[1]
    assert overall([finding(INSIDE), finding(OUTSIDE), SKIPPED], COMPLETE)[0] == OUTSIDE


def test_a_reversal_flown_where_none_is_charted_is_outside():
    flown = finding(OUTSIDE, "no_reversal", measured="45/180", limit="none")
    assert overall([finding(INSIDE), flown], COMPLETE)[0] == OUTSIDE


def test_findings_for_information():
    assert informs(finding(NONE, "offset_time", INFORMS, measured=41.0, limit=40.0))
    assert not informs(finding(NONE, "offset_time"))
    assert not informs(finding(NONE, "station_passage", "the log has no altitude there", measured=0.1))  # what is missing
    assert not informs(finding(NONE, "turn_bank", "the log has a gap in this stretch", measured=12.0, margin=18.0))
    assert not informs(SKIPPED)
    assert not informs(finding(INSIDE, measured=12.0))


def test_the_worst_findings_come_first():
    informing = finding(NONE, "offset_time", INFORMS, measured=41.0)
    groups = grouped([finding(NONE), finding(INSIDE), informing, finding(CLOSE), finding(OUTSIDE)])
    assert [[f.verdict for f in group] for _, group in groups] == [[OUTSIDE], [CLOSE], [INSIDE], [NONE], [NONE]]
    assert groups[3][1] == (informing,)
    assert len({heading for heading, _ in groups}) == 5


@given(st.lists(made, max_size=10))
def test_grouping_keeps_all_findings_in_order(findings):
    groups = grouped(findings)
    assert all(group for _, group in groups)
    grouped_findings = [f for _, group in groups for f in group]
    assert sorted(map(id, grouped_findings)) == sorted(map(id, findings))
    for _, group in groups:
        assert [id(f) for f in group] == [id(f) for f in findings if any(f is g for g in group)]


def test_findings_without_data_are_not_for_information():
    lacking = of_pattern(log=replace(NOISY, altitude_ft=None), chart=Chart(floors_ft={"outbound": 2000.0}))
    groups = {heading: {finding.check for finding in group} for heading, group in grouped(lacking.findings)}
    # the pilot's choice, AIM 5-4-9 a.1, or a tolerance of chart design
    assert groups["For information"] == {
        "outbound_length", "offset_heading", "offset_time", "turn_rate", "station_passage",
    }  # fmt: skip
    assert {"altitude_floor", "speed_limit"} <= groups["Not assessed"]


def test_flown_well_and_flown_straight_in():
    plain = of_pattern()
    assert overall(plain.findings, plain.reversal)[0] == INSIDE
    straight = debriefed(fly([Straight("in", 400.0)], (0.0, 10.0), 180.0))
    assert all_of(straight, "no_reversal")
    assert overall(straight.findings, straight.reversal)[0] == NONE


def test_an_unexplained_descent_below_the_minimum_is_not_assessed():
    below = finding(NONE, "minimum_altitude", unexplained=True)
    verdict, words = overall([finding(INSIDE), finding(INSIDE), below], COMPLETE)
    assert verdict == NONE
    assert "below the minimum and nothing in the log explains it" in words
    assert "all 2 findings that could be judged are inside" in words
    assert verdict_of(INSIDE) == INSIDE  # what it would be without
    # what is outside takes precedence, and what is too close to call is no excuse for it: like missing data, it goes before
    assert overall([finding(OUTSIDE), below], COMPLETE)[0] == OUTSIDE
    verdict, words = overall([finding(CLOSE, "step_down"), finding(INSIDE), below], COMPLETE)
    assert (verdict, "below the minimum" in words) == (NONE, True)
    assert "1 of the 2 findings that could be judged too close to call (step down), the rest inside" in words
    assert overall([below], COMPLETE) == (NONE, "the aircraft was below the minimum and nothing in the log explains it")


GAP, NO_HEIGHT = "the log has a gap in this stretch", "the log has no altitude"


@pytest.mark.parametrize(
    ("check", "reason", "values", "result"),
    [
        ("turn_bank", GAP, {"limit": 30.0}, NONE),
        ("distance_limit", GAP, {"limit": 10.0}, NONE),
        ("altitude_floor", NO_HEIGHT, {"limit": 2600.0}, NONE),
        ("step_down", "altitude is missing from part of it", {"limit": 1300.0}, NONE),
        ("speed_limit", GAP, {"limit": 180.0, "source": "charted"}, NONE),
        # a table by altitude is not a limit of this chart
        ("speed_limit", GAP, {"limit": 200.0, "source": "AIM 5-3-8 j.2"}, INSIDE),
        # nothing is charted
        ("distance_limit", GAP, {}, INSIDE),
        # without a charted limit, for information, following from another, and not assessed for reasons other than data
        ("inbound_course", GAP, {"limit": 10.0}, INSIDE),
        ("turn_bank", INFORMS, {"limit": 30.0}, INSIDE),
        ("altitude_floor", "it follows from step down (final) and is counted there", {"limit": 2600.0}, INSIDE),
        ("minimum_altitude", "with the runway in sight the aircraft may descend below it", {"limit": 640.0}, INSIDE),
    ],
)
def test_a_charted_limit_without_data_makes_the_result_not_assessed(check, reason, values, result):
    lacking = finding(NONE, check, reason, **values)
    verdict, words = overall([finding(INSIDE), finding(INSIDE), lacking], COMPLETE)
    assert verdict == result
    if result == NONE:
        assert reason in words
        assert words.endswith("all 2 findings that could be judged are inside")
        assert overall([finding(INSIDE), finding(CLOSE), lacking], COMPLETE)[0] == NONE
        assert "too close to call" in overall([finding(INSIDE), finding(CLOSE), lacking], COMPLETE)[1]
    # what is outside stays outside
    assert overall([finding(OUTSIDE), lacking], COMPLETE)[0] == OUTSIDE


def test_a_log_without_altitude_is_not_assessed_where_minimums_are_charted():
    chart = Chart(floors_ft={"outbound": 2000.0})
    lacking = of_pattern(log=replace(NOISY, altitude_ft=None), chart=chart)
    verdict, words = overall(lacking.findings, lacking.reversal)
    assert verdict == NONE
    assert "altitude floor (outbound): the log has no altitude" in words
    whole = of_pattern(log=NOISY, chart=chart)
    assert overall(whole.findings, whole.reversal)[0] == INSIDE


def test_deleting_the_violation_from_the_log_does_not_make_it_inside():
    # 40 m beyond the limit; without the minute around the farthest point the log shows less
    far = fly_approach(replace(PLAIN, arrival_deg=-60.0, wind=(40.0, 12.0), intercept=True))
    chart = Chart(within_nm=float(all_of(debriefed(far, NOISY), "distance_limit")[0].measured) - 0.02)
    turn = far.begin("reversal_turn")
    verdicts = {}
    for name, hole in (("whole", None), ("cut", (turn - 10.0, turn + 50.0))):
        result = debriefed(far, replace(NOISY, hole_s=hole), chart)
        verdicts[name] = overall(result.findings, result.reversal)[0], all_of(result, "distance_limit")[0].verdict
    assert verdicts == {"whole": (OUTSIDE, OUTSIDE), "cut": (NONE, NONE)}


def test_inside_names_what_was_closest_to_its_limit():
    bank = finding(INSIDE, "turn_bank", margin=6.0, limit=30.0, unit="deg")
    course = finding(INSIDE, "inbound_course", margin=1.0, limit=7.5, unit="deg")
    floor = finding(INSIDE, "altitude_floor", margin=60.0, limit=2600.0, unit="ft")
    # a fifth of 30°, an eighth of 7.5°, and six tenths of the 100 ft that an altitude may vary by above a minimum
    assert overall([bank, course, floor], COMPLETE)[1].endswith("closest to its limit: inbound course (reversal), by 1.0°")
    assert "turn bank" in overall([bank, floor], COMPLETE)[1]
    assert "altitude floor (reversal), by 60 ft" in overall([floor], COMPLETE)[1]
    lower = finding(INSIDE, "step_down", margin=10.0, limit=1300.0, unit="ft", fix="KESTA")
    assert "step down (KESTA), by 10 ft" in overall([bank, course, floor, lower], COMPLETE)[1]
    assert "closest" not in overall([finding(INSIDE)], COMPLETE)[1]  # a word, without a margin


LEG_BY_LENGTH = {"check": "hold_timing", "unit": "NM", "limit": 4.0, "margin": 0.2}
ONE, TWO = [finding(INSIDE)], [finding(INSIDE)] * 2
UNEXPLAINED = finding(NONE, "minimum_altitude", unexplained=True)
TURNS = [replace(finding(NONE, "turn_bank", GAP, limit=30.0), part=part) for part in ("offset_turn", "reversal_turn")]
NO_FLOOR = finding(NONE, "altitude_floor", NO_HEIGHT, limit=2600.0)
NOT_ALL = "not everything charted could be assessed"
ALL_TWO = "all 2 findings that could be judged"
NO_BANK = f"{NOT_ALL}: turn bank (offset turn): {GAP}"
HOLDING = replace(CUT_SHORT, parts=(Part("arrival", 0.0, 60.0), Part("outbound", 60.0, 120.0, of_leg="hold", lap=1)))


@pytest.mark.parametrize(
    ("findings", "reversal", "words"),
    [
        ([finding(OUTSIDE), *TWO, finding(OUTSIDE, "altitude_floor")], COMPLETE, "2 of 4 findings: turn bank, altitude floor"),
        ([finding(OUTSIDE, **LEG_BY_LENGTH)], COMPLETE, "1 of 1 findings: hold leg"),
        (
            [finding(CLOSE), *ONE, finding(CLOSE, **LEG_BY_LENGTH)],
            COMPLETE,
            "2 of 3 findings: turn bank, hold leg; the rest inside",
        ),
        (ONE, COMPLETE, "the one finding that could be judged"),
        (TWO, COMPLETE, ALL_TWO),
        (
            [*ONE, finding(INSIDE, **LEG_BY_LENGTH)],
            COMPLETE,
            f"{ALL_TWO}; closest to its limit: hold leg (reversal), by 0.20 NM",
        ),
        ([finding(NONE)], COMPLETE, "nothing could be judged"),
        ([*ONE, SKIPPED], COMPLETE, "the charted reversal was not flown; nothing else to fault"),
        ([*TWO, SKIPPED], COMPLETE, "the charted reversal was not flown; all 2 other findings inside"),
        (TWO, HOLDING, "the hold is not complete; all 2 findings on what was flown are inside"),
        (ONE, CUT_SHORT, "the approach is not complete; the only finding on what was flown is inside"),
        (
            [*ONE, *TURNS],
            COMPLETE,
            f"{NOT_ALL}: turn bank (offset turn, reversal turn): {GAP}; the one that could be judged is inside",
        ),
        (
            [*TWO, TURNS[0], NO_FLOOR, replace(NO_FLOOR, check="step_down", fix="KESTA")],
            COMPLETE,
            f"{NO_BANK}; altitude floor (reversal), step down (KESTA): {NO_HEIGHT}; {ALL_TWO} are inside",
        ),
        (
            [*TWO, finding(CLOSE), TURNS[0]],
            COMPLETE,
            f"{NO_BANK}; 1 of the 3 findings that could be judged too close to call (turn bank), the rest inside",
        ),
    ],
)
def test_what_is_said_of_an_approach(findings, reversal, words):
    assert overall(findings, reversal)[1] == words


def test_a_mile_and_ten_degrees_are_room_enough_whatever_the_limit():
    # common practice, no source; as shares of their limits it would be the other of the two that is closest, each time
    distance = finding(INSIDE, "distance_limit", margin=0.6, limit=10.0, unit="NM")
    assert "turn bank (reversal)" in overall([distance, finding(INSIDE, margin=5.0, limit=30.0, unit="deg")], COMPLETE)[1]
    assert "distance limit (reversal)" in overall([distance, finding(INSIDE, margin=7.0, limit=60.0, unit="deg")], COMPLETE)[1]
    # a limit of nothing leaves no room to take a share of
    nothing = finding(INSIDE, "descent_timing", margin=3.0, limit=0.0, unit="s")
    assert "closest" not in overall([nothing], COMPLETE)[1]
    small = finding(INSIDE, "intercept", margin=0.1, limit=0.5, unit="NM")
    assert "intercept (reversal), by 0.10 NM" in overall([small, distance], COMPLETE)[1]


def test_the_worst_stands_first_in_its_group():
    """By how much of an ample margin is missing: 400 ft below a minimum is more than a tenth of a mile beyond a limit."""
    beyond = finding(OUTSIDE, "distance_limit", measured=10.1, limit=10.0, unit="NM", margin=-0.1)
    low = finding(OUTSIDE, "altitude_floor", measured=2200.0, limit=2600.0, unit="ft", margin=-400.0)
    wrong_way = finding(OUTSIDE, "reversal_side", measured="right", limit="left")
    ((heading, group),) = grouped([beyond, low, wrong_way])
    assert (heading, group) == ("Outside", (wrong_way, low, beyond))


def test_a_reversal_that_was_not_flown_is_said_before_what_is_too_close():
    result, why = overall([finding(CLOSE, "altitude_floor"), SKIPPED], COMPLETE)
    assert result == CLOSE
    assert why.startswith("the charted reversal was not flown; 1 of 1 findings")


@pytest.mark.parametrize(("heights", "unit", "minimum"), LEFT_EARLY)
def test_a_minimum_left_too_early_is_ranked_among_the_others_whatever_its_unit(heights, unit, minimum):
    # 14 CFR 91.175(c)(1) and AIM 5-4-5 h: off by an angle or a distance, not by feet
    early = one_of(descended(heights, minimum=minimum), "minimum_altitude")
    assert (early.verdict, early.unit) == (OUTSIDE, unit)
    slightly = replace(early, check="turn_bank", unit="deg", limit=30.0, measured=30.5, margin=-0.5)
    assert [one.check for one in grouped([slightly, early])[0][1]] == ["minimum_altitude", "turn_bank"]
