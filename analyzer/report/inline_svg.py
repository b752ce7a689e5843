"""A figure as SVG that can stand in a page beside others: names of its own, colours that follow the page, and few bytes.

Where its axes lie in it is told beside it, so that a page can find an instant in every picture.
"""

from __future__ import annotations

import io
import re
from dataclasses import dataclass

from matplotlib.figure import Figure

from analyzer.report.style import THEME

__all__ = ["Panel", "inline_svg", "panels_of", "svg_text"]

_POINTS = 72.0  # an inch: the unit of matplotlib's SVG
_TAG = re.compile(r"<[^>]+>")
_METADATA = re.compile(r"<metadata>.*?</metadata>\s*", re.DOTALL)
_NAME = re.compile(r'(\bid="|url\(#|href="#)')
_GROUP_NAME = re.compile(r'^<g id="[^"]*"')
_LINE_NAME = re.compile(r'^<g id="(attempt-\d+)"')  # of lines that a page's rows refer to, several a picture
_LONG_NUMBER = re.compile(r"-?\d+\.\d{3,}")
_LINE_TO = re.compile(r" ?\nL (?=[-\d])")
_PATH = re.compile(r'(?<= d=")[MLz\d.\s-]+(?=")')
_COLOUR = re.compile("|".join(THEME))


@dataclass(frozen=True)
class Panel:
    """Where axes lie in their picture's SVG (left, top, width, height, in its units) and what they span."""

    quantity: str
    box: tuple[float, float, float, float]
    x: tuple[float, float]
    y: tuple[float, float]


def svg_text(figure: Figure) -> str:
    """A figure as an SVG file that says who made it, the same bytes for the same figure."""
    content = io.StringIO()
    said = {"Date": None, "Creator": "approach-analyzer", "Format": None, "Type": None}
    figure.savefig(content, format="svg", metadata=said)
    return content.getvalue()


def inline_svg(figure: Figure, prefix: str) -> str:
    """The SVG element alone, for a page. `prefix` keeps its names apart from those of others."""

    def inline(tag: re.Match[str]) -> str:
        text = _GROUP_NAME.sub("<g", _LINE_NAME.sub(r'<g class="\1"', tag.group(0)))  # nothing refers to other groups
        text = _NAME.sub(lambda name: name.group(1) + prefix, text)
        text = _PATH.sub(_short, text)
        text = _COLOUR.sub(lambda colour: f"var(--{THEME[colour.group(0)][0]})", text)
        return _LONG_NUMBER.sub(lambda number: f"{float(number.group(0)):.2f}".rstrip("0").rstrip("."), text)

    svg = _METADATA.sub("", svg_text(figure))
    return _TAG.sub(inline, svg[svg.index("<svg") :])


def _short(path: re.Match[str]) -> str:
    """Straight lines in few bytes: to a tenth of a point, and places after a moveto joined without saying so (SVG 2, 9.3.3)."""
    text = _LONG_NUMBER.sub(lambda number: f"{float(number.group(0)):.1f}".removesuffix(".0"), path.group(0))
    return _LINE_TO.sub(" ", text).strip()


def panels_of(figure: Figure) -> tuple[Panel, ...]:
    """The axes of a figure as they lie in its SVG; each is labelled by what it shows."""
    width, height = figure.get_figwidth() * _POINTS, figure.get_figheight() * _POINTS
    found = []
    for axes in figure.axes:
        left, bottom, across, up = axes.get_position().bounds
        box = (left * width, (1.0 - bottom - up) * height, across * width, up * height)
        found.append(Panel(str(axes.get_label()), box, axes.get_xlim(), axes.get_ylim()))
    return tuple(found)
