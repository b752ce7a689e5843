"""The overall result of an approach, and the order in which findings are reported. A rule over the findings, not a score.

The worst verdict decides: outside, then too close to call, then inside. The result is not assessed, and says what was inside,
where the charted reversal was not flown, the approach is incomplete, the aircraft was below a minimum without an explanation, a
doubt withdrew verdicts, the shape rests on what the user named, or the log lacks the data for a charted limit: a distance,
altitude, bank or charted speed. What an instructor excused counts neither way, and the result says how many that are.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

from analyzer.checks.events import MINIMUMS
from analyzer.checks.finding import CLOSE, INSIDE, NOT_ASSESSED, OUTSIDE, Finding
from analyzer.checks.missing_data import lacks
from analyzer.checks.phrases import check_name, part_words, value_text
from analyzer.legs.reversal import Reversal
from analyzer.vocabulary import CheckName, Verdict

__all__ = ["broken_off", "closest", "grouped", "informs", "overall", "unfinished", "worst_first"]

_GROUPS = ((OUTSIDE, "Outside"), (CLOSE, "Too close to call"), (INSIDE, "Inside"), (NOT_ASSESSED, "Not assessed"))
_INFORMATION = "For information"
_EXCUSED = "Excused"
_NO_REVERSAL_FLOWN, _NOT_COMPLETE = "the charted reversal was not flown", "is not complete"
_ONLY_NAMED = "the shape was named, not recognised"
_OFF_BY = {"ft": 100.0, "m": 30.0}  # AIM and test standards: altitude ±100 ft
# Ample margins, where a share of the limit would mean little; common practice, no source.
_ROOM: Mapping[CheckName, float] = {"distance_limit": 1.0, "speed_limit": 10.0, "turn_bank": 10.0}


def overall(findings: Sequence[Finding], reversal: Reversal) -> tuple[Verdict, str]:
    """The verdict on an approach, and its explanation."""
    counted = [finding for finding in findings if finding.excused is None]
    verdict, why = _of_counted(counted, reversal)
    excused = len(findings) - len(counted)
    return verdict, f"{why}; {excused} {'finding is' if excused == 1 else 'findings are'} excused" if excused else why


def _of_counted(findings: Sequence[Finding], reversal: Reversal) -> tuple[Verdict, str]:
    """The same for findings without those that are excused."""
    by_verdict = {verdict: [f for f in findings if f.verdict == verdict] for verdict, _ in _GROUPS}
    judged = sum(len(by_verdict[verdict]) for verdict in (OUTSIDE, CLOSE, INSIDE))
    missing = unfinished(findings, reversal)
    if by_verdict[OUTSIDE]:
        names = ", ".join(dict.fromkeys(check_name(f.check, f.unit) for f in by_verdict[OUTSIDE]))
        return OUTSIDE, f"{len(by_verdict[OUTSIDE])} of {judged} findings: {names}"
    inside = f"; {_judged_words(by_verdict[INSIDE], by_verdict[CLOSE])}" if judged else ""
    withdrawn = [str(finding.reason) for finding in findings if finding.withdrawn]
    if reversal.only_named:
        withdrawn = [_ONLY_NAMED, *withdrawn]
    if withdrawn:
        return NOT_ASSESSED, f"{' and '.join(dict.fromkeys(withdrawn))}{inside}"
    lacking = [finding for finding in findings if lacks(finding)]
    if lacking:
        return NOT_ASSESSED, f"{_lacking_words(lacking)}{inside}"
    if any(finding.unexplained for finding in findings):
        return NOT_ASSESSED, f"the aircraft was below the minimum and nothing in the log explains it{inside}"
    if by_verdict[CLOSE]:
        names = ", ".join(dict.fromkeys(check_name(f.check, f.unit) for f in by_verdict[CLOSE]))
        first = f"{missing}; " if missing is not None and _not_flown(findings) is not None else ""
        return CLOSE, f"{first}{len(by_verdict[CLOSE])} of {judged} findings: {names}; the rest inside"
    if missing is not None and _not_flown(findings) is not None:
        others = f"all {judged} other findings inside" if judged > 1 else "nothing else to fault"
        return NOT_ASSESSED, f"{missing}; {others}"
    if not judged:
        return NOT_ASSESSED, "nothing could be judged"
    if missing is not None:
        inside_words, verb = (f"all {judged} findings", "are") if judged > 1 else ("the only finding", "is")
        return NOT_ASSESSED, f"{missing}; {inside_words} on what was flown {verb} inside"
    near = _closest_words(findings)
    all_inside = f"all {judged} findings that could be judged" if judged > 1 else "the one finding that could be judged"
    return INSIDE, f"{all_inside}{f'; closest to its limit: {near}' if near else ''}"


def broken_off(missing: str | None) -> bool:
    """Whether what is missing was not flown, rather than not seen or not recognised in the log."""
    return missing is not None and (missing == _NO_REVERSAL_FLOWN or missing.endswith(_NOT_COMPLETE))


def unfinished(findings: Sequence[Finding], reversal: Reversal) -> str | None:
    """What is missing of an approach or hold that was not flown to its end: ``the approach is not complete``; else None.

    That holds whatever its verdict is: an approach that was broken off may be outside as well.
    """
    skipped = _not_flown(findings)
    if skipped is not None:
        return _NO_REVERSAL_FLOWN if skipped.measured is not None else str(skipped.reason)
    if reversal.established_s is None or reversal.passage("inbound") is None:
        what = "hold" if any(part.leg == "hold" for part in reversal.parts) else "approach"
        return f"the {what} {_NOT_COMPLETE}"
    return None


def _not_flown(findings: Sequence[Finding]) -> Finding | None:
    """The finding that the charted reversal is missing, where that has no verdict."""
    return next(
        (
            finding
            for finding in findings
            if finding.check == "no_reversal" and finding.verdict == NOT_ASSESSED and finding.excused is None
        ),
        None,
    )


def _lacking_words(lacking: Sequence[Finding]) -> str:
    """What could not be assessed, grouped by reason: ``turn bank (offset turn, reversal turn): the log has a gap``."""
    by_reason: dict[str, dict[str, list[str]]] = {}
    for finding in lacking:
        where = by_reason.setdefault(str(finding.reason), {}).setdefault(check_name(finding.check, finding.unit), [])
        where.append(finding.fix or part_words(finding.part or finding.leg, finding.lap))
    reasons = []
    for reason, names in by_reason.items():
        listed = ", ".join(f"{name} ({', '.join(dict.fromkeys(where))})" for name, where in names.items())
        reasons.append(f"{listed}: {reason}")
    return f"not everything charted could be assessed: {'; '.join(reasons)}"


def _judged_words(inside: Sequence[Finding], close: Sequence[Finding]) -> str:
    """Summary of the findings with a verdict, none of them outside."""
    if close:
        names = ", ".join(dict.fromkeys(check_name(f.check, f.unit) for f in close))
        many = f"{len(close)} of the {len(inside) + len(close)} findings that could be judged"
        return f"{many} too close to call ({names}), the rest inside"
    many = f"all {len(inside)} findings that could be judged are" if len(inside) > 1 else "the one that could be judged is"
    return f"{many} inside"


def closest(findings: Sequence[Finding]) -> Finding | None:
    """The inside finding closest to its limit, by the share of its room that is left; None if none has a share."""
    inside = [finding for finding in findings if finding.verdict == INSIDE]
    shares = [(share, finding) for finding in inside if (share := _left_share(finding)) is not None]
    return min(shares, key=lambda pair: pair[0])[1] if shares else None


def _closest_words(findings: Sequence[Finding]) -> str | None:
    """The same in words."""
    nearest = closest(findings)
    if nearest is None:
        return None
    where = nearest.fix or part_words(nearest.part or nearest.leg, nearest.lap)
    return f"{check_name(nearest.check, nearest.unit)} ({where}), by {value_text(nearest.margin, nearest.unit)}"


def _left_share(finding: Finding) -> float | None:
    """The margin as a share of an ample margin; None where that is undefined.

    An ample margin is the tolerance where there is one, 100 ft above a minimum, a mile inside a distance, 10 kt below a speed
    and 10° below a bank; else the limit itself.
    """
    if finding.margin is None or not isinstance(finding.limit, float):
        return None
    if finding.check in MINIMUMS and finding.unit in _OFF_BY:  # one left too early is off by an angle or a distance
        return finding.margin / _OFF_BY[finding.unit]
    room = finding.tolerance or _ROOM.get(finding.check, finding.limit)
    return finding.margin / room if room > 0.0 else None


def worst_first(findings: Sequence[Finding]) -> tuple[Finding, ...]:
    """Findings by how far they are beyond an ample margin, the worst first; those that no margin measures lead."""
    shares = {id(finding): _left_share(finding) for finding in findings}
    return tuple(sorted(findings, key=lambda finding: -math.inf if (share := shares[id(finding)]) is None else share))


def informs(finding: Finding) -> bool:
    """Whether a finding is for information: it has no verdict because nothing limits what it measures."""
    if finding.verdict != NOT_ASSESSED or finding.excused is not None:
        return False
    return finding.reason is not None and "for information" in finding.reason


def grouped(findings: Sequence[Finding]) -> tuple[tuple[str, tuple[Finding, ...]], ...]:
    """Findings grouped by verdict under headings, the worst first; those for information come before those not assessed.

    Excused findings are a group of their own, after those outside or too close to call.
    """
    groups = []
    for verdict, heading in _GROUPS:
        if verdict == INSIDE:
            groups.append((_EXCUSED, tuple(finding for finding in findings if finding.excused is not None)))
        if verdict == NOT_ASSESSED:
            groups.append((_INFORMATION, tuple(finding for finding in findings if informs(finding))))
        group = [f for f in findings if f.verdict == verdict and f.excused is None and not informs(f)]
        groups.append((heading, worst_first(group) if verdict in (OUTSIDE, CLOSE) else tuple(group)))
    return tuple((heading, group) for heading, group in groups if group)
