"""The mark of an approach by a rubric: a sum with one part per check, each of which can be shown.

Only findings inside or outside count, and they share the weight of their check evenly. One inside earns all of its share; one
outside earns less the farther outside it is, and nothing from the distance at which the rubric says that all is lost. What is
too close to call or not assessed counts neither way: it is left out of what was earned and of what was possible. A check
without any judged finding, because nothing of its kind was flown or charted, does not apply.

A finding that surely earns nothing, by twice its error, of a check that fails outright, makes the mark 0, whatever the sum.
Where its error leaves that open, the mark says so. Otherwise an approach that was not flown to its end is incomplete and has no
mark; nor has one whose overall result is *not assessed*, or whose reversal the log does not show.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace

from analyzer.checks.finding import CLOSE, CLOSE_SD, INSIDE, NOT_ASSESSED, OUTSIDE, Finding
from analyzer.checks.overall import broken_off, informs, overall, unfinished
from analyzer.checks.phrases import check_name
from analyzer.frozen import dataclass
from analyzer.gradebook.rubric import OF_LIMIT, Rubric
from analyzer.legs.reversal import Reversal
from analyzer.physics.units import FT
from analyzer.vocabulary import CheckName, Verdict

__all__ = ["CheckResult", "Mark", "Marked", "mark", "marked", "results_by_check"]

_LESS_THAN_ALL = 99.9  # percent; after rounding, 100 means that nothing was lost
_WORST_FIRST = (OUTSIDE, CLOSE, NOT_ASSESSED, INSIDE)


@dataclass(frozen=True)
class CheckResult:
    """One check of an approach, and its part of the mark.

    `far` counts the findings outside that surely earn nothing, `perhaps_far` those whose error leaves it open. `worst` has the
    worst verdict and, among those, the least margin. `weight` is None if the rubric does not count the check or its findings
    are for information only; `possible` is 0 if no finding is inside or outside.
    """

    worst: Finding
    inside: int
    outside: int
    far: int
    perhaps_far: int
    weight: float | None
    earned: float
    possible: float


@dataclass(frozen=True)
class Mark:
    """A mark.

    `percent` is None without a mark; `note` says why, or adds a remark. `incomplete` says what is missing of an approach that
    was not flown to its end.
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
    """The mark of an approach or hold, and what each check contributed to it."""

    mark: Mark
    results: Mapping[CheckName, CheckResult]


def results_by_check(findings: Sequence[Finding], rubric: Rubric) -> Mapping[CheckName, CheckResult]:
    """The results of an approach by check, in the order of the findings."""
    by_check: dict[CheckName, list[Finding]] = {}
    for finding in findings:
        by_check.setdefault(finding.check, []).append(finding)
    return {check: _result(of_check, check, rubric) for check, of_check in by_check.items()}


def _result(findings: Sequence[Finding], check: CheckName, rubric: Rubric) -> CheckResult:
    weight, all_lost_by = rubric.weights.get(check), rubric.all_lost_by.get(check, {})
    inside = sum(finding.verdict == INSIDE for finding in findings)
    faults = [finding for finding in findings if finding.verdict == OUTSIDE]
    shares = [_credit(finding, all_lost_by) for finding in faults]
    far = sum(_surely_lost(finding, all_lost_by) for finding in faults)
    outside, perhaps_far = len(shares), sum(share == 0.0 for share in shares) - far
    worst = min(findings, key=_badness)
    if weight is None or all(informs(finding) for finding in findings):
        return CheckResult(worst, inside, outside, far, perhaps_far, None, 0.0, 0.0)
    judged = inside + outside
    if not judged:
        return CheckResult(worst, inside, outside, far, perhaps_far, weight, 0.0, 0.0)
    earned = weight * (inside + sum(shares)) / judged
    return CheckResult(worst, inside, outside, far, perhaps_far, weight, earned, weight)


def _credit(finding: Finding, all_lost_by: Mapping[str, float]) -> float:
    """The share that a finding outside earns: falling linearly from 1 at the limit to 0 where all is lost."""
    room = _room(finding, all_lost_by)
    if room is None or finding.margin is None or not math.isfinite(finding.margin):
        return 0.0
    return max(0.0, 1.0 + finding.margin / room)


def _surely_lost(finding: Finding, all_lost_by: Mapping[str, float]) -> bool:
    """Whether a finding outside earns nothing though it were less far outside by twice its error."""
    if finding.margin is None or not math.isfinite(finding.margin):
        return True
    at_best = replace(finding, margin=min(0.0, finding.margin + CLOSE_SD * (finding.sd or 0.0)))
    return _credit(at_best, all_lost_by) == 0.0


def _room(finding: Finding, all_lost_by: Mapping[str, float]) -> float | None:
    """The distance outside at which all is lost, in the unit of the finding; None if the rubric gives none."""
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
    """The mark. `result` and `why` are the overall verdict and its explanation, from `overall`.

    `incomplete` is what is missing of the approach, from `unfinished`.
    """
    counted = [part for part in results.values() if part.weight is not None]
    earned, possible = sum(part.earned for part in counted), sum(part.possible for part in counted)
    apply = sum(part.weight for part in counted if part.weight is not None)
    failed = tuple(check for check in rubric.fails_outright if check in results and results[check].far)
    percent: float | None = 100.0 * earned / possible if possible else None
    if percent is not None and earned < possible:
        percent = min(percent, _LESS_THAN_ALL)
    note = None
    if result == NOT_ASSESSED:
        incomplete = (
            incomplete if incomplete is not None and why.startswith(incomplete) else None
        )  # else it is not assessed for another reason
        percent, note = None, f"{'incomplete' if broken_off(incomplete) else 'no mark'}: {why}"
    elif failed:
        percent, note = 0.0, f"failed outright: {', '.join(map(check_name, failed))}"
    elif incomplete is not None:
        percent, note = None, f"{'incomplete' if broken_off(incomplete) else 'no mark'}: {incomplete}"
    elif percent is None:
        note = "no mark: nothing that the rubric counts could be assessed"
    else:
        note = "; ".join(_remarks(results, rubric, possible, apply)) or None
    return Mark(percent, earned, possible, apply, failed, note, incomplete if broken_off(incomplete) else None)


def _remarks(results: Mapping[CheckName, CheckResult], rubric: Rubric, possible: float, apply: float) -> list[str]:
    """What a mark says of itself: that little could be assessed, and what may fail the approach outright."""
    little = possible < rubric.least_assessed * apply
    remarks = [f"only {100.0 * possible / apply:.0f}% of what counts could be assessed"] if little else []
    perhaps = [check_name(check) for check in rubric.fails_outright if check in results and results[check].perhaps_far]
    if perhaps:
        remarks.append(f"may fail outright, which the error of the log leaves open: {', '.join(perhaps)}")
    return remarks
