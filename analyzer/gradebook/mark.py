"""The mark of an approach by a rubric: a sum of parts, one a check.

A check earns its weight times the share of inside among its findings inside or outside. Findings too close to
call or not assessed count neither as earned nor as possible. A check does not apply if none of its findings is judged, because
nothing of its kind was flown or charted. In a check that fails outright, one finding outside makes the mark zero. If the
overall result is *not assessed* (the charted reversal was not flown, or the approach is not complete), there is no mark.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from analyzer.checks.finding import CLOSE, INSIDE, NOT_ASSESSED, OUTSIDE, Finding
from analyzer.checks.overall import informs
from analyzer.checks.phrases import check_name
from analyzer.gradebook.rubric import Rubric
from analyzer.vocabulary import CheckName, Verdict

__all__ = ["CheckResult", "Mark", "mark", "results_by_check"]

_WORST_FIRST = (OUTSIDE, CLOSE, NOT_ASSESSED, INSIDE)


@dataclass(frozen=True)
class CheckResult:
    """One check of an approach, and its part of the mark.

    Attributes
    ----------
    worst : Finding
        The finding with the worst verdict, and the least margin among those.
    inside, outside : int
        Numbers of findings with these verdicts.
    weight : float, optional
        None where the rubric does not count the check, or its findings only inform.
    earned, possible : float
        `possible` is 0 where nothing was inside or outside.
    """

    worst: Finding
    inside: int
    outside: int
    weight: float | None
    earned: float
    possible: float


@dataclass(frozen=True)
class Mark:
    """A mark.

    Attributes
    ----------
    percent : float, optional
        `earned` in percent of `possible`; None where there is no mark.
    earned, possible : float
        `possible` is the weight of what could be assessed.
    apply : float
        The weight of all checks that apply.
    failed_outright : tuple of str
        The checks that make the mark zero.
    note : str, optional
        Why there is no mark, or a remark on it.
    """

    percent: float | None
    earned: float
    possible: float
    apply: float
    failed_outright: tuple[CheckName, ...]
    note: str | None


def results_by_check(findings: Sequence[Finding], rubric: Rubric) -> Mapping[CheckName, CheckResult]:
    """The results of an approach by check, in the order of the findings."""
    by_check: dict[CheckName, list[Finding]] = {}
    for finding in findings:
        by_check.setdefault(finding.check, []).append(finding)
    return {check: _result(of_check, rubric.weights.get(check)) for check, of_check in by_check.items()}


def _result(findings: Sequence[Finding], weight: float | None) -> CheckResult:
    inside, outside = (sum(finding.verdict == verdict for finding in findings) for verdict in (INSIDE, OUTSIDE))
    worst = min(findings, key=_badness)
    if weight is None or all(informs(finding) for finding in findings):
        return CheckResult(worst, inside, outside, None, 0.0, 0.0)
    judged = inside + outside
    return CheckResult(worst, inside, outside, weight, weight * inside / judged if judged else 0.0, weight if judged else 0.0)


def _badness(finding: Finding) -> tuple[int, bool, float]:
    """Sort key, the worst first; findings that only inform come last among those not assessed."""
    return (
        _WORST_FIRST.index(finding.verdict),
        informs(finding),
        finding.margin if finding.margin is not None else float("inf"),
    )


def mark(results: Mapping[CheckName, CheckResult], rubric: Rubric, result: Verdict, why: str) -> Mark:
    """The mark of an approach. `result` and `why` are its overall verdict and the sentence on it, as `overall` gives them."""
    counted = [check_result for check_result in results.values() if check_result.weight is not None]
    earned, possible = (
        sum(check_result.earned for check_result in counted),
        sum(check_result.possible for check_result in counted),
    )
    apply = sum(check_result.weight for check_result in counted if check_result.weight is not None)
    failed = tuple(check for check in rubric.fails_outright if check in results and results[check].outside)
    percent: float | None = 100.0 * earned / possible if possible else None
    note = None
    if result == NOT_ASSESSED:
        percent, note = None, f"no mark: {why}"
    elif percent is None:
        note = "no mark: nothing that the rubric counts could be assessed"
    elif failed:
        percent, note = 0.0, f"failed outright: {', '.join(map(check_name, failed))}"
    elif possible < rubric.least_assessed * apply:
        note = f"only {100.0 * possible / apply:.0f} % of what counts could be assessed"
    return Mark(percent, earned, possible, apply, failed, note)
