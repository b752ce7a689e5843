"""The class as one HTML page that stands by itself: spreads, common findings, pilots, every log, and how marks are made."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from importlib import metadata
from typing import Any

from analyzer.checks.finding import CLOSE, INSIDE, NOT_ASSESSED, OUTSIDE
from analyzer.checks.phrases import check_name
from analyzer.gradebook.index import Index
from analyzer.gradebook.roster import Roster
from analyzer.gradebook.rubric import Rubric
from analyzer.gradebook.settings import Settings
from analyzer.gradebook.tally import MOST_ATTEMPTS, Attempt, Listed, Tally
from analyzer.report.pages.debrief_page import page_environment
from analyzer.report.pictures.class_pictures import draw_progress, draw_spreads
from analyzer.report.words.caution import CAUTION
from analyzer.report.words.class_words import (
    class_counts,
    mark_words,
    percent_text,
    remarks,
    row_name,
    settled_sentences,
    title_of,
    why_words,
)
from analyzer.report.words.rubric_text import lost_by_words, rubric_rules
from analyzer.safe_text import plain_line

__all__ = ["class_page"]

_STYLE: Mapping[str | None, str] = {OUTSIDE: "outside", CLOSE: "close", INSIDE: "inside"}


def class_page(tally: Tally, index: Index, settings: Settings, roster: Roster | None) -> str:
    """The page of a class."""
    listed = tally.worst()
    head, rest = class_counts(tally)
    left_out = len(tally.pilots_left_out)
    return page_environment().get_template("class.html.j2").render(
        title=title_of(settings),
        counted=f"{index.logs:,} {'log' if index.logs == 1 else 'logs'}.",
        standard=settings.standard.title,
        rubric=settings.rubric.title,
        settled=list(settled_sentences(settings)),
        told={"head": f"{head}.", "rest": rest},
        remarks=remarks(tally, index, roster),
        spreads=draw_spreads(tally.spreads),
        checks=_checks(tally),
        pilots=_pilots(tally),
        progress=draw_progress(tally.pilots),
        pilots_left_out=f"And {left_out:,} more pilots, in grades.csv." if left_out else "",
        rows=[_row(row) for row in listed],
        left_out=f"The worst {len(listed):,} of {tally.rows:,} rows; all are in grades.csv."
        if len(listed) < tally.rows
        else "",
        rules=rubric_rules(settings.rubric),
        weights=_weights(settings.rubric),
        caution=CAUTION,
        version=metadata.version("approach-analyzer"),
    )  # fmt: skip


def _checks(tally: Tally) -> list[dict[str, Any]]:
    rows = []
    for check, verdicts in tally.checks.items():
        if sum(verdicts[verdict] for verdict in (OUTSIDE, CLOSE, INSIDE)):
            counts = [verdicts[verdict] for verdict in (OUTSIDE, CLOSE, INSIDE, NOT_ASSESSED)]
            rows.append({"name": check_name(check), "counts": counts})
    return sorted(rows, key=lambda row: (-row["counts"][0], -row["counts"][1], row["name"]))


def _pilots(tally: Tally) -> list[dict[str, Any]]:
    rows = []
    for name, attempts in sorted(tally.pilots.items()):
        approaches, holds = ([a for a in attempts if a.hold == of_hold] for of_hold in (False, True))
        more = " or more" if len(attempts) == MOST_ATTEMPTS else ""
        numbers = [_number(approaches, "attempt")] if approaches else []
        numbers += [_number(holds, "hold")] if holds else []
        marks = [_marks(approaches)] if approaches else []
        marks += [f"holds {_marks(holds)}"] if holds else []
        rows.append({"name": name, "attempts": f"{', '.join(numbers)}{more}", "marks": "; ".join(marks)})
    return rows


def _number(attempts: Sequence[Attempt], word: str) -> str:
    return f"{len(attempts)} {word}{'' if len(attempts) == 1 else 's'}"


def _marks(attempts: Sequence[Attempt]) -> str:
    ordered = sorted(attempts, key=lambda attempt: attempt.number)
    return ", ".join(percent_text(a.percent) if a.percent is not None else f"none ({a.verdict})" for a in ordered)


def _row(listed: Listed) -> dict[str, Any]:
    row = listed.row
    word = "attempt" if row["hold"] is None else "hold"
    said = [row["pilot"], row["date"], f"{word} {row['attempt']}" if row["attempt"] is not None else None]
    return {
        "name": row_name(row),
        "page": row["page"],
        "who": ", ".join(text for text in said if text),
        "verdict": (row["verdict"] or row["status"]).capitalize(),
        "style": _STYLE.get(row["verdict"], "quiet"),
        "why": plain_line(why_words(row)),
        "remark": row["remark"] or "",
        "mark": mark_words(row),
        "sum": "; ".join(listed.lost),
    }


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
