"""Marks that fall with the margin: sums worked by hand, rubrics based on another, and the example of the README."""

import re
from dataclasses import replace
from pathlib import Path

import pytest
from true_flights import SAMPLES

import analyzer
from analyzer.checks.finding import CLOSE, INSIDE, NOT_ASSESSED, OUTSIDE, Finding
from analyzer.gradebook.mark import mark, marked, results_by_check
from analyzer.gradebook.rubric import Rubric, built_in_rubrics, read_rubric
from analyzer.report.words.rubric_text import rubric_text, rubric_toml

RUBRIC = Rubric(
    "by hand",
    "by hand",
    {"distance_limit": 20.0, "turn_bank": 6.0, "altitude_floor": 10.0, "outbound_course": 4.0},
    ("distance_limit",),
    0.6,
    {
        "distance_limit": {"NM": 1.0},
        "turn_bank": {"deg": 10.0},
        "altitude_floor": {"ft": 100.0},
        "outbound_course": {"of_limit": 0.5},
    },
)


def outside(check: str, margin: float | None, unit: str, limit: float | None = None) -> Finding:
    return Finding(check, "leg", None, "said", OUTSIDE, measured=0.0, limit=limit, unit=unit, margin=margin)


def earned(finding: Finding, rubric: Rubric = RUBRIC) -> float:
    return results_by_check([finding], rubric)[finding.check].earned


@pytest.mark.parametrize(
    ("finding", "points"),
    [
        (outside("distance_limit", -0.05, "NM"), 19.0),  # 0.05 of 1 NM is lost: 20 x 0.95
        (outside("distance_limit", -0.5, "NM"), 10.0),
        (outside("distance_limit", -1.0, "NM"), 0.0),
        (outside("distance_limit", -5.0, "NM"), 0.0),
        (outside("altitude_floor", -25.0, "ft"), 7.5),
        (outside("altitude_floor", -15.24, "m"), 5.0),  # 50 ft
        (outside("outbound_course", -1.25, "deg", limit=5.0), 2.0),  # half of 2.5 degrees
        (outside("turn_bank", None, "deg"), 0.0),  # no margin, so nothing to go by
        (outside("turn_bank", float("nan"), "deg"), 0.0),
        (outside("turn_bank", -1.0, "kt"), 0.0),  # the rubric does not say how much in this unit
    ],
)
def test_a_finding_outside_earns_less_the_farther_it_is(finding, points):
    assert earned(finding) == pytest.approx(points)


def test_a_value_at_its_limit_loses_nothing_and_never_earns_more_farther_out():
    shares = [earned(outside("turn_bank", -k / 10.0, "deg")) for k in range(200)]
    assert shares[0] == 6.0
    assert shares == sorted(shares, reverse=True)
    assert shares[-1] == 0.0


def test_findings_of_a_check_share_its_weight():
    """Three turns: one inside, one 4 degrees too steep, one 12: 6 x (1 + 0.6 + 0) / 3 = 3.2."""
    bank = [
        Finding("turn_bank", "leg", None, "said", INSIDE, measured=0.0, unit="deg", margin=2.0),
        outside("turn_bank", -4.0, "deg"),
        outside("turn_bank", -12.0, "deg"),
        Finding("turn_bank", "leg", None, "said", CLOSE, measured=0.0, unit="deg", margin=0.0),
    ]
    (result,) = results_by_check(bank, RUBRIC).values()
    assert (result.inside, result.outside, result.far) == (1, 2, 1)
    assert result.earned == pytest.approx(3.2)


def test_it_fails_outright_only_where_nothing_is_left():
    for margin, percent, failed in ((-0.25, 75.0, ()), (-1.5, 0.0, ("distance_limit",))):
        results = results_by_check([outside("distance_limit", margin, "NM")], RUBRIC)
        made = mark(results, RUBRIC, OUTSIDE, "why")
        assert (made.percent, made.failed_outright) == (percent, failed)


@pytest.mark.parametrize(
    ("margin", "sd", "percent", "failed", "perhaps"),
    [
        (-1.5, 0.2, 0.0, ("distance_limit",), False),  # 1.1 NM outside at least, of the 1 NM by which all is lost
        (-1.5, 0.3, 100.0 * 6.0 / 26.0, (), True),  # 0.9 to 2.1 NM outside
        (-0.9, 0.3, 100.0 * 8.0 / 26.0, (), False),  # a tenth of the 20 points is left, by what was measured
        (-1.5, None, 0.0, ("distance_limit",), False),  # measured without an error
    ],
)
def test_what_the_error_leaves_open_fails_nobody_outright_and_is_said(margin, sd, percent, failed, perhaps):
    """A recorder that errs by 40 ft must not make 0 % of a flight 20 ft too low which it measures as 100 ft too low."""
    steady = Finding("turn_bank", "leg", None, "said", INSIDE, measured=0.0, unit="deg", margin=2.0)
    results = results_by_check([replace(outside("distance_limit", margin, "NM"), sd=sd), steady], RUBRIC)
    made = mark(results, RUBRIC, OUTSIDE, "why")
    assert (made.percent, made.failed_outright) == (pytest.approx(percent), failed)
    open_words = "may fail outright, which the error of the log leaves open: distance limit"
    assert (made.note == open_words) == perhaps


def test_what_was_not_flown_to_its_end_is_incomplete_and_has_no_mark():
    results = results_by_check([outside("turn_bank", -1.0, "deg")], RUBRIC)
    made = mark(results, RUBRIC, OUTSIDE, "why", "the approach is not complete")
    assert (made.percent, made.note) == (None, "incomplete: the approach is not complete")
    assert made.incomplete == "the approach is not complete"
    why = "the approach is not complete; all 3 findings on what was flown are inside"
    made = mark(results, RUBRIC, NOT_ASSESSED, why, "the approach is not complete")
    assert (made.percent, made.note) == (None, f"incomplete: {why}")


