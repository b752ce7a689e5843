"""The class as a self-contained HTML page: names and marks, tracks, common findings, pilots, spreads, every flight."""

from __future__ import annotations

import datetime as dt
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from analyzer.checks.finding import CLOSE, INSIDE, NOT_ASSESSED, OUTSIDE
from analyzer.checks.phrases import check_name
from analyzer.gradebook.flown_tracks import RowKey, key_of
from analyzer.gradebook.index import Index
from analyzer.gradebook.roster import Roster
from analyzer.gradebook.rubric import Rubric
from analyzer.gradebook.settings import Settings
from analyzer.gradebook.tally import MOST_ATTEMPTS, Attempt, Listed, Tally, Unflown
from analyzer.procedure.charted import resolve
from analyzer.report.pages.page import filled, whole_page
from analyzer.report.pictures.class_pictures import draw_progress, draw_spreads
from analyzer.report.pictures.class_tracks import class_tracks_picture
from analyzer.report.pictures.style import VERDICT_STYLE
from analyzer.report.words.class_words import (
    changed_words,
    class_counts,
    mark_short,
    mark_words,
    percent_text,
    procedure_words,
    remarks,
    result_words,
    row_name,
    settled_sentences,
    short_name,
    title_of,
    why_short,
    why_words,
)
from analyzer.report.words.rubric_text import lost_by_words, rubric_rules
from analyzer.safe_text import plain_line

__all__ = ["class_page", "class_parts"]

_MOST_AT_FIRST = 60  # rows of the first list; the last list has all of them
_OF_LIST = ("title", "counted", "standard", "rubric", "settled", "summary", "remarks", "picks", "rows", "left_out")
_MOST_NAMED = 12  # flights named as outside by a check


def class_page(tally: Tally, index: Index, settings: Settings, roster: Roster | None) -> str:
    """The page of a class."""
    return whole_page("class", _values(tally, index, settings, roster))


def class_parts(tally: Tally, index: Index, settings: Settings, roster: Roster | None) -> tuple[dict[str, Any], str, str]:
    """What a page with a list of its own shows of a class: the values of the list; what follows it, and the rules, as HTML."""
    values = _values(tally, index, settings, roster)
    of_list = {name: value for name, value in values.items() if name in _OF_LIST}
    return of_list, filled("class_shown", values), filled("class_rules", values)


def _values(tally: Tally, index: Index, settings: Settings, roster: Roster | None) -> dict[str, Any]:
    """What stands on the page of a class."""
    listed = tally.worst()
    numbers = {key_of(flight.row): number for number, flight in enumerate(listed, 1)}
    titles = _titles(settings)
    rows = [_row(number, flight, tally, titles) for number, flight in enumerate(listed, 1)]
    head, rest = class_counts(tally)
    left_out, later = len(tally.pilots_left_out), len(listed) - _MOST_AT_FIRST
    return {
        "title": title_of(settings),
        "counted": f"{index.logs:,} {'log' if index.logs == 1 else 'logs'}.",
        "standard": settings.standard.title,
        "rubric": settings.rubric.title,
        "settled": list(settled_sentences(settings)),
        "summary": {"head": f"{head}.", "rest": rest},
        "remarks": remarks(tally, index, roster),
        "picks": settings.pick,
        "first": rows[:_MOST_AT_FIRST],
        "later": f"And {later:,} more, listed with these under “Every flight”." if later > 0 else "",
        "pictures": list(_tracks(tally, settings, numbers, titles)),
        "spreads": draw_spreads(tally.spreads),
        "checks": _checks(tally, {row["key"]: row for row in rows}),
        "never": _never(tally),
        "pilots": _pilots(tally),
        "progress": draw_progress(tally.pilots),
        "pilots_left_out": f"And {left_out:,} more pilots; grades.csv lists them all." if left_out else "",
        "rows": rows,
        "left_out": f"These are the worst {len(listed):,} of {tally.rows:,} rows; grades.csv lists them all."
        if len(listed) < tally.rows
        else "",
        "rules": rubric_rules(settings.rubric),
        "weights": _weights(settings.rubric),
    }


def _titles(settings: Settings) -> Mapping[str, str]:
    """The title of each procedure by its name, with the name where several have one title; none for a whole country."""
    known = settings.candidates if settings.country is None else ()
    alike = Counter(candidate.procedure.title for candidate in known)
    return {
        one.name: one.procedure.title if alike[one.procedure.title] == 1 else f"{one.procedure.title} ({one.name})"
        for one in known
    }


def _tracks(
    tally: Tally, settings: Settings, numbers: Mapping[RowKey, int], titles: Mapping[str, str]
) -> Iterator[dict[str, Any]]:
    """The picture of each procedure that was flown, the most flown first."""
    most_flown = sorted(tally.tracks.items(), key=lambda item: (-item[1].seen, item[0]))
    for number, (name, flown) in enumerate(most_flown):
        offered = settings.candidates if settings.country is None else settings.country.at(*flown.fix_deg)
        candidate = next(candidate for candidate in offered if candidate.name == name)
        date = dt.datetime.fromisoformat(flown.start).date()
        charted = resolve(candidate.procedure, date, candidate.line)
        yield {
            "title": titles.get(name, f"{candidate.procedure.title} ({name})") if settings.pick else "",
            "picture": class_tracks_picture(charted, flown, numbers, f"t{number}"),
        }


