"""Rubrics and marks: sums worked by hand, and what is said of a rubric that is wrong."""

import pytest

from analyzer.checks.finding import CLOSE, INSIDE, NOT_ASSESSED, OUTSIDE, Finding
from analyzer.checks.run import CHECKS
from analyzer.errors import GradeError
from analyzer.gradebook.mark import mark, results_by_check
from analyzer.gradebook.rubric import DEFAULT_RUBRIC, Rubric, built_in_rubrics, read_rubric

RUBRIC = Rubric(
    "by hand", "by hand", {"distance_limit": 20.0, "turn_bank": 6.0, "altitude_floor": 10.0}, ("distance_limit",), 0.6
)


def found(check: str, *verdicts: str, reason: str | None = None) -> list[Finding]:
    return [
        Finding(check, "leg", None, "said", v, measured=float(k), margin=float(-k), reason=reason)
        for k, v in enumerate(verdicts)
    ]


def marked(findings: list[Finding], result: str = INSIDE, rubric: Rubric = RUBRIC):
    results = results_by_check(findings, rubric)
    return results, mark(results, rubric, result, "why not")


def test_the_mark_is_the_sum_of_shares():
    """20 of 20, two turns of three inside: 4 of 6, three floors of four: 7.5 of 10. In all 31.5 of 36: 87.5%."""
    findings = [
        *found("distance_limit", INSIDE),
        *found("turn_bank", INSIDE, OUTSIDE, INSIDE),
        *found("altitude_floor", INSIDE, INSIDE, INSIDE, OUTSIDE),
    ]
    results, made = marked(findings, OUTSIDE)
    assert [(r.earned, r.possible) for r in results.values()] == [(20.0, 20.0), (4.0, 6.0), (7.5, 10.0)]
    assert (made.earned, made.possible, made.apply) == (31.5, 36.0, 36.0)
    assert made.percent == pytest.approx(87.5)
    assert made.note is None


def test_what_is_too_close_or_not_assessed_counts_neither_way():
    """The bank is judged by one turn of three: 6 of 6. The floors are not: 26 of 36 could be assessed, all earned."""
    findings = [
        *found("distance_limit", INSIDE),
        *found("turn_bank", INSIDE, CLOSE, NOT_ASSESSED, reason="a gap"),
        *found("altitude_floor", CLOSE, NOT_ASSESSED, reason="a gap"),
    ]
    results, made = marked(findings, CLOSE)
    assert results["turn_bank"].earned == results["turn_bank"].possible == 6.0
    assert results["altitude_floor"].possible == 0.0
    assert (made.percent, made.possible, made.apply) == (100.0, 26.0, 36.0)
    assert made.note is None  # 72% is more than the 60% asked for


def test_a_mark_on_little_says_so():
    findings = [*found("turn_bank", INSIDE), *found("distance_limit", NOT_ASSESSED, reason="a gap")]
    _, made = marked(findings)
    assert made.percent == 100.0
    assert made.note == "only 23% of what counts could be assessed"  # 6 of 26


def test_a_check_that_fails_outright_makes_it_nought_and_keeps_the_sum():
    findings = [*found("distance_limit", OUTSIDE), *found("turn_bank", INSIDE)]
    _, made = marked(findings, OUTSIDE)
    assert (made.percent, made.earned, made.possible) == (0.0, 6.0, 26.0)
    assert made.failed_outright == ("distance_limit",)
    assert made.note == "failed outright: distance limit"


def test_too_close_does_not_fail_outright():
    _, made = marked([*found("distance_limit", CLOSE), *found("turn_bank", INSIDE)], CLOSE)
    assert (made.percent, made.failed_outright) == (100.0, ())


def test_an_approach_that_is_not_assessed_has_no_mark():
    _, made = marked(found("turn_bank", INSIDE), NOT_ASSESSED)
    assert (made.percent, made.earned, made.possible) == (None, 6.0, 6.0)
    assert made.note == "no mark: why not"


def test_nothing_that_counts_has_no_mark():
    _, made = marked(found("intercept", INSIDE))
    assert (made.percent, made.possible) == (None, 0.0)
    assert "nothing that the rubric counts" in made.note


