"""A debrief as a notebook shows it: verdict, lessons, plan view and parts of every approach."""

from __future__ import annotations

from typing import TYPE_CHECKING
from zlib import crc32

from analyzer.checks.finding import CLOSE, OUTSIDE
from analyzer.checks.overall import overall
from analyzer.checks.phrases import height_unit
from analyzer.report.pages.debrief_page import page_environment
from analyzer.report.pictures.layout import WIDE
from analyzer.report.pictures.plan_view import plan_view
from analyzer.report.pictures.subject import Subject
from analyzer.report.pictures.svg import inline_svg
from analyzer.report.words.caution import CAUTION
from analyzer.report.words.log_sentences import first_sentences, span_text
from analyzer.report.words.parts_shown import parts_shown
from analyzer.report.words.summary import lesson_lines, nothing_found, part_headings, part_row

if TYPE_CHECKING:
    from analyzer.debriefs.data import DebriefData

__all__ = ["notebook_html"]


def notebook_html(debrief: DebriefData) -> str:
    """A piece of HTML without script; names in its pictures differ from flight to flight, so that many can stand together."""
    height = height_unit(debrief.motion.charted.altitude_unit)
    prefix = f"n{crc32(f'{debrief.motion.track.file} {span_text(debrief)}'.encode()):08x}"
    approaches = []
    for one in debrief.sections:
        approach, variation = one.approach, one.seen.motion.charted.variation.east_rad
        verdict, why = overall(approach.findings, approach.reversal)
        notable = [f for f in approach.findings if f.verdict in (OUTSIDE, CLOSE)]
        approaches.append({
            "title": one.title,
            "verdict": verdict.capitalize(),
            "why": why,
            "altitudes": approach.altitude_remark,
            "first": [{"sentence": f.sentence, "lesson": lesson_lines(f)} for f in notable[:3]],
            "plan": inline_svg(plan_view(Subject(one.seen, approach), WIDE), f"{prefix}-{one.of[0]}{one.number}-"),
            "parts": [part_row(figures, variation, height) for figures in parts_shown(approach.figures)],
        })  # fmt: skip
    return (
        page_environment()
        .get_template("notebook.html.j2")
        .render(
            title=debrief.motion.charted.procedure.title,
            file=debrief.motion.track.file,
            span=span_text(debrief),
            settled=list(first_sentences(debrief)),
            nothing=nothing_found(debrief) if not approaches else "",
            approaches=approaches,
            headings=part_headings(height),
            caution=CAUTION,
        )
    )
