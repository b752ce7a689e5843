"""The mark of an approach by a rubric: a sum of parts, one a check, each of which can be shown.

Of a check's findings only those inside or outside count, all alike. One inside earns all of its share; one outside the less the
farther outside it is, and nothing from where the rubric says that all is lost. What is too close to call or not assessed counts
neither way: it is left out of what was earned and of what was possible. A check without any finding that is judged, because
nothing of its kind was flown or charted, does not apply.

A finding that earns nothing, of a check that fails outright, makes the mark nought, whatever the sum. What was not flown to its
end is incomplete, and has no mark otherwise; nor has an approach whose overall result is *not assessed*.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from analyzer.checks.finding import CLOSE, INSIDE, NOT_ASSESSED, OUTSIDE, Finding
from analyzer.checks.overall import informs, overall, unfinished
from analyzer.checks.phrases import check_name
from analyzer.gradebook.rubric import OF_LIMIT, Rubric
from analyzer.legs.reversal import Reversal
from analyzer.physics.units import FT
from analyzer.vocabulary import CheckName, Verdict

__all__ = ["CheckResult", "Mark", "Marked", "mark", "marked", "results_by_check"]

_LESS_THAN_ALL = 99.9  # percent, as marks are rounded: 100 only where nothing was lost
_WORST_FIRST = (OUTSIDE, CLOSE, NOT_ASSESSED, INSIDE)


@dataclass(frozen=True)
class CheckResult:
    """One check of an approach, and its part of the mark.

    `far` counts those outside that earn nothing.

    `worst` is the finding of the worst verdict, among those the one with the least margin. `weight` is None where the rubric
    does not count the check or nothing of it could be judged even in principle; `possible` is 0 where nothing was inside or
    outside.
    """

    worst: Finding
    inside: int
    outside: int
    far: int
    weight: float | None
    earned: float
    possible: float


@dataclass(frozen=True)
class Mark:
    """A mark.

    `percent` is None where there is none; `note` says why, or what else is to be known. `incomplete` is what is missing of an
    approach that was not flown to its end.
    """

    percent: float | None
    earned: float
    possible: float
    apply: float
    failed_outright: tuple[CheckName, ...]
    note: str | None
    incomplete: str | None = None


@dataclass(frozen=True, eq=False)
class Marked:
    """An approach or hold as it is marked: its mark, and what each check gave to it."""

    mark: Mark
    results: Mapping[CheckName, CheckResult]


def results_by_check(findings: Sequence[Finding], rubric: Rubric) -> Mapping[CheckName, CheckResult]:
    """The results of an approach by check, in the order of the findings."""
    by_check: dict[CheckName, list[Finding]] = {}
    for finding in findings:
        by_check.setdefault(finding.check, []).append(finding)
    return {check: _result(found, check, rubric) for check, found in by_check.items()}


def _result(findings: Sequence[Finding], check: CheckName, rubric: Rubric) -> CheckResult:
    weight, all_lost_by = rubric.weights.get(check), rubric.all_lost_by.get(check, {})
    inside = sum(finding.verdict == INSIDE for finding in findings)
    shares = [_credit(finding, all_lost_by) for finding in findings if finding.verdict == OUTSIDE]
    outside, far = len(shares), sum(share == 0.0 for share in shares)
    worst = min(findings, key=_badness)
    if weight is None or all(informs(finding) for finding in findings):
        return CheckResult(worst, inside, outside, far, None, 0.0, 0.0)
    judged = inside + outside
    if not judged:
        return CheckResult(worst, inside, outside, far, weight, 0.0, 0.0)
    return CheckResult(worst, inside, outside, far, weight, weight * (inside + sum(shares)) / judged, weight)


def _credit(finding: Finding, all_lost_by: Mapping[str, float]) -> float:
    """The share that a finding outside earns: nearly all at its limit, nothing from where all is lost, evenly in between."""
    room = _room(finding, all_lost_by)
    if room is None or finding.margin is None or not math.isfinite(finding.margin):
        return 0.0
    return max(0.0, 1.0 + finding.margin / room)


def _room(finding: Finding, all_lost_by: Mapping[str, float]) -> float | None:
    """How far outside all is lost, in the unit of the finding; None where the rubric does not say."""
    for unit, room in all_lost_by.items():
        if unit == finding.unit:
            return room
        if unit == "ft" and finding.unit == "m" and "m" not in all_lost_by:
            return room * FT
        if unit == OF_LIMIT and isinstance(finding.limit, float):
            return room * abs(finding.limit) or None
    return None


def _badness(finding: Finding) -> tuple[int, bool, float]:
    """Sort key, the worst first; findings that only inform come last among those not assessed."""
    return (
        _WORST_FIRST.index(finding.verdict),
        informs(finding),
        finding.margin if finding.margin is not None else float("inf"),
    )


def marked(findings: Sequence[Finding], reversal: Reversal, rubric: Rubric) -> Marked:
    """The mark of an approach or hold by its findings."""
    results = results_by_check(findings, rubric)
    return Marked(mark(results, rubric, *overall(findings, reversal), unfinished(findings, reversal)), results)


def mark(
    results: Mapping[CheckName, CheckResult], rubric: Rubric, result: Verdict, why: str, incomplete: str | None = None
) -> Mark:
    """The mark. `result` and `why` are the overall verdict and its explanation, as `overall` gives them.

    `incomplete` is what is missing of the approach, as `unfinished` gives it.
    """
    counted = [found for found in results.values() if found.weight is not None]
    earned, possible = sum(found.earned for found in counted), sum(found.possible for found in counted)
    apply = sum(found.weight for found in counted if found.weight is not None)
    failed = tuple(check for check in rubric.fails_outright if check in results and results[check].far)
    percent: float | None = 100.0 * earned / possible if possible else None
    if percent is not None and earned < possible:
        percent = min(percent, _LESS_THAN_ALL)
    note = None
    if result == NOT_ASSESSED:
        incomplete = incomplete if incomplete is not None and why.startswith(incomplete) else None  # or for another reason
        percent, note = None, f"{'no mark' if incomplete is None else 'incomplete'}: {why}"
    elif failed:
        percent, note = 0.0, f"failed outright: {', '.join(map(check_name, failed))}"
    elif incomplete is not None:
        percent, note = None, f"incomplete: {incomplete}"
    elif percent is None:
        note = "no mark: nothing that the rubric counts could be assessed"
    elif possible < rubric.least_assessed * apply:
        note = f"only {100.0 * possible / apply:.0f} % of what counts could be assessed"
    return Mark(percent, earned, possible, apply, failed, note, incomplete)
