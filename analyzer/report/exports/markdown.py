"""The debrief as Markdown (CommonMark with the pipe tables of GFM), to keep with other notes or to comment on.

Names and sentences from files are literal text: what could begin a link, an image, a tag, a table or emphasis has a
backslash before it. GFM links an address in spite of that, so addresses are broken by a character of zero width.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from typing import TYPE_CHECKING

from analyzer.checks.altitude_remark import altitude_sentence
from analyzer.checks.finding import CLOSE, OUTSIDE, Finding
from analyzer.checks.overall import grouped, overall
from analyzer.checks.phrases import check_name, value_text
from analyzer.report.words.against_brief import (
    against_brief_headings,
    against_brief_note,
    against_brief_rows,
    against_brief_sentences,
)
from analyzer.report.words.caution import CAUTION
from analyzer.report.words.excuse_words import excuse_words
from analyzer.report.words.log_sentences import first_sentences, reading_sentence, span_text, variation_sentence
from analyzer.report.words.parts_table import PARTS_NOTE, parts_table
from analyzer.report.words.summary import (
    clock_sentence,
    flown_sentence,
    lesson_lines,
    limit_text,
    where_text,
    whole_sentence,
    wind_sentence,
)
from analyzer.report.words.unrecognised import nothing_found
from analyzer.safe_text import plain_line

if TYPE_CHECKING:
    from analyzer.debriefs.data import Approach, DebriefData

__all__ = ["debrief_markdown"]

_WORD_JOINER = "\u2060"  # zero width
_MARKUP = re.compile(r"[\\`*_\[<>#|~&]")
_RULE_OR_LIST = re.compile(r"^(\d{1,9}(?=[.)])|(?=[-+=]))")
_ADDRESS = re.compile(r"(?i)(?<=:)(?=//)|(?<=www)(?=\.)|(?<=@)")  # inside each kind of address that GFM links
_FINDING_HEADINGS = ("check", "where", "measured", "limit", "margin", "verdict", "source")
_MARGIN_NOTE = "A margin is positive inside, and includes the tolerance of the standard."


def debrief_markdown(debrief: DebriefData) -> str:
    """The debrief as Markdown text."""
    track, procedure = debrief.motion.track, debrief.motion.charted.procedure
    blocks = [
        f"# {_inline(procedure.title)}",
        f"> {CAUTION}",
        _text(f"{track.file}, {span_text(debrief.motion.track)}. Judged by: {debrief.standard.title}."),
    ]
    blocks += [_text(sentence) for sentence in first_sentences(debrief)]
    blocks += [f"**Check first:** {_inline(doubt)}" for doubt in debrief.doubts]
    if not debrief.sections:
        blocks += ["## Nothing to judge", _text(nothing_found(debrief))]
    for section in debrief.sections:
        blocks.append(f"## {_inline(section.title or 'Result')}")
        blocks += _approach(section.seen, section.approach)
    notes = [
        reading_sentence(debrief),
        *filter(None, [altitude_sentence(debrief.motion)]),
        *(note.text for note in debrief.motion.notes),
        variation_sentence(debrief),
    ]
    blocks += ["## How the log was read", "\n".join(f"- {_text(note)}" for note in notes)]
    return "\n\n".join(blocks) + "\n"


def _approach(debrief: DebriefData, approach: Approach) -> Iterator[str]:
    verdict, why = overall(approach.findings, approach.reversal)
    yield f"**{verdict.capitalize()}:** {_inline(why)}."
    if approach.altitude_remark:
        yield _text(approach.altitude_remark)
    flown = flown_sentence(debrief.motion.charted, approach)
    yield _text(" ".join(filter(None, (flown, wind_sentence(approach.figures), clock_sentence(approach)))))
    ordered = [finding for _, group in grouped(approach.findings) for finding in group]
    taught = [finding for finding in ordered if finding.lesson is not None or finding.verdict in (OUTSIDE, CLOSE)]
    if taught:
        yield "### Lessons"
        yield "\n".join(line for finding in taught for line in _lesson(finding))
    excused = [finding for finding in ordered if finding.excused is not None]
    if excused:
        yield "### Excused"
        yield "\n".join(f"- ~~{_inline(finding.sentence)}~~ {_inline(excuse_words(finding))}" for finding in excused)
    yield "### Parts"
    headings, rows = parts_table(debrief.motion, approach.figures)
    yield _table(headings, rows, right={2, 3, 5})
    yield PARTS_NOTE
    if approach.comparison is not None:
        yield "### Compared with the brief"
        yield _text(" ".join(against_brief_sentences(approach.comparison, approach.figures, approach.reversal)))
        yield _table(
            against_brief_headings(debrief.motion.charted),
            against_brief_rows(approach.comparison, debrief.motion.charted),
            right=set(),
        )
        yield against_brief_note(debrief.motion.charted)
    yield "### Findings"
    yield _table(_FINDING_HEADINGS, map(_finding, ordered), right={2, 3, 4})
    yield _MARGIN_NOTE


def _lesson(finding: Finding) -> Iterator[str]:
    yield f"- {_text(whole_sentence(finding))}"
    for word, text in lesson_lines(finding):
        yield f"  - *{word}* {_inline(text)}"


def _finding(finding: Finding) -> tuple[str, ...]:
    verdict = finding.verdict if finding.reason is None else f"{finding.verdict}: {finding.reason}"
    measured, margin = (value_text(value, finding.unit) for value in (finding.measured, finding.margin))
    name = check_name(finding.check, finding.unit)
    return (name, where_text(finding), measured, limit_text(finding), margin, verdict, finding.source)


def _table(headings: Sequence[str], rows: Iterable[Sequence[str]], right: set[int]) -> str:
    """A pipe table with the columns in `right` flush right."""
    rule = ["---:" if k in right else "---" for k in range(len(headings))]
    lines = [headings, rule, *([_inline(cell) for cell in row] for row in rows)]
    return "\n".join(f"| {' | '.join(cells)} |" for cells in lines)


def _inline(text: str) -> str:
    """Text escaped to be literal within a line."""
    escaped = _MARKUP.sub(r"\\\g<0>", plain_line(text))
    return _ADDRESS.sub(_WORD_JOINER, escaped)


def _text(text: str) -> str:
    """Text escaped to be literal at the beginning of a line, where a dash or a number could begin a list."""
    return _RULE_OR_LIST.sub(r"\1\\", _inline(text))