def test_what_only_informs_does_not_apply():
    results, made = marked(
        [*found("turn_bank", NOT_ASSESSED, reason="for information: no limit"), *found("distance_limit", INSIDE)]
    )
    assert results["turn_bank"].weight is None
    assert (made.possible, made.apply) == (20.0, 20.0)


def test_the_worst_finding_stands_for_its_check():
    results, _ = marked(found("turn_bank", INSIDE, OUTSIDE, CLOSE, OUTSIDE))
    assert (results["turn_bank"].worst.verdict, results["turn_bank"].worst.margin) == (OUTSIDE, -3.0)


@pytest.mark.parametrize("name", built_in_rubrics())
def test_rubrics_that_ship_are_whole(name):
    rubric = read_rubric(name)
    assert list(rubric.weights) == [check for check in CHECKS if check in rubric.weights]
    assert set(rubric.fails_outright) <= set(rubric.weights)


def test_the_default_is_one_of_them():
    assert DEFAULT_RUBRIC in built_in_rubrics()


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("[weights\n", "not valid TOML"),
        ("title = 3\n[weights]\nturn_bank = 1\n", "title = 3: not text in quotes; accepted: a line of text"),
        ("", r"\[weights\]: missing; accepted: a table of checks .*or begin the file with based_on = \"protection\""),
        ("based_on = 'club'\n", 'based_on = "club": not a built-in rubric; accepted: "even", "protection"'),
        ("credit = 'half'\n[weights]\nturn_bank = 1\n", 'credit = "half": not one of the choices; accepted: "by margin"'),
        (
            "[weights]\nturn_bank = 1\n[all_lost_by]\nturn_bank = { knots = 1 }\n",
            "knots: not one of the choices",
        ),
        (
            "[weights]\nturn_bank = 1\n[all_lost_by]\nturn_bank = { deg = 0 }\n",
            "deg = 0: too small; accepted: a number from 0.001",
        ),
        (
            "credit = 'inside only'\n[weights]\nturn_bank = 1\n[all_lost_by]\nturn_bank = { deg = 5 }\n",
            "gives nothing outside, so",
        ),
        (
            "[weights]\nturn_bonk = 1\n",
            r'\[weights\] turn_bonk: not one of the choices; did you mean "turn_bank"\? accepted: "distance_limit"',
        ),
        ("[weights]\nturn_bank = -1\n", r"\[weights\] turn_bank = -1: too small; accepted: a number from 0 to 1000"),
        ("[weights]\nturn_bank = nan\n", "turn_bank = nan: not a finite number; accepted: a number"),
        ("[weights]\nturn_bank = true\n", "turn_bank = true: not a number; accepted: a number"),
        ("[weights]\nturn_bank = 0\n", "all 0: some check must count"),
        (
            "fails_outright = 'all'\n[weights]\nturn_bank = 1\n",
            'fails_outright = "all": not a list; accepted: a list of check names',
        ),
        (
            "fails_outright = ['all']\n[weights]\nturn_bank = 1\n",
            'fails_outright = "all": not one of the choices; accepted: "distance_limit"',
        ),
        ("least_assessed = 60\n[weights]\nturn_bank = 1\n", "least_assessed = 60: too large; accepted: a number from 0 to 1"),
        ("pass_mark = 50\n[weights]\nturn_bank = 1\n", "pass_mark = 50: unknown key; accepted: based_on, title"),
    ],
)
def test_a_wrong_rubric_is_refused(tmp_path, text, said):
    path = tmp_path / "own.toml"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(GradeError, match=said) as refused:
        read_rubric(path)
    assert str(path) in str(refused.value)


def test_a_name_that_is_none_is_refused():
    with pytest.raises(GradeError, match="nonsense: no such rubric or file; built in are: even, protection"):
        read_rubric("nonsense")


def test_every_fault_is_named_at_once(tmp_path):
    path = tmp_path / "own.toml"
    path.write_text("least_assessed = 2\n[weights]\nturn_bank = -1\nturn_bonk = 1\n", encoding="utf-8")
    with pytest.raises(GradeError) as refused:
        read_rubric(path)
    lines = str(refused.value).split("\n")
    assert all(line.startswith(f"{path}: ") for line in lines)
    for said in ("least_assessed = 2", "[weights] turn_bank = -1", "[weights] turn_bonk"):
        assert sum(said in line for line in lines) == 1
