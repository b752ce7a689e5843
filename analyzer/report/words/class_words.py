"""A class in words, for the page and the terminal: totals, remarks, and the mark and reason of each row."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from types import MappingProxyType
from typing import Any

from analyzer.checks.finding import CLOSE, INSIDE, NOT_ASSESSED, OUTSIDE
from analyzer.checks.phrases import check_name, height_unit
from analyzer.gradebook.index import Index
from analyzer.gradebook.roster import Entry, Roster
from analyzer.gradebook.settings import Settings
from analyzer.gradebook.tally import Tally
from analyzer.report.words.clearance_text import clearance_words
from analyzer.safe_text import plain_line

__all__ = [
    "changed_words",
    "class_counts",
    "failing_words",
    "hold_words",
    "mark_short",
    "mark_words",
    "percent_text", "procedure_words",
    "remarks",
    "result_words",
    "row_name",
    "settled_sentences",
    "short_name",
    "title_of",
    "why_short",
    "why_words",
]  # fmt: skip

NO_TITLES: Mapping[str, str] = MappingProxyType({})

_MOST_NAMED = 5
_NEAREST = "; closest to its limit: "  # as `checks.overall` words it
_UNDECIDED = "which the log does not decide"  # as `grade.undecided` words it


def title_of(settings: Settings) -> str:
    """The title of the page: the procedure, or the number of procedures to pick from."""
    if not settings.pick:
        return settings.candidates[0].procedure.title
    if settings.country is not None:
        return f"The approaches of {settings.country.name}"
    number = len(settings.candidates)
    return f"{number} procedures" if number > 1 else settings.candidates[0].procedure.title


def settled_sentences(settings: Settings) -> Iterator[str]:
    """What was set for the whole class: the clearance, and the line of minimums unless it is straight-in."""
    if settings.country is not None:
        if settings.country.cleared:
            yield f"Cleared: {', '.join(settings.country.cleared)}."
        if settings.country.line != "straight-in":
            yield f"Minimums: {settings.country.line}."
        return
    first = settings.candidates[0]
    cleared = clearance_words(first.cleared, height_unit(first.procedure.altitude_unit))
    if cleared:
        yield f"Cleared: {cleared}."
    if first.line != "straight-in":
        yield f"Minimums: {first.line}."


def class_counts(tally: Tally) -> tuple[str, str]:
    """The number of approaches and holds judged, and their results."""
    approaches = sum(tally.verdicts.values()) - tally.holds
    results = [(OUTSIDE, "outside"), (CLOSE, "too close to call"), (INSIDE, "inside"), (NOT_ASSESSED, "not assessed")]
    summary = ", ".join(f"{tally.verdicts[verdict]:,} {word}" for verdict, word in results if tally.verdicts[verdict])
    others = ", ".join(
        f"{count:,} {_counted(status, count)}" for status, count in sorted(tally.statuses.items()) if status != "graded"
    )
    rest = ". ".join(text for text in (summary, f"Also: {others}" if others else "") if text)
    head = f"{approaches:,} {'approach' if approaches == 1 else 'approaches'}" if approaches or not tally.holds else ""
    holds = f"{tally.holds:,} {'hold' if tally.holds == 1 else 'holds'}" if tally.holds else ""
    return " and ".join(text for text in (head, holds) if text), f"{rest}." if rest else ""


def _counted(status: str, count: int) -> str:
    if status != "duplicate":
        return status
    return "copy of another log" if count == 1 else "copies of another log"


def remarks(tally: Tally, index: Index, roster: Roster | None) -> list[str]:
    """Remarks on the roster, on excuses without a log, on undecided procedures, and on copies."""
    sentences = []
    if index.excuses_without_log:
        excused = ", ".join(f"{one.flight or 'no flight'} ({check_name(one.check)})" for one in index.excuses_without_log)
        sentences.append(f"Excuses that name no log, or several, and are used for none: {plain_line(excused)}.")
    matches = index.matches
    if roster is not None and matches is not None:
        if matches.logs_without:
            have = "it has" if matches.logs_without == 1 else "they have"
            sentences.append(f"{roster.name} does not name {matches.logs_without:,} of {index.logs:,} logs; {have} no pilot.")
        if matches.without_log:
            sentences.append(f"Named in {roster.name}, but without a log: {_named(matches.without_log)}.")
        if matches.of_several_logs:
            sentences.append(
                f"Named in {roster.name}, but matching several logs and used for none: {_named(matches.of_several_logs)}. "
                "Name them with their folder."
            )
    if tally.undecided:
        sentences.append(
            f"{tally.undecided:,} {'row fits' if tally.undecided == 1 else 'rows fit'} several procedures about equally, and "
            "what these do not agree on is not assessed. The remarks name the procedures."
        )
    if tally.only_named and roster is not None:
        are = "row is" if tally.only_named == 1 else "rows are"
        sentences.append(
            f"{tally.only_named:,} {are} judged by what {roster.name} names as flown, which recognition by itself does not "
            "find; it cannot be a pass. The remarks say which."
        )
    copies = tally.statuses["duplicate"]
    if copies:
        sentences.append(
            f"{copies:,} {'row is a copy' if copies == 1 else 'rows are copies'} of another log and not counted above."
        )
    return sentences


def _named(entries: tuple[Entry, ...]) -> str:
    summary = ", ".join(f"{entry.file} (line {entry.line})" for entry in entries[:_MOST_NAMED])
    more = len(entries) - _MOST_NAMED
    return summary + (f" and {more:,} more" if more > 0 else "")


def row_name(row: Mapping[str, Any]) -> str:
    """The log of a row, with the approach if it has several, or the hold."""
    if row["hold"] is not None:
        return f"{row['file']}, {hold_words(row)}"
    several = (row["approaches"] or 1) > 1
    return f"{row['file']}, approach {row['approach']} of {row['approaches']}" if several else str(row["file"])


def hold_words(row: Mapping[str, Any]) -> str:
    """The hold of a row: ``hold at PELTO, 3 laps``."""
    return f"hold at {row['hold']}, {row['laps']} {'lap' if row['laps'] == 1 else 'laps'}"


def procedure_words(row: Mapping[str, Any], titles: Mapping[str, str] = NO_TITLES) -> str:
    """The procedure that a row was judged by, with those that fit about as well: ``d02 or d09``, or by their titles."""
    rivals = row["procedure_rivals"].split(", ") if row["procedure_rivals"] else []
    return " or ".join(titles.get(name, name) for name in [row["procedure"], *rivals]) if row["procedure"] else ""


def short_name(row: Mapping[str, Any]) -> str:
    """A row by its pilot if the roster names one, ``Ada Quorl, approach 2``; else by its log."""
    if not row["pilot"]:
        return row_name(row)
    if row["hold"] is not None:
        return f"{row['pilot']}, {hold_words(row)}"
    return f"{row['pilot']}, approach {row['approach']}" if (row["approaches"] or 1) > 1 else str(row["pilot"])


def result_words(row: Mapping[str, Any]) -> str:
    """The result of a row, ``Outside``, or ``Outside, incomplete``."""
    result = str(row["verdict"] or row["status"]).capitalize()
    return f"{result}, incomplete" if row["mark_incomplete"] is not None and row["verdict"] == OUTSIDE else result


def why_short(row: Mapping[str, Any]) -> str:
    """The reason for the result of a row, without the count of findings; of a copy of another log, that it is one."""
    if row["duplicate_of"] is not None:
        return f"the same log as {row['duplicate_of']}"
    why = why_words(row)
    if row["procedure_rivals"] and _UNDECIDED in why:
        both = "both" if ", " not in row["procedure_rivals"] else "all of these procedures"
        return f"{both} fit, and they do not give the same result"
    if _NEAREST in why:
        return f"closest to its limit: {why.partition(_NEAREST)[2]}"
    return why.partition(": ")[2] if " findings: " in why else why.removesuffix(" that could be judged")


def why_words(row: Mapping[str, Any]) -> str:
    """The reason for the result of a row."""
    return str(row["verdict_sentence"] or row["reason"] or "")


def mark_short(row: Mapping[str, Any]) -> str:
    """The mark of a row in a word: ``87%``, ``incomplete``, ``none``; empty if nothing was flown."""
    if row["mark_possible"] is None:
        return ""
    if row["mark_changed_by"] is not None:
        return f"{row['mark_percent']:g}%"
    if row["mark_percent"] is None:
        return "incomplete" if row["mark_incomplete"] is not None else "none"
    return percent_text(row["mark_percent"])


def changed_words(row: Mapping[str, Any]) -> str:
    """Who changed the mark of a row, from what, and why; empty where it is the computed one."""
    if row["mark_changed_by"] is None:
        return ""
    computed = mark_short({**row, "mark_percent": row["mark_computed_percent"], "mark_changed_by": None})
    return f"{row['mark_changed_by']}, computed {computed}: {row['mark_change_reason']}"


def percent_text(percent: float) -> str:
    """A mark in whole percent, 100 only if nothing was lost."""
    return f"{min(round(percent), 99) if percent < 100.0 else 100}%"


def mark_words(row: Mapping[str, Any]) -> str:
    """The mark of a row with its sum of points: ``87.5%: 70 of 80 points.`` One that was changed is said with both marks."""
    if row["mark_possible"] is None:
        return ""
    if row["mark_changed_by"] is not None:
        computed = mark_words({**row, "mark_percent": row["mark_computed_percent"], "mark_changed_by": None})
        reason = str(row["mark_change_reason"])
        stop = "" if reason.endswith((".", "!", "?")) else "."
        return f"{row['mark_percent']:g}% by {row['mark_changed_by']}: {reason}{stop} Computed: {computed}"
    total = f"{row['mark_earned']:g} of {row['mark_possible']:g} points"
    if row["mark_percent"] is None:
        flown = f" What was flown earned {total}." if row["mark_possible"] else ""
        return f"{'Incomplete' if row['mark_incomplete'] is not None else 'No mark'}.{flown}"
    if not row["mark_failed_outright"]:
        return f"{row['mark_percent']:g}%: {total}."
    failed = row["mark_failed_outright"].split(", ")
    return f"0%: {failing_words(failed)}. The sum alone would be {total}."


def failing_words(checks: Sequence[str]) -> str:
    """What fails an approach outright: ``the distance limit and altitude floor fail the approach``."""
    *others, last = map(check_name, checks)
    names = f"{', '.join(others)} and {last}" if others else last
    return f"the {names} {'fail' if others else 'fails'} the approach"
