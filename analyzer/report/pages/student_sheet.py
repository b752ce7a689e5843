"""The text of a student's sheet: whose flight, the mark as a sum, and the few things that matter most."""

from __future__ import annotations

import re
from collections.abc import Collection, Mapping, Sequence
from typing import TYPE_CHECKING, Any

from analyzer.checks.finding import INSIDE
from analyzer.checks.overall import overall
from analyzer.checks.phrases import check_name, value_text
from analyzer.gradebook.mark import CheckResult, Mark, Marked
from analyzer.gradebook.review import ChangedMark, FlightReview, moved_words, remark_of
from analyzer.gradebook.roster import Entry
from analyzer.gradebook.rubric import Rubric
from analyzer.report.pictures.faults import Fault, faults_of
from analyzer.report.pictures.style import VERDICT_STYLE
from analyzer.report.words.class_words import failing_words
from analyzer.report.words.excuse_words import excused_rows, idle_sentences
from analyzer.report.words.named_words import named_words
from analyzer.report.words.practice import practice_sentence
from analyzer.report.words.summary import lesson_lines
from analyzer.report.words.unrecognised import nothing_found
from analyzer.safe_text import plain_line

if TYPE_CHECKING:
    from analyzer.debriefs.data import DebriefData, Section
    from analyzer.vocabulary import CheckName

__all__ = ["sheet_values"]

_MOST_MATTERS = 3


def sheet_values(
    debrief: DebriefData,
    marked: Sequence[Marked],
    rubric: Rubric,
    entry: Entry | None,
    date: str,
    review: FlightReview | None,
) -> dict[str, Any]:
    """The text of a sheet as JSON values. `marked` has the marks of the approaches and holds in the order flown.

    `entry` is the student's line of the roster. `date` is that of the log, used if the roster gives none. `review` is what the
    instructor said of the flight.
    """
    flown_on = entry.date.isoformat() if entry is not None and entry.date is not None else date
    facts = [
        ("Date", flown_on),
        ("Aircraft", plain_line(entry.aircraft or "") if entry is not None else ""),
        ("Procedure", debrief.motion.charted.procedure.title),
        ("Log", plain_line(debrief.motion.track.file)),
    ]
    name = plain_line(entry.pilot) if entry is not None else plain_line(debrief.motion.track.file)
    return {
        "title": debrief.motion.charted.procedure.title,
        "who": name,
        "facts": [fact for fact in facts if fact[1] and fact[1] != name],
        "settled": f"Judged by: {debrief.standard.title}. Marked by: {rubric.title}.",
        "doubts": [_without_options(doubt) for doubt in debrief.doubts],
        "idle": list(idle_sentences(debrief)),
        "nothing": "" if debrief.sections else nothing_found(debrief),
        "flights": [
            _flight(section, marks, _changed_mark(section, review))
            for section, marks in zip(debrief.sections, marked, strict=True)
        ],
        "remark": remark_of(entry.remark if entry is not None else None, review),
    }


def _changed_mark(section: Section, review: FlightReview | None) -> ChangedMark | None:
    part = (section.number, None) if section.of == "reversal" else (None, section.number)
    return review.marks.get(part) if review is not None else None


def _flight(section: Section, marked: Marked, changed: ChangedMark | None) -> dict[str, Any]:
    approach = section.approach
    verdict, why = overall(approach.findings, approach.reversal)
    faults = faults_of(approach)
    others = _others(faults[_MOST_MATTERS:])
    return {
        "title": section.title,
        "verdict": verdict,
        "style": VERDICT_STYLE.get(verdict, "unknown"),
        "why": why,
        "mark": _mark_words(marked.mark) if changed is None else f"{changed.mark:g}%",
        "changed": "" if changed is None else _change_words(changed, marked.mark),
        "note": _note(marked.mark, why),
        "sum": _sum(marked),
        "named": _named(section),
        "unjudged": _unjudged(marked.results, {finding.check for finding in approach.findings if finding.excused is not None}),
        "matters": [_matter(fault) for fault in faults[:_MOST_MATTERS]],
        "others": others,
        "excused": excused_rows(approach.findings),
        "practise": practice_sentence(approach.findings) if verdict == INSIDE else "",
        "altitudes": _without_options(approach.altitude_remark),
    }


