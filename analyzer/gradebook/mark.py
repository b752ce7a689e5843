"""The mark of an approach by a rubric: a sum of parts, one a check, each of which can be told.

Of a check's findings only those inside or outside count, all alike: the check earns the share of its weight that is inside.
What is too close to call or not assessed counts neither way: it is left out of what was earned and of what was possible. A
check without any finding that is judged, because nothing of its kind was flown or charted, does not apply. A finding outside of
a check that fails outright makes the mark nought, whatever the sum. Where the overall result is *not assessed* (the charted
reversal was not flown, or the approach is not complete) there is no mark, for the rest makes none.
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
    """One check of an approach: its worst finding, how many there are of each verdict, and its part of the mark.

    `worst` is the finding of the worst verdict, among those the one with the least margin. `weight` is None where the rubric
    does not count the check or nothing of it could be judged even in principle; `possible` is 0 where nothing was inside or
    outside.
    """

    worst: Finding
    inside: int
    outside: int
    weight: float | None
    earned: float
    possible: float


@dataclass(frozen=True)
class Mark:
    """A mark: `earned` of `possible`, which is the weight of what could be assessed of the weights that `apply`.

    `percent` is None where there is none; `note` says why, or what is to be said beside it.
    """

    percent: float | None
    earned: float
    possible: float
    apply: float
    failed_outright: tuple[CheckName, ...]
    note: str | None


def results_by_check(findings: Sequence[Finding], rubric: Rubric) -> Mapping[CheckName, CheckResult]:
    """What each check that says something makes of an approach, in the order of the findings."""
    by_check: dict[CheckName, list[Finding]] = {}
    for finding in findings:
        by_check.setdefault(finding.check, []).append(finding)
    return {check: _result(found, rubric.weights.get(check)) for check, found in by_check.items()}


def _result(findings: Sequence[Finding], weight: float | None) -> CheckResult:
    inside, outside = (sum(finding.verdict == verdict for finding in findings) for verdict in (INSIDE, OUTSIDE))
    worst = min(findings, key=_badness)
    if weight is None or all(informs(finding) for finding in findings):
        return CheckResult(worst, inside, outside, None, 0.0, 0.0)
    judged = inside + outside
    return CheckResult(worst, inside, outside, weight, weight * inside / judged if judged else 0.0, weight if judged else 0.0)


def _badness(finding: Finding) -> tuple[int, bool, float]:
    """What only informs counts last among what is not assessed."""
    return (
        _WORST_FIRST.index(finding.verdict),
        informs(finding),
        finding.margin if finding.margin is not None else float("inf"),
    )


def mark(results: Mapping[CheckName, CheckResult], rubric: Rubric, result: Verdict, why: str) -> Mark:
    """The mark. `result` and `why` are the overall verdict and what is said beside it, as `overall` gives them."""
    counted = [found for found in results.values() if found.weight is not None]
    earned, possible = sum(found.earned for found in counted), sum(found.possible for found in counted)
    apply = sum(found.weight for found in counted if found.weight is not None)
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
