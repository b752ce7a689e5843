"""The debrief as a self-contained HTML page: pictures inline, no requests, and one script, allowed by its hash."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, Any

from markupsafe import Markup

from analyzer.checks.altitude_remark import altitude_sentence
from analyzer.checks.finding import CLOSE, INSIDE, OUTSIDE, Finding
from analyzer.checks.overall import grouped, overall
from analyzer.checks.phrases import check_name
from analyzer.debriefs.excusing import can_be_excused, excuse_of
from analyzer.report.pages.cursor import cursor_json
from analyzer.report.pages.page import filled, inline_script, whole_page
from analyzer.report.pictures.faults import faults_of, span_of
from analyzer.report.pictures.page_pictures import Picture
from analyzer.report.pictures.strip_kinds import QUANTITY_OF_CHECK
from analyzer.report.pictures.style import VERDICT_STYLE
from analyzer.report.pictures.subject import Subject
from analyzer.report.words.against_brief import (
    DIFFERENCE_HEADINGS,
    DIFFERENCE_NOTE,
    against_brief_headings,
    against_brief_note,
    against_brief_rows,
    against_brief_sentences,
    difference_rows,
)
from analyzer.report.words.excuse_words import IDLE_LEAD, excuse_words, idle_texts
from analyzer.report.words.key_figures import key_figures
from analyzer.report.words.log_sentences import reading_sentence, settled_first, span_text, variation_sentence
from analyzer.report.words.named_words import named_sentences
from analyzer.report.words.parts_shown import parts_shown
from analyzer.report.words.parts_table import PARTS_NOTE, parts_table
from analyzer.report.words.practice import practice_sentence
from analyzer.report.words.summary import (
    clock_sentence,
    flown_sentence,
    lesson_lines,
    wind_sentence,
)
from analyzer.report.words.unrecognised import nothing_found

if TYPE_CHECKING:
    from analyzer.debriefs.data import Approach, DebriefData, Section

__all__ = ["debrief_page", "debrief_parts", "debrief_script"]

_Worded = Callable[[dict[str, Any]], dict[str, Any]]

_NEXT = Markup("<!-- next -->")  # between the verdicts and the rest; no text has it, as all of them are escaped
_NUMERIC = (3, 4, 6)  # the columns of numbers in the table of parts, from 1


def debrief_page(debrief: DebriefData, pictures: Sequence[Sequence[Picture]], worded: _Worded = lambda content: content) -> str:
    """The page of a debrief.

    `pictures` lists the pictures of each approach and hold in the order flown, or those of a flight without any. `worded` puts
    what the template is given into the words of whoever reads it.
    """
    return whole_page("debrief", worded(_content(debrief, pictures)), debrief_script())


def debrief_parts(debrief: DebriefData, pictures: Sequence[Sequence[Picture]], worded: _Worded) -> tuple[str, str, str]:
    """What stands in the page of a debrief, for a page of its own: the head, the verdicts, and the rest.

    Between the last two is room for what can be done next; of a flight in which nothing is recognised the verdicts are empty,
    as its head says so. `worded` puts what the templates are given into the words of that page.
    """
    content = {**worded(_content(debrief, pictures)), "next": _NEXT}
    verdicts, found, rest = filled("debrief_body", content).partition(_NEXT)
    return filled("debrief_head", content), verdicts if found else "", rest if found else verdicts


def _content(debrief: DebriefData, pictures: Sequence[Sequence[Picture]]) -> dict[str, Any]:
    """The values for the template of the body."""
    track, charted = debrief.motion.track, debrief.motion.charted
    names = _Names()
    if debrief.sections:
        approaches = [_approach(section, drawn, names) for section, drawn in zip(debrief.sections, pictures, strict=True)]
    else:
        approaches = [_unrecognised(debrief, drawn) for drawn in pictures]
    return {
        "title": charted.procedure.title,
        "file": track.file,
        "span": span_text(debrief.motion.track),
        "standard": debrief.standard.title,
        "named": list(named_sentences(debrief)),
        "settled": list(settled_first(debrief)),
        "nothing": nothing_found(debrief) if not debrief.sections else "",
        "doubts": debrief.doubts,
        "idle_lead": IDLE_LEAD,
        "idle": [
            {"text": text, "excuse": one.excuse, "form": ""}
            for one, text in zip(debrief.idle, idle_texts(debrief), strict=True)
        ],
        "approaches": approaches,
        "next": "",
        "beside_headings": against_brief_headings(charted),
        "beside_note": against_brief_note(charted),
        "difference_headings": DIFFERENCE_HEADINGS,
        "difference_note": DIFFERENCE_NOTE,
        "numeric": _NUMERIC,
        "parts_note": PARTS_NOTE,
        "reading": f"{reading_sentence(debrief)} {altitude_sentence(debrief.motion)}".strip(),
        "notes": [note.text for note in debrief.motion.notes],
        "variation": variation_sentence(debrief),
    }


def debrief_script() -> str:
    """The script in the page of a debrief: the instant in all pictures, and the replay."""
    return inline_script("cursor.js") + inline_script("replay.js")


class _Names:
    """Unique names for the rows of a page: a repeated name gets a number."""

    def __init__(self) -> None:
        self._given: Counter[str] = Counter()

    def unique(self, *words: str | None) -> str:
        name = "-".join(word for word in words if word)
        self._given[name] += 1
        return name if self._given[name] == 1 else f"{name}-{self._given[name]}"


def _approach(section: Section, drawn: Sequence[Picture], names: _Names) -> dict[str, Any]:
    debrief, approach = section.seen, section.approach
    verdict, why = overall(approach.findings, approach.reversal)
    headings, rows = parts_table(debrief.motion, approach.figures)
    others = [
        group
        for group in grouped(approach.findings)
        if group[1][0].verdict not in (OUTSIDE, CLOSE) and group[1][0].excused is None
    ]
    return {
        "id": names.unique(section.of[0] + str(section.number)),
        "title": section.title,
        "verdict": verdict.capitalize(),
        "why": f"{why}.",
        "style": VERDICT_STYLE.get(verdict, ""),
        "practise": practice_sentence(approach.findings) if verdict == INSIDE else "",
        "altitudes": approach.altitude_remark,
        "faults": [
            {
                **_finding(fault.finding, section, names),
                "number": fault.number,
                "style": VERDICT_STYLE[fault.finding.verdict],
                "verdict": fault.finding.verdict.capitalize(),
            }
            for fault in faults_of(approach)
        ],
        "excused": [
            {**_finding(finding, section, names), "words": excuse_words(finding)}
            for finding in approach.findings
            if finding.excused is not None
        ],
        "key": key_figures(debrief, approach),
        "flown": flown_sentence(debrief.motion.charted, approach),
        "no_wind": wind_sentence(approach.figures) if approach.figures.wind is None else "",
        "no_clock": clock_sentence(approach),
        "pictures": drawn,
        "data": cursor_json(Subject(debrief, approach), drawn),
        "brief": _against_brief(debrief, approach),
        "headings": headings,
        "parts": [
            {
                "id": names.unique("part", figures.part.name),
                "cells": cells,
                "span": _span(figures.part.start_s, figures.part.end_s),
                "shown_in": "plan",
            }
            for figures, cells in zip(parts_shown(approach.figures), rows, strict=True)
        ],
        "groups": [
            {"heading": heading, "findings": [_finding(finding, section, names) for finding in group]}
            for heading, group in others
        ],
    }


def _unrecognised(debrief: DebriefData, drawn: Sequence[Picture]) -> dict[str, Any]:
    """The values of a flight in which nothing was recognised: its pictures only."""
    subject = Subject(debrief, None)
    empty = dict.fromkeys(("title", "verdict", "why", "style", "practise", "altitudes", "flown", "no_wind", "no_clock"), "")
    nothing: dict[str, Any] = {"faults": [], "excused": [], "key": (), "brief": None, "parts": [], "groups": []}
    return {**empty, **nothing, "id": "flight", "pictures": drawn, "data": cursor_json(subject, drawn)}


def _span(start_s: float, end_s: float, at_s: float | None = None) -> tuple[str, str, str]:
    """A stretch of the flight for the page's script, and an instant in it, by default its first whole second.

    The page shows the second nearest to the instant; the nearest to half a second after the start is not before the stretch.
    """
    at = min(start_s + 0.51, end_s) if at_s is None else at_s
    return f"{start_s:.2f}", f"{end_s:.2f}", f"{at:.2f}"


def _against_brief(debrief: DebriefData, approach: Approach) -> dict[str, Any] | None:
    comparison = approach.comparison
    if comparison is None:
        return None
    return {
        "sentences": against_brief_sentences(comparison, approach.figures, approach.reversal),
        "rows": list(against_brief_rows(comparison, debrief.motion.charted)),
        "differences": list(difference_rows(comparison)),
    }


def _finding(finding: Finding, section: Section, names: _Names) -> dict[str, Any]:
    """The values of a finding. `excuse` is the one that it has, or may be given; `form` is room for a page that can do so."""
    span = span_of(finding, section.approach.reversal)
    excuse = excuse_of(section, finding) if can_be_excused(finding) else None
    return {
        "id": names.unique("finding", finding.check, finding.part or finding.leg),
        "span": _span(*span, finding.place.time_s if finding.place is not None else None) if span is not None else None,
        "shown_in": "profile" if QUANTITY_OF_CHECK.get(finding.check) in ("altitude", "vertical_speed") else "plan",
        "name": check_name(finding.check, finding.unit),
        "sentence": finding.sentence,
        "reason": finding.reason or "",
        "source": finding.source,
        "lesson": lesson_lines(finding),
        "excuse": excuse if finding.excused is None else finding.excused.excuse,
        "form": "",
    }
