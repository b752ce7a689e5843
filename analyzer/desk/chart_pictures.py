"""A chart as the pictures of a page: plan, profile and holds, and the missed approach in words."""

from __future__ import annotations

from analyzer.desk.asked import ChartPictures
from analyzer.procedure.charted import Charted
from analyzer.report.pictures.chart_holds import chart_holds
from analyzer.report.pictures.chart_plan import chart_plan
from analyzer.report.pictures.chart_profile import chart_profile
from analyzer.report.pictures.drawing import Drawing
from analyzer.report.pictures.layout import NARROW
from analyzer.report.pictures.svg import inline_svg
from analyzer.report.words.procedure_approach import approach_rows

__all__ = ["pictures_of"]


def pictures_of(charted: Charted) -> ChartPictures:
    """What is seen of a chart."""
    missed = next((words for label, words in approach_rows(charted) if label == "Missed"), "")
    return ChartPictures(
        inline_svg(chart_plan(charted, NARROW), "chart-"),
        _svg(chart_profile(charted, NARROW), "levels-"),
        _svg(chart_holds(charted, NARROW), "holds-"),
        f"Missed approach: {missed}." if missed else "",
    )


def _svg(drawing: Drawing | None, prefix: str) -> str:
    return "" if drawing is None else inline_svg(drawing, prefix)
