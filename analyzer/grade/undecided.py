"""A log that fits several procedures about equally: the results that they agree on, and a doubt about the rest.

Each approach and hold is judged by all of them. A result that they agree on stands; one that depends on which was flown is not
assessed.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from analyzer.checks.excuse import Excuse
from analyzer.checks.overall import overall
from analyzer.debriefs.data import Approach, DebriefData, Section
from analyzer.debriefs.excusing import excuse_findings
from analyzer.debriefs.judging import doubted_too, judge
from analyzer.doubts.doubt import Doubt
from analyzer.frozen import dataclass
from analyzer.grade.pick import Pick
from analyzer.gradebook.mark import marked
from analyzer.gradebook.settings import Settings

__all__ = ["Weighed", "weighed"]

_MOST_RIVALS = 5  # by which a log is judged: each costs as much as the best
Place = tuple[str, int]  # key of an approach or hold: `of` and `number` of `Section`


@dataclass(frozen=True, eq=False)
class Weighed:
    """The debrief by the best procedure without the verdicts that the rivals contradict, and the doubt that says so, if any.

    `marks` has the marks of approaches and holds that are judged alike but marked differently, the best procedure's first.
    """

    debrief: DebriefData
    doubt: Doubt | None
    marks: Mapping[Place, tuple[float | None, ...]]


def weighed(best: DebriefData, pick: Pick, settings: Settings, excuses: Sequence[Excuse]) -> Weighed:
    """Judge a flight by the rivals of a pick too, with the same excuses, and compare."""
    rivals = [
        excuse_findings(judge(seen.motion, seen.flight, settings.standard), excuses) for seen in pick.rivals[:_MOST_RIVALS]
    ]
    apart: list[Section] = []
    marks: dict[Place, tuple[float | None, ...]] = {}
    for section in best.sections:
        others = [_counterpart(section, best, rival) for rival in rivals]
        alike = [other for other in others if other is not None and _verdict(other) == _verdict(section.approach)]
        if len(alike) < len(pick.rivals):
            apart.append(section)
            continue
        percents = tuple(_percent(approach, settings) for approach in (section.approach, *alike))
        if len(set(percents)) > 1:
            marks[section.of, section.number] = percents
    if not apart:
        return Weighed(best, None, marks)
    doubt = _doubt(pick, apart)
    return Weighed(doubted_too(best, doubt), doubt, marks)


def _counterpart(section: Section, best: DebriefData, rival: DebriefData) -> Approach | None:
    """The same approach or hold by a rival; None if the rival finds another number of them."""
    mine, its = ([section.approach for section in debrief.sections if section.of == section.of] for debrief in (best, rival))
    return its[section.number - 1] if len(mine) == len(its) else None


def _verdict(approach: Approach) -> str:
    return overall(approach.findings, approach.reversal)[0]


def _percent(approach: Approach, settings: Settings) -> float | None:
    """The percentage of a mark, rounded as in a row."""
    percent = marked(approach.findings, approach.reversal, settings.rubric).mark.percent
    return None if percent is None else round(percent, 1)


def _doubt(pick: Pick, apart: Sequence[Section]) -> Doubt:
    names = pick.names
    return Doubt(
        f"The flight fits {names} about equally, and they do not give the same result: "
        "grade it by the one that was flown, with --procedure.",
        "all",
        f"{names} was flown, which the log does not decide, and they do not give the same result",
        tuple((section.approach.reversal.parts[0].start_s, section.approach.reversal.parts[-1].end_s) for section in apart),
    )
