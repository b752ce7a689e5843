"""A figure as SVG that can stand in a page next to others: names of its own, colours that follow the page, and few bytes.

The positions of its axes come with it, so that a page can find an instant in every picture.
"""

from __future__ import annotations

import io
import re
from dataclasses import dataclass
from functools import cache

import numpy as np
from matplotlib.figure import Figure

from analyzer.report.pictures.style import THEME

__all__ = ["Panel", "inline_svg", "panels_of", "svg_text"]

_POINTS = 72.0  # an inch: the unit of matplotlib's SVG
_TAG = re.compile(r"<[^>]+>")
_METADATA = re.compile(r"<metadata>.*?</metadata>\s*", re.DOTALL)
_NAME = re.compile(r'(\bid="|url\(#|href="#)')
_GROUP_NAME = re.compile(r'^<g id="[^"]*"')
_LINE_NAME = re.compile(r'^<g id="(attempt-\d+)"')  # of lines that a page's rows refer to, several a picture
_LONG_NUMBER = re.compile(r"-?\d+\.\d{3,}")
_NO_NUMBER = str.maketrans("Lz", "  ")
_TENTHS = 10.0  # of a point, the resolution of places in a path
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
    """Straight lines in few bytes: to a tenth of a point, each place by its step from the one before (SVG 2, 9.3)."""
    return "".join(_steps(line) for line in path.group(0).split("M")[1:])


def _steps(line: str) -> str:
    """One line of a path, from its moveto on. Steps are between rounded places, so that rounding does not add up."""
    places = np.rint(np.array(line.translate(_NO_NUMBER).split(), dtype=np.float64).reshape(-1, 2) * _TENTHS).astype(int)
    steps = np.diff(places, axis=0)
    moved = steps.any(axis=1)
    steps = steps[moved] if moved.any() else steps[:1]  # a line of no length is a dot
    begin = " ".join(map(_number, places[0].tolist()))
    lines = "".join(map(_joined, steps.ravel().tolist()))
    return f"M{begin}{'l' if lines else ''}{lines.removeprefix(' ')}{'z' if 'z' in line else ''}"


@cache
def _number(tenths: int) -> str:
    """``-12`` as ``-1.2``, ``3`` as ``.3``."""
    text = f"{abs(tenths) / _TENTHS:.1f}".removesuffix(".0").removeprefix("0") or "0"
    return f"-{text}" if tenths < 0 else text


@cache
def _joined(tenths: int) -> str:
    """The same behind another number: a minus sign parts them too."""
    return _number(tenths) if tenths < 0 else f" {_number(tenths)}"


def panels_of(figure: Figure) -> tuple[Panel, ...]:
    """The axes of a figure as they lie in its SVG; each is labelled by what it shows."""
    width, height = figure.get_figwidth() * _POINTS, figure.get_figheight() * _POINTS
    found = []
    for axes in figure.axes:
        left, bottom, across, up = axes.get_position().bounds
        box = (left * width, (1.0 - bottom - up) * height, across * width, up * height)
        found.append(Panel(str(axes.get_label()), box, axes.get_xlim(), axes.get_ylim()))
    return tuple(found)
