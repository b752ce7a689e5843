"""The debrief on paper: verdict, lessons and plan on one sheet, profile and strips on the next, then all that was found."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

from matplotlib.figure import Figure

from analyzer.checks.model import CLOSE, INSIDE, OUTSIDE
from analyzer.checks.overall import overall
from analyzer.report.cleared import settled_sentences
from analyzer.report.document import CAUTION
from analyzer.report.key_figures import key_figures
from analyzer.report.paper import A4_IN, pdf, text_pages
from analyzer.report.plan_view import draw_plan_view
from analyzer.report.profile import draw_profile
from analyzer.report.reading import span_text
from analyzer.report.strips import draw_strips
from analyzer.report.style import INK, LEG_COLOUR, QUIET, WARN
from analyzer.report.summary import flown_sentence, lesson_lines, summary_text, wind_sentence

if TYPE_CHECKING:
    from analyzer.debriefing import Approach, Debrief, Told

__all__ = ["debrief_pdf"]

_LEFT_IN, _TOP_IN, _WIDTH_IN = 0.6, 0.65, 7.07
_WIDTH_OF_LETTER = 0.52  # of the font's size, of a common sans-serif
_LINE = 1.32  # of the font's size
_PLAN_LEAST_IN, _PLAN_MOST_IN = 3.6, 6.6
_CAUTION_AT_IN = 0.35
_VERDICT_COLOUR = {OUTSIDE: WARN, CLOSE: "#8a5a00", INSIDE: LEG_COLOUR["inbound"]}
_TOLD = 3  # findings on the first sheet


def debrief_pdf(debrief: Debrief) -> bytes:
    """The debrief as A4 pages; the same bytes for the same debrief."""
    return pdf(_pages(debrief))


def _pages(debrief: Debrief) -> Iterator[Figure]:
    for one in debrief.told:
        yield from _first_sheet(one)
        yield _second_sheet(one.seen, one.approach)
    yield from text_pages(summary_text(debrief).splitlines())


class _Sheet:
    """A sheet that is written from its top downwards."""

    def __init__(self) -> None:
        self.figure = Figure(figsize=A4_IN)
        self.figure.text(_LEFT_IN / A4_IN[0], _CAUTION_AT_IN / A4_IN[1], CAUTION, fontsize=7.0, color=QUIET, va="bottom")
        self.down_in = _TOP_IN

    def write(self, text: str, size: float, after_in: float = 0.05, **style: Any) -> None:
        """A paragraph, broken into lines."""
        lines = textwrap.wrap(text, int(_WIDTH_IN * 72.0 / (_WIDTH_OF_LETTER * size)))
        x, y = _LEFT_IN / A4_IN[0], 1.0 - self.down_in / A4_IN[1]
        self.figure.text(x, y, "\n".join(lines), fontsize=size, va="top", linespacing=_LINE, parse_math=False, **style)
        self.down_in += len(lines) * _LINE * size / 72.0 + after_in

    @property
    def left_in(self) -> float:
        """What is left of the sheet's height."""
        return A4_IN[1] - self.down_in - _TOP_IN


def _first_sheet(one: Told) -> Iterator[Figure]:
    """Verdict, lessons, key figures and plan view; the plan on a sheet of its own where the words leave too little room."""
    sheet, debrief, approach = _Sheet(), one.seen, one.approach
    which = f", {one.title[0].lower()}{one.title[1:]}" if one.title else ""
    sheet.write(debrief.motion.charted.procedure.title + which, 15.0, fontweight="bold")
    sheet.write(
        f"{debrief.motion.track.file}, {span_text(debrief)}. Judged by: {debrief.standard.title}.", 8.5, 0.12, color=QUIET
    )
    for sentence in settled_sentences(debrief.motion.charted):
        sheet.write(sentence, 9.5)
    verdict, why = overall(approach.findings, approach.reversal)
    sheet.write(f"{verdict.capitalize()}: {why}.", 11.5, 0.1, fontweight="bold", color=_VERDICT_COLOUR.get(verdict, INK))
    for finding in [f for f in approach.findings if f.verdict in (OUTSIDE, CLOSE)][:_TOLD]:
        sheet.write(finding.sentence, 9.5, 0.02)
        for word, text in lesson_lines(finding):
            sheet.write(f"{word} {text}", 9.5, 0.02, style="italic")
        sheet.down_in += 0.06
    _write_key_figures(sheet, debrief, approach)
    sheet.write(f"{flown_sentence(debrief.motion.charted, approach.reversal)} {wind_sentence(approach.figures.wind)}", 9.5)
    if sheet.left_in < _PLAN_LEAST_IN:
        yield sheet.figure
        sheet = _Sheet()
    height = min(sheet.left_in - 0.1, _PLAN_MOST_IN)
    bottom = 1.0 - (sheet.down_in + 0.1 + height) / A4_IN[1]
    axes = sheet.figure.add_axes((_LEFT_IN / A4_IN[0], bottom, _WIDTH_IN / A4_IN[0], height / A4_IN[1]))
    draw_plan_view(axes, debrief, approach)
    yield sheet.figure


def _write_key_figures(sheet: _Sheet, debrief: Debrief, approach: Approach) -> None:
    """The key figures side by side."""
    found = key_figures(debrief, approach)
    y = 1.0 - (sheet.down_in + 0.05) / A4_IN[1]
    for number, figure in enumerate(found):
        x = (_LEFT_IN + number * _WIDTH_IN / max(4, len(found))) / A4_IN[0]
        sheet.figure.text(x, y, figure.name, fontsize=8.0, color=QUIET, va="top")
        sheet.figure.text(x, y - 0.17 / A4_IN[1], figure.value, fontsize=11.0, fontweight="bold", va="top", parse_math=False)
        sheet.figure.text(x, y - 0.39 / A4_IN[1], figure.beside, fontsize=8.0, color=QUIET, va="top", parse_math=False)
    sheet.down_in += 0.68 if found else 0.0


def _second_sheet(debrief: Debrief, approach: Approach) -> Figure:
    """Profile and strips."""
    figure = _Sheet().figure
    bottom = 0.09
    if debrief.motion.has_altitude:
        draw_profile(figure.add_axes((0.155, 0.75, 0.765, 0.19)), debrief, approach)
        draw_strips(figure, (0.155, bottom, 0.765, 0.58), debrief, approach)
    else:
        draw_strips(figure, (0.155, bottom, 0.765, 0.8), debrief, approach)
    return figure
