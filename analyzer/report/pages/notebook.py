"""A debrief for a notebook: verdict, lessons, plan view and parts of every approach."""

from __future__ import annotations

from typing import TYPE_CHECKING
from zlib import crc32

from analyzer.checks.finding import CLOSE, OUTSIDE
from analyzer.checks.overall import overall
from analyzer.report.pages.page import filled
from analyzer.report.pictures.layout import WIDE
from analyzer.report.pictures.plan_view import plan_view
from analyzer.report.pictures.subject import Subject
from analyzer.report.pictures.svg import inline_svg
from analyzer.report.words.caution import CAUTION
from analyzer.report.words.excuse_words import excuse_words
from analyzer.report.words.log_sentences import first_sentences, span_text
from analyzer.report.words.parts_table import parts_table
from analyzer.report.words.summary import lesson_lines
from analyzer.report.words.unrecognised import nothing_found

if TYPE_CHECKING:
    from analyzer.debriefs.data import DebriefData

__all__ = ["notebook_html"]


def notebook_html(debrief: DebriefData) -> str:
    """An HTML fragment without a script. Ids in its pictures are unique to the flight, so one notebook can hold many."""
    prefix = f"n{crc32(f'{debrief.motion.track.file} {span_text(debrief.motion.track)}'.encode()):08x}"
    approaches = []
    for section in debrief.sections:
        approach = section.approach
        headings, rows = parts_table(section.seen.motion, approach.figures)
        verdict, why = overall(approach.findings, approach.reversal)
        notable = [f for f in approach.findings if f.verdict in (OUTSIDE, CLOSE)]
        approaches.append({
            "title": section.title,
            "verdict": verdict.capitalize(),
            "why": why,
            "altitudes": approach.altitude_remark,
            "first": [{"sentence": f.sentence, "lesson": lesson_lines(f)} for f in notable[:3]],
            "excused": [(f.sentence, excuse_words(f)) for f in approach.findings if f.excused is not None],
            "plan": inline_svg(plan_view(Subject(section.seen, approach), WIDE), f"{prefix}-{section.of[0]}{section.number}-"),
            "headings": headings,
            "parts": rows,
        })  # fmt: skip
    return filled(
        "notebook",
        {
            "title": debrief.motion.charted.procedure.title,
            "file": debrief.motion.track.file,
            "span": span_text(debrief.motion.track),
            "settled": list(first_sentences(debrief)),
            "nothing": nothing_found(debrief) if not approaches else "",
            "approaches": approaches,
            "caution": CAUTION,
        },
    )
