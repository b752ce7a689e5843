"""Excuses applied to a debrief: the findings that they name count neither for nor against the flight.

An excuse names exactly one finding that is outside, too close to call, or below a minimum without an explanation. Where it
names none any more, because the chart, the program or the log's reading changed, or more than one, it is not used, and the
debrief says so (`IdleExcuse`).
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import TypeAlias

from analyzer.checks.excuse import Excuse, Excused
from analyzer.checks.finding import CLOSE, NOT_ASSESSED, OUTSIDE, Finding
from analyzer.checks.phrases import check_name, clock
from analyzer.debriefs.data import Approach, DebriefData, IdleExcuse, Section
from analyzer.frozen import dataclass

__all__ = ["can_be_excused", "excuse_findings", "excuse_of"]

_SAME_S = 60.0  # findings of one check on one part this near in time are the same event; common practice, no source
_Place: TypeAlias = tuple[str, int, int]  # of a finding: `of` and `number` of its section, and its position there


@dataclass(frozen=True, eq=False)
class _Placed:
    place: _Place
    finding: Finding


def can_be_excused(finding: Finding) -> bool:
    """Whether a finding counts against the flight, so that an excuse makes a difference."""
    return finding.excused is None and (finding.verdict in (OUTSIDE, CLOSE) or finding.unexplained)


def excuse_of(section: Section, finding: Finding) -> Excuse:
    """An excuse for a finding of an approach or hold, without its reason, name and day."""
    return Excuse(
        check=finding.check,
        reason="",
        by="",
        approach=section.number if section.of == "reversal" else None,
        hold=section.number if section.of == "hold" else None,
        leg=finding.leg,
        part=finding.part,
        fix=finding.fix,
        lap=finding.lap,
        time_s=None if finding.place is None else finding.place.time_s,
        sentence=finding.sentence,
    )


def excuse_findings(judged: DebriefData, excuses: Sequence[Excuse]) -> DebriefData:
    """The debrief with the findings excused that the excuses name; the excuses that name none are listed in `idle`.

    It is applied before lessons are added, so that an excused finding has none.
    """
    if not excuses:
        return judged
    used: dict[_Place, Excuse] = {}
    idle: list[IdleExcuse] = []
    placed = tuple(_placed(judged))
    for excuse in excuses:
        named = _named(excuse, placed)
        if isinstance(named, str):
            idle.append(IdleExcuse(excuse, named))
        elif named.place in used:
            idle.append(IdleExcuse(excuse, "that finding is excused already"))
        else:
            used[named.place] = excuse
    approaches = tuple(_with(approach, "reversal", number, used) for number, approach in enumerate(judged.approaches, 1))
    holds = tuple(
        replace(hold, approaches=tuple(_with(laps, "hold", number, used) for laps in hold.approaches))
        for number, hold in enumerate(judged.holds, 1)
    )
    return replace(judged, approaches=approaches, holds=holds, idle=tuple(idle))


def _placed(judged: DebriefData) -> Iterator[_Placed]:
    for section in judged.sections:
        for number, finding in enumerate(section.approach.findings):
            yield _Placed((section.of, section.number, number), finding)


def _with(approach: Approach, of: str, number: int, used: dict[_Place, Excuse]) -> Approach:
    findings = tuple(
        finding if (excuse := used.get((of, number, place))) is None else _excused(finding, excuse)
        for place, finding in enumerate(approach.findings)
    )
    return replace(approach, findings=findings)


def _excused(finding: Finding, excuse: Excuse) -> Finding:
    return replace(
        finding,
        verdict=NOT_ASSESSED,
        reason=f"excused by {excuse.by}: {excuse.reason}",
        lesson=None,
        unexplained=False,
        excused=Excused(excuse, finding.verdict),
    )


def _named(excuse: Excuse, placed: Sequence[_Placed]) -> _Placed | str:
    """The finding that an excuse names, or why it names none."""
    alike = [one for one in placed if _fits(excuse, one)]
    name = check_name(excuse.check)
    if not alike:
        return f"this flight has no such finding on {name}"
    near = [one for one in alike if _away_s(excuse, one.finding) <= _SAME_S]
    if not near:
        return f"the finding on {name} is at another time{_times(alike)}"
    open_to = [one for one in near if can_be_excused(one.finding)]
    if not open_to:
        verdicts = " or ".join(dict.fromkeys(one.finding.verdict for one in near))
        return f"the finding on {name} is {verdicts}, so there is nothing to excuse"
    if len(open_to) > 1 and excuse.time_s is None:
        return f"{len(open_to)} findings on {name} fit it{_times(open_to)}: add the part, the lap or the time of the one meant"
    return min(open_to, key=lambda one: _away_s(excuse, one.finding))


def _fits(excuse: Excuse, one: _Placed) -> bool:
    finding, (of, number, _) = one.finding, one.place
    anywhere = excuse.approach is None and excuse.hold is None
    return (
        (anywhere or (of, number) in (("reversal", excuse.approach), ("hold", excuse.hold)))
        and finding.check == excuse.check
        and excuse.leg in (None, finding.leg)
        and excuse.part in (None, finding.part)
        and excuse.fix in (None, finding.fix)
        and excuse.lap in (None, finding.lap)
    )


def _away_s(excuse: Excuse, finding: Finding) -> float:
    """How far a finding is from the instant that an excuse names; 0 where either has none. [s]"""
    if excuse.time_s is None or finding.place is None:
        return 0.0
    return abs(finding.place.time_s - excuse.time_s)


def _times(found: Sequence[_Placed]) -> str:
    """The instants of findings, for the user to choose from: `` (15:45:33, 15:52:10)``."""
    times = [clock(one.finding.place.time_s) for one in found if one.finding.place is not None]
    return f" ({', '.join(times)})" if times else ""