def _checks(tally: Tally, rows: Mapping[RowKey, Mapping[str, Any]]) -> list[dict[str, Any]]:
    """The checks that were ever outside or too close to call, the most often outside first, with the flights outside."""
    checks = []
    for check, verdicts in tally.checks.items():
        if not verdicts[OUTSIDE] + verdicts[CLOSE]:
            continue
        named = [rows[key] for key in tally.outside[check] if key in rows][:_MOST_NAMED]
        more = verdicts[OUTSIDE] - len(named)
        checks.append({
            "name": check_name(check),
            "counts": [verdicts[verdict] for verdict in (OUTSIDE, CLOSE, INSIDE, NOT_ASSESSED)],
            "who": named,
            "more": f" and {more:,} more" if more and named else "",
        })  # fmt: skip
    return sorted(checks, key=lambda row: (-row["counts"][0], -row["counts"][1], row["name"]))


def _never(tally: Tally) -> str:
    """The checks that were inside whenever they were judged."""
    names = [check_name(check) for check, seen in tally.checks.items() if seen[INSIDE] and not seen[OUTSIDE] + seen[CLOSE]]
    return f"Never outside or too close to call: {', '.join(names)}." if names else ""


def _pilots(tally: Tally) -> list[dict[str, Any]]:
    """The pilots with their marks; empty if each flew once, as the first list shows that already."""
    if all(len(tally.pilots.get(name, ())) + len(tally.unflown.get(name, ())) < 2 for name in {*tally.pilots, *tally.unflown}):
        return []
    rows = []
    for name in sorted({*tally.pilots, *tally.unflown}):
        attempts = tally.pilots.get(name, [])
        approaches, holds = ([a for a in attempts if a.hold == of_hold] for of_hold in (False, True))
        more = " or more" if len(attempts) == MOST_ATTEMPTS else ""
        numbers = [_number(approaches, "attempt")] if approaches else []
        numbers += [_number(holds, "hold")] if holds else []
        marks = [_marks(approaches)] if approaches else []
        marks += [f"holds {_marks(holds)}"] if holds else []
        marks += [_unflown_words(log) for log in tally.unflown.get(name, [])]
        rows.append({"name": name, "attempts": f"{', '.join(numbers) or 'none'}{more}", "marks": "; ".join(marks)})
    return rows


def _unflown_words(log: Unflown) -> str:
    return f"{plain_line(log.file)}: {log.status}"


def _number(attempts: Sequence[Attempt], word: str) -> str:
    return f"{len(attempts)} {word}{'' if len(attempts) == 1 else 's'}"


def _marks(attempts: Sequence[Attempt]) -> str:
    ordered = sorted(attempts, key=lambda attempt: attempt.number)
    return ", ".join(percent_text(a.percent) if a.percent is not None else f"none ({a.verdict})" for a in ordered)


def _row(number: int, listed: Listed, tally: Tally, titles: Mapping[str, str]) -> dict[str, Any]:
    row = listed.row
    several = len(tally.pilots.get(row["pilot"], ())) > 1
    word = "attempt" if row["hold"] is None else "hold"
    details = [row["date"], f"{word} {row['attempt']}" if row["attempt"] is not None else None]
    anchor = f"flight-{number}"
    return {
        "key": key_of(row),
        "number": number,
        "id": anchor,
        "name": row_name(row),
        "short": short_name(row),
        "called": f"{row['pilot']} ({word} {row['attempt']})" if several else short_name(row),
        "log": row["file"] if row["pilot"] else "",
        "link": row["page"] or row["sheet"] or f"#{anchor}",
        "sheet": row["sheet"],
        "page": row["page"],
        "procedure": procedure_words(row, titles),
        "pilot": row["pilot"],
        "who": ", ".join(text for text in details if text),
        "verdict": (row["verdict"] or row["status"]).capitalize(),
        "result": result_words(row),
        "style": VERDICT_STYLE.get(row["verdict"], "quiet"),
        "short_why": plain_line(why_short(row)),
        "why": plain_line(why_words(row)),
        "reasons": listed.reasons,
        "excused": listed.excused,
        "remark": (row["remark"] or "") if row["remark"] != _failed_note(row) else "",
        "short_mark": mark_short(row),
        "mark": mark_words(row),
        "sum": "; ".join(listed.lost),
        "changed": changed_words(row),
        "moved": row["mark_change_note"] or "",
        "instructor": row["instructor_remark"] or "",
    }


def _failed_note(row: Mapping[str, Any]) -> str:
    """The remark on a mark that failed outright, which the mark in words repeats."""
    return f"failed outright: {(row['mark_failed_outright'] or '').replace('_', ' ')}"


def _weights(rubric: Rubric) -> Sequence[dict[str, str]]:
    checks = [*rubric.weights, *(check for check in rubric.fails_outright if check not in rubric.weights)]
    return [
        {
            "name": check_name(check),
            "value": f"{rubric.weights.get(check, 0.0):g}",
            "lost_by": lost_by_words(rubric, check),
            "outright": "fails outright" if check in rubric.fails_outright else "",
        }
        for check in checks
    ]
