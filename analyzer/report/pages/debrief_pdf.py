"""The debrief on paper: verdict, lessons and plan on one sheet, then the other pictures, then all that was found."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

from matplotlib.axes import Axes
from matplotlib.figure import Figure

from analyzer.checks.finding import CLOSE, INSIDE, OUTSIDE
from analyzer.checks.overall import overall
from analyzer.report.pages.pdf_pages import A4_IN, pdf, text_pages
from analyzer.report.pictures.final_view import draw_final, runway_of_final
from analyzer.report.pictures.plan_view import draw_plan_view
from analyzer.report.pictures.profile import draw_profile
from analyzer.report.pictures.strips import draw_strips
from analyzer.report.pictures.style import INK, LEG_COLOUR, QUIET, WARN
from analyzer.report.words.caution import CAUTION
from analyzer.report.words.key_figures import key_figures
from analyzer.report.words.layout import wrapped
from analyzer.report.words.log_sentences import first_sentences, span_text
from analyzer.report.words.summary import clock_sentence, flown_sentence, lesson_lines, summary_text, wind_sentence

if TYPE_CHECKING:
    from analyzer.debriefs.data import Approach, DebriefData, Section

__all__ = ["debrief_pdf"]

_LEFT_IN, _TOP_IN, _WIDTH_IN = 0.6, 0.65, 7.07
_WIDTH_OF_LETTER = 0.52  # of the font's size, of a common sans-serif
_LINE = 1.32  # of the font's size
_PLAN_LEAST_IN, _PLAN_MOST_IN = 3.6, 6.6
_PICTURE_LEFT, _PICTURE_WIDTH = 0.155, 0.765  # of the sheet, for pictures with words at their left
_STRIPS_BOTTOM = 0.09
_CAUTION_AT_IN = 0.35
_VERDICT_COLOUR = {OUTSIDE: WARN, CLOSE: "#8a5a00", INSIDE: LEG_COLOUR["inbound"]}
_TOLD = 3  # findings on the first sheet


def debrief_pdf(debrief: DebriefData) -> bytes:
    """The debrief as A4 pages; the same bytes for the same debrief."""
    return pdf(_pages(debrief))


def _pages(debrief: DebriefData) -> Iterator[Figure]:
    for one in debrief.told:
        yield from _first_sheet(one)
        yield from _further_sheets(one)
    yield from text_pages(summary_text(debrief).splitlines())


class _Sheet:
    """A sheet that is written from its top downwards."""

    def __init__(self) -> None:
        self.figure = Figure(figsize=A4_IN)
        self.figure.text(_LEFT_IN / A4_IN[0], _CAUTION_AT_IN / A4_IN[1], CAUTION, fontsize=7.0, color=QUIET, va="bottom")
        self.down_in = _TOP_IN

    def write(self, text: str, size: float, after_in: float = 0.05, **style: Any) -> None:
        """A paragraph, broken into lines."""
        lines = wrapped(text, width=int(_WIDTH_IN * 72.0 / (_WIDTH_OF_LETTER * size)))
        x, y = _LEFT_IN / A4_IN[0], 1.0 - self.down_in / A4_IN[1]
        self.figure.text(x, y, "\n".join(lines), fontsize=size, va="top", linespacing=_LINE, parse_math=False, **style)
        self.down_in += len(lines) * _LINE * size / 72.0 + after_in

    @property
    def left_in(self) -> float:
        """Height remaining on the sheet."""
        return A4_IN[1] - self.down_in - _TOP_IN


def _first_sheet(one: Section) -> Iterator[Figure]:
    """Verdict, lessons, key figures and plan view; the plan on a sheet of its own where the words leave too little room."""
    sheet, debrief, approach = _Sheet(), one.seen, one.approach
    sheet.write(_heading(one), 15.0, fontweight="bold")
    sheet.write(
        f"{debrief.motion.track.file}, {span_text(debrief)}. Judged by: {debrief.standard.title}.", 8.5, 0.12, color=QUIET
    )
    for sentence in first_sentences(debrief):
        sheet.write(sentence, 9.5)
    verdict, why = overall(approach.findings, approach.reversal)
    sheet.write(f"{verdict.capitalize()}: {why}.", 11.5, 0.1, fontweight="bold", color=_VERDICT_COLOUR.get(verdict, INK))
    if approach.altitude_remark:
        sheet.write(approach.altitude_remark, 9.5)
    for finding in [f for f in approach.findings if f.verdict in (OUTSIDE, CLOSE)][:_TOLD]:
        sheet.write(finding.sentence, 9.5, 0.02)
        for word, text in lesson_lines(finding):
            sheet.write(f"{word} {text}", 9.5, 0.02, style="italic")
        sheet.down_in += 0.06
    _write_key_figures(sheet, debrief, approach)
    flown = flown_sentence(debrief.motion.charted, approach)
    sheet.write(" ".join(filter(None, (flown, wind_sentence(approach.figures), clock_sentence(approach)))), 9.5)
    if sheet.left_in < _PLAN_LEAST_IN:
        yield sheet.figure
        sheet = _Sheet()
    height = min(sheet.left_in - 0.1, _PLAN_MOST_IN)
    bottom = 1.0 - (sheet.down_in + 0.1 + height) / A4_IN[1]
    axes = sheet.figure.add_axes((_LEFT_IN / A4_IN[0], bottom, _WIDTH_IN / A4_IN[0], height / A4_IN[1]))
    draw_plan_view(axes, debrief, approach)
    yield sheet.figure


def _heading(one: Section) -> str:
    """The procedure, and which approach or hold of several."""
    which = f", {one.title[0].lower()}{one.title[1:]}" if one.title else ""
    return one.seen.motion.charted.procedure.title + which


def _write_key_figures(sheet: _Sheet, debrief: DebriefData, approach: Approach) -> None:
    """The key figures side by side."""
    found = key_figures(debrief, approach)
    y = 1.0 - (sheet.down_in + 0.05) / A4_IN[1]
    for number, figure in enumerate(found):
        x = (_LEFT_IN + number * _WIDTH_IN / max(4, len(found))) / A4_IN[0]
        sheet.figure.text(x, y, figure.name, fontsize=8.0, color=QUIET, va="top")
        sheet.figure.text(x, y - 0.17 / A4_IN[1], figure.value, fontsize=11.0, fontweight="bold", va="top", parse_math=False)
        sheet.figure.text(x, y - 0.39 / A4_IN[1], figure.beside, fontsize=8.0, color=QUIET, va="top", parse_math=False)
    sheet.down_in += 0.68 if found else 0.0


def _further_sheets(one: Section) -> Iterator[Figure]:
    """Profile and strips; where there is a final approach to draw, it and the profile have a sheet of their own."""
    debrief, approach = one.seen, one.approach
    runway = runway_of_final(debrief, approach)
    if runway is not None:
        figure = _headed(one)
        draw_profile(_picture(figure, 0.58, 0.32), debrief, approach)
        draw_final(_picture(figure, 0.13, 0.35), debrief, approach, runway)
        yield figure
    figure, top = _headed(one), 0.9
    if runway is None and debrief.motion.has_altitude:
        draw_profile(_picture(figure, 0.72, 0.18), debrief, approach)
        top = 0.65
    draw_strips(figure, (_PICTURE_LEFT, _STRIPS_BOTTOM, _PICTURE_WIDTH, top - _STRIPS_BOTTOM), debrief, approach)
    yield figure


def _headed(one: Section) -> Figure:
    sheet = _Sheet()
    sheet.write(_heading(one), 9.5, color=QUIET)
    return sheet.figure


def _picture(figure: Figure, bottom: float, height: float) -> Axes:
    return figure.add_axes((_PICTURE_LEFT, bottom, _PICTURE_WIDTH, height))