def test_a_reversal_that_was_not_recognised_is_not_called_incomplete():
    """It was flown to its end, and a log that does not show how earns no mark, whatever else is inside or outside."""
    results = results_by_check([outside("turn_bank", -1.0, "deg")], RUBRIC)
    unseen = "no reversal was recognised though one seems to have been flown"
    for result, why in ((OUTSIDE, "why"), (NOT_ASSESSED, f"{unseen}; all 3 findings that could be judged are inside")):
        made = mark(results, RUBRIC, result, why, unseen)
        assert (made.percent, made.incomplete) == (None, None)
        assert str(made.note).startswith(f"no mark: {unseen}")
    skipped = mark(results, RUBRIC, NOT_ASSESSED, "the charted reversal was not flown", "the charted reversal was not flown")
    assert skipped.incomplete == "the charted reversal was not flown"


def test_a_reason_that_weighs_more_is_not_called_incomplete():
    made = mark({}, RUBRIC, NOT_ASSESSED, "the altitudes are in doubt", "the approach is not complete")
    assert (made.note, made.incomplete) == ("no mark: the altitudes are in doubt", None)


def test_what_fails_outright_fails_though_it_is_incomplete():
    results = results_by_check([outside("distance_limit", -3.0, "NM")], RUBRIC)
    assert mark(results, RUBRIC, OUTSIDE, "why", "the approach is not complete").percent == 0.0


def test_a_hundred_percent_is_nothing_less():
    findings = [
        outside("turn_bank", -0.001, "deg"),
        Finding("distance_limit", "leg", None, "said", INSIDE, measured=0.0, unit="NM", margin=2.0),
    ]
    assert mark(results_by_check(findings, RUBRIC), RUBRIC, OUTSIDE, "why").percent == 99.9


@pytest.mark.parametrize("name", built_in_rubrics())
def test_a_rubric_as_a_file_is_the_same_rubric(tmp_path, name):
    path = tmp_path / "own.toml"
    path.write_text(rubric_toml(read_rubric(name)), encoding="utf-8")
    ours, again = read_rubric(name), read_rubric(path)
    assert (again.title, again.weights, again.fails_outright) == (ours.title, ours.weights, ours.fails_outright)
    assert (again.least_assessed, again.all_lost_by) == (ours.least_assessed, ours.all_lost_by)


def read(tmp_path: Path, text: str) -> Rubric:
    path = tmp_path / "own.toml"
    path.write_text(text, encoding="utf-8")
    return read_rubric(path)


def test_a_file_may_be_based_on_a_rubric_and_give_what_differs(tmp_path):
    own = read(
        tmp_path,
        "based_on = 'protection'\nfails_outright = []\n[weights]\nturn_bank = 0\nintercept = 7\n"
        "[all_lost_by]\ndistance_limit = { NM = 2 }\n",
    )
    base = read_rubric("protection")
    assert own.weights == {check: w for check, w in {**base.weights, "intercept": 7.0}.items() if check != "turn_bank"}
    assert own.all_lost_by == {**base.all_lost_by, "distance_limit": {"NM": 2.0}}
    assert (own.fails_outright, own.least_assessed) == ((), base.least_assessed)


def test_a_file_of_weights_alone_is_still_read_and_may_ask_for_nothing_outside(tmp_path):
    """Without a word on credit it has that of the rubrics that ship; a value outside can earn nothing, as files once had it."""
    plain = read(tmp_path, "[weights]\nturn_bank = 5\n")
    assert (plain.fails_outright, plain.least_assessed) == ((), 0.0)
    assert earned(outside("turn_bank", -5.0, "deg"), plain) == pytest.approx(2.5)
    strict = read(tmp_path, "credit = 'inside only'\n[weights]\nturn_bank = 5\n")
    assert earned(outside("turn_bank", -0.1, "deg"), strict) == 0.0
    assert "all of its share" not in rubric_text(strict)


def test_the_example_of_the_readme():
    """The early descent of the samples, with the sum as the README has it: 13.33 + 3.46 + 93 of 118."""
    track = analyzer.read_track(SAMPLES / "early_descent.gpx")
    debrief = analyzer.debrief(track, analyzer.read_procedure(SAMPLES / "wendle_island_vor24.toml"))
    approach = debrief.approaches[0]
    rubric = read_rubric("protection")
    results = results_by_check(approach.findings, rubric)
    floor, bank = results["altitude_floor"], results["turn_bank"]
    steep = bank.worst
    assert (floor.inside, floor.outside, bank.inside, bank.outside) == (2, 1, 2, 1)
    assert floor.worst.margin < -100.0
    assert floor.earned == pytest.approx(20.0 * 2 / 3)
    assert bank.earned == pytest.approx(5.0 * (1 + 1 + (10.0 - (steep.measured - 30.0)) / 10.0) / 3)
    made = marked(approach.findings, approach.reversal, rubric).mark
    assert made.percent == 0.0
    readme = " ".join((Path(analyzer.__file__).parents[1] / "README.md").read_text(encoding="utf-8").split())
    for said in (
        f"{-floor.worst.margin:.0f} ft below",
        f"{steep.measured:.1f}°",
        f"{bank.earned:.2f} of 5",
        f"{floor.earned:.2f} of 20",
        f"{made.earned:.1f} of {made.possible:.0f}",
        f"{100.0 * made.earned / made.possible:.1f}%",
    ):
        assert re.search(re.escape(said), readme), said
