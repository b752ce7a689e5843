"""The brief as one HTML page that stands by itself, and its card as PDF."""

from __future__ import annotations

import io
import warnings
from importlib import metadata
from itertools import groupby
from typing import TYPE_CHECKING

from markupsafe import Markup
from matplotlib.backends.backend_pdf import PdfPages
from matplotlib.figure import Figure

from analyzer.brief.cautions import cautions
from analyzer.report.brief_text import (
    PART_HEADINGS,
    brief_text,
    chances_sentence,
    conditions_sentence,
    entry_sentence,
    number_text,
    part_rows,
    rule_text,
)
from analyzer.report.document import CAUTION
from analyzer.report.page import page_environment
from analyzer.report.pictures import draw_plan, plan_figures
from analyzer.report.style import look

if TYPE_CHECKING:
    from analyzer.briefing import Brief

__all__ = ["brief_page", "brief_pdf"]

_A4_IN = (8.27, 11.69)
_LINES_A_PAGE = 84


def brief_page(brief: Brief) -> str:
    """The page of a brief."""
    environment = page_environment()
    flown = brief.flown()
    pictures = draw_plan(flown, brief.chances.paths_m if brief.chances is not None else None)
    groups = [
        {
            "heading": name.capitalize(),
            "numbers": [{"name": n.name, "value": number_text(n), "how": n.how, "rule": rule_text(n)} for n in numbers],
        }
        for name, numbers in groupby(brief.numbers, key=lambda number: number.group)
    ]
    return environment.get_template("brief.html.j2").render(
        title=brief.charted.procedure.title,
        shape=brief.plan.pattern.shape,
        conditions=conditions_sentence(brief),
        chances=chances_sentence(brief),
        entry=entry_sentence(brief),
        headings=PART_HEADINGS,
        rows=list(part_rows(brief)),
        pictures=[{"svg": Markup(p.svg), "caption": p.caption, "alt": p.alt} for p in pictures],  # noqa: S704 - matplotlib escapes
        notes=cautions(brief.plan),
        undrawn=not pictures,
        groups=groups,
        warnings=brief.charted.warnings,
        caution=CAUTION,
        version=metadata.version("approach-analyzer"),
    )


def brief_pdf(brief: Brief) -> bytes:
    """The card as A4 pages of plain text, and the path drawn in plan and profile; the same bytes for the same brief."""
    lines = brief_text(brief).splitlines()
    content = io.BytesIO()
    beneath = brief.chances.paths_m if brief.chances is not None else None
    with (
        look(),
        warnings.catch_warnings(),
        PdfPages(content, metadata={"CreationDate": None, "Creator": None, "Producer": None}) as pages,
    ):
        for first in range(0, len(lines), _LINES_A_PAGE):
            figure = Figure(figsize=_A4_IN)
            text = "\n".join(lines[first : first + _LINES_A_PAGE])
            figure.text(0.07, 0.96, text, family="monospace", fontsize=8.2, va="top", linespacing=1.18, parse_math=False)
            pages.savefig(figure)
        warnings.filterwarnings("ignore", message="Glyph .* missing from font")
        for _, drawing in plan_figures(brief.flown(), beneath):
            pages.savefig(drawing)
    return content.getvalue()