def _named(section: Section) -> str:
    """What was named as flown, and what that costs; empty where all was recognised."""
    reversal, charted = section.approach.reversal, section.seen.motion.charted
    return "" if reversal.named is None else ": ".join(named_words(reversal, reversal.named, charted.kind))


def _without_options(text: str) -> str:
    """A text without its advice on command-line options, which is not for students."""
    text = re.sub(r"[:;] [^.:;]* --[^.]*\.", ".", text)
    return " ".join(sentence for sentence in re.split(r"(?<=\.) ", text) if " --" not in sentence)


def _matter(fault: Fault) -> dict[str, Any]:
    return {
        "number": fault.number,
        "style": VERDICT_STYLE[fault.finding.verdict],
        "verdict": fault.finding.verdict,
        "what": fault.finding.sentence,
        "lesson": lesson_lines(fault.finding),
    }


def _mark_words(mark: Mark) -> str:
    if mark.percent is not None:
        return f"{round(mark.percent, 1):g}%"
    return "Incomplete" if mark.incomplete is not None else "No mark"


def _change_words(changed: ChangedMark, mark: Mark) -> str:
    """Who changed a mark and why, and the one that was computed."""
    reason = plain_line(changed.reason)
    stop = "" if reason.endswith((".", "!", "?")) else "."
    moved = moved_words(changed, None if mark.percent is None else round(mark.percent, 1))
    later = f" {moved[:1].upper()}{moved[1:]}." if moved else ""
    return f"Changed by {plain_line(changed.by)}: {reason}{stop} Computed: {_mark_words(mark)}.{later}"


def _others(faults: Sequence[Fault]) -> str:
    """The remaining faults by their numbers in the plan: ``Also: altitude floor (4, 5), turn bank (6).``"""
    numbers: dict[str, list[str]] = {}
    for fault in faults:
        numbers.setdefault(check_name(fault.finding.check, fault.finding.unit), []).append(str(fault.number))
    listed = ", ".join(f"{name} ({', '.join(marks)})" for name, marks in numbers.items())
    return f"Also: {listed}." if listed else ""


def _note(mark: Mark, why: str) -> str:
    """A note on a mark that differs from the sum or rests on little, unless it repeats the reason for the result."""
    if mark.failed_outright:
        words = failing_words(mark.failed_outright)
        return f"{words[0].upper()}{words[1:]}, whatever the sum."
    if mark.note is None or mark.note.endswith(why):
        return ""
    note = mark.note.removeprefix("no mark: ").removeprefix("incomplete: ")
    return f"{note[:1].upper()}{note[1:]}."


def _sum(marked: Marked) -> list[tuple[str, str, str]]:
    """The rows of the sum: check, how points were lost, and points. Checks that earned all of theirs share one row."""
    counted = {check: result for check, result in marked.results.items() if result.weight is not None and result.possible}
    lost = {check: result for check, result in counted.items() if result.earned < result.possible}
    rows = [(check_name(check), _lost_words(result), _points(result.earned, result.possible)) for check, result in lost.items()]
    full = sum(result.possible for check, result in counted.items() if check not in lost)
    if full:
        number = len(counted) - len(lost)
        rows.append(("all others" if lost else "all checks", f"{number} inside", _points(full, full)))
    if counted:
        rows.append(("sum", "", _points(marked.mark.earned, marked.mark.possible)))
    return rows


def _lost_words(result: CheckResult) -> str:
    """How a check lost points: ``1 of 3 outside, by 9.2°``."""
    judged = result.inside + result.outside
    many = f"{result.outside} of {judged} outside" if judged > 1 else "outside"
    margin = result.worst.margin
    return f"{many}, by {value_text(-margin, result.worst.unit)}" if margin is not None and margin < 0.0 else many


def _points(earned: float, possible: float) -> str:
    return f"{round(earned, 2):g} of {round(possible, 2):g}"


def _unjudged(results: Mapping[CheckName, CheckResult], excused: Collection[CheckName]) -> str:
    """The checks without a point to be had; one that is excused is listed with its reason instead."""
    names = [
        check_name(check)
        for check, result in results.items()
        if result.weight is not None and not result.possible and check not in excused
    ]
    return f"Not counted, as nothing was clearly inside or outside: {', '.join(names)}." if names else ""
