"""Drawings by matplotlib: whole figures, or a panel drawn into the caller's axes.

Marks keep their coordinates, so the axes are in miles, feet or seconds like the panel.
"""

from __future__ import annotations

import logging
import math
import warnings
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from typing import Any

import matplotlib as mpl
from matplotlib import font_manager
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.markers import MarkerStyle
from matplotlib.transforms import Affine2D

from analyzer.report.pictures.drawing import Area, Dots, Drawing, Line, Mark, Marker, Panel, Words
from analyzer.report.pictures.style import INK, PAPER, QUIET
from analyzer.report.words.letters import beyond_dejavu

__all__ = ["draw_panel", "figure_of", "look", "points_of"]

_POINTS = 72.0  # an inch
_SHAPES: dict[str, Any] = {"circle": "o", "plus": "+", "triangle": "^", "down": "v", "cross": "x", "square": "s", "arrow": "^"}
_ALIGN = {"left": "left", "middle": "center", "right": "right", "top": "top", "bottom": "bottom"}
_FONTS = ["DejaVu Sans", "Verdana"]  # matplotlib's own font, and one of the same width
# Fonts for letters that these lack, where the system has one: of Windows, macOS and Linux.
_FOR_OTHER_LETTERS = (
    "Yu Gothic", "Microsoft YaHei", "Microsoft JhengHei", "Malgun Gothic", "Leelawadee UI", "Nirmala UI",
    "Hiragino Sans", "PingFang SC", "Heiti TC", "Apple SD Gothic Neo", "Arial Unicode MS",
    "Noto Sans CJK JP", "Noto Sans CJK SC", "Noto Sans CJK KR", "Noto Sans Thai", "Noto Sans Devanagari",
    "WenQuanYi Zen Hei", "IPAGothic", "Droid Sans Fallback",
)  # fmt: skip
_SETTINGS: dict[Any, Any] = {
    "font.family": "sans-serif",
    "font.sans-serif": _FONTS,
    "font.size": 9.0,
    "text.color": INK,
    "axes.edgecolor": QUIET,
    "lines.solid_capstyle": "round",
    "lines.dash_capstyle": "butt",
    "path.simplify_threshold": 0.3,
}


@contextmanager
def look() -> Iterator[None]:
    """Matplotlib's settings while a picture is made and saved. The caller's settings are not changed."""
    finding = logging.getLogger(font_manager.__name__)
    level = finding.level
    with mpl.rc_context(_SETTINGS), warnings.catch_warnings():
        # letters that no font here has: drawn as boxes, and in a page with the reader's own fonts
        warnings.filterwarnings("ignore", message="Glyph .* missing from font")
        finding.setLevel(logging.ERROR)  # nor need anyone know that a font for other letters has no bold ones
        try:
            yield
        finally:
            finding.setLevel(level)


def figure_of(drawing: Drawing) -> Figure:
    """A drawing as a figure, to be made and saved inside `look`; its axes are labelled with their quantities."""
    figure = Figure(figsize=(drawing.width / _POINTS, drawing.height / _POINTS))
    for panel in drawing.panels:
        left, top, width, height = panel.frame.box
        box = (
            left / drawing.width, 1.0 - (top + height) / drawing.height, width / drawing.width, height / drawing.height
        )  # fmt: skip
        draw_panel(figure.add_axes(box, label=panel.frame.quantity), panel)
    return figure


def points_of(axes: Axes) -> tuple[float, float]:
    """Width and height of axes. [points]"""
    scale = _POINTS / axes.get_figure(root=True).dpi  # type: ignore[union-attr]
    return axes.bbox.width * scale, axes.bbox.height * scale


def draw_panel(axes: Axes, panel: Panel) -> None:
    """Draw a panel so that it fills the axes."""
    axes.set_axis_off()
    axes.set_xlim(*panel.frame.x)
    axes.set_ylim(*panel.frame.y)
    for mark in panel.marks:
        _draw(axes, mark)


def _draw(axes: Axes, mark: Mark) -> None:
    if isinstance(mark, Line):
        dash = (0, tuple(length / mark.width for length in mark.dash)) if mark.dash else "solid"
        axes.plot(
            mark.x, mark.y, color=mark.colour, lw=mark.width, ls=dash, zorder=mark.level, alpha=mark.opacity,
            clip_on=mark.clipped, scalex=False, scaley=False,
        )  # fmt: skip
    elif isinstance(mark, Area):
        style: dict[str, Any] = {"color": mark.colour, "lw": 0.0, "alpha": mark.opacity}
        if mark.hatched:
            style = {"facecolor": "none", "edgecolor": mark.colour, "lw": 0.0, "hatch": "//"}
        axes.fill(mark.x, mark.y, zorder=mark.level, **style)
    elif isinstance(mark, Marker):
        _draw_marker(axes, mark)
    elif isinstance(mark, Dots):
        axes.plot(
            mark.x, mark.y, marker="s" if mark.square else "o", ms=mark.size, color=mark.colour, mew=0.0, ls="none",
            zorder=mark.level, scalex=False, scaley=False, clip_on=False,
        )  # fmt: skip
    else:
        _write(axes, mark)


def _draw_marker(axes: Axes, mark: Marker) -> None:
    shape: Any = _SHAPES[mark.shape]
    if mark.shape == "arrow":
        shape = MarkerStyle("^", transform=Affine2D().rotate(-mark.bearing_rad))
    axes.plot(
        [mark.x], [mark.y], marker=shape, ms=mark.size, mfc=mark.fill, mec=mark.colour, mew=mark.edge, zorder=mark.level,
        ls="none", scalex=False, scaley=False, clip_on=False,
    )  # fmt: skip


def _fonts(text: str) -> Mapping[str, Any]:
    """The fonts for a text whose letters the usual one lacks, in which each letter is looked for in turn; else empty."""
    if not beyond_dejavu(text):
        return {}
    installed = {font.name for font in font_manager.fontManager.ttflist}
    return {"fontfamily": [_FONTS[0], *(name for name in _FOR_OTHER_LETTERS if name in installed)]}


def _write(axes: Axes, words: Words) -> None:
    style: dict[str, Any] = {**_fonts(words.text)}
    if words.boxed:
        style["bbox"] = {"boxstyle": "round,pad=0.25", "fc": PAPER, "ec": INK, "lw": 0.8}
    elif words.backed:
        style["bbox"] = {"boxstyle": "round,pad=0.1", "fc": PAPER, "ec": "none", "alpha": 0.8}
    axes.annotate(
        words.text, (words.x, words.y), words.away, textcoords="offset points", fontsize=words.size, color=words.colour,
        fontweight="bold" if words.bold else "normal", ha=_ALIGN[words.across],
        va="center" if words.up == "middle" else words.up, rotation=math.degrees(words.angle_rad), rotation_mode="anchor",
        zorder=words.level, parse_math=False, annotation_clip=False, **style,
    )  # fmt: skip
