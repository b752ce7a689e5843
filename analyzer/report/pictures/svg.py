"""A drawing as SVG, either inline in a page, whose colours it follows, or as a file.

Lines are written in few bytes: to a tenth of a point, each point as the step from the one before (SVG 2, 9.3), and without
points within a twentieth of a point of the straight line between their neighbours.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from functools import cache
from html import escape

import numpy as np

from analyzer.physics.runs import true_runs
from analyzer.physics.units import FloatArray
from analyzer.report.pictures.drawing import Area, Dots, Drawing, Frame, Line, Mark, Marker, Panel, Words
from analyzer.report.pictures.style import FONTS, INK, PAPER, THEME

__all__ = ["inline_svg", "svg_file"]

_TENTHS = 10.0
_MADE_BY = '<metadata xmlns:dc="http://purl.org/dc/elements/1.1/"><dc:title>approach-analyzer</dc:title></metadata>'
_LINE_HEIGHT, _ASCENT, _MIDDLE, _DESCENT = 1.2, 0.78, 0.35, 0.2  # shares of the type size, for a common sans-serif
_LETTER, _BOLD_LETTER = 0.58, 0.66  # approximate width of a letter, as a share of the type size
_HATCH_PT = 6.0
_ANCHOR = {"left": "start", "middle": "middle", "right": "end"}
_Colours = Callable[[str], str]


def inline_svg(drawing: Drawing, prefix: str, layout: str = "") -> str:
    """The SVG element for a page, in the colours of the page; `prefix` keeps its ids distinct from those of other pictures."""
    return _svg(drawing, prefix, lambda colour: f"var(--{THEME[colour][0]})" if colour in THEME else colour, layout)


def svg_file(drawing: Drawing) -> str:
    """A drawing as an SVG file on white paper."""
    return '<?xml version="1.0" encoding="utf-8"?>\n' + _svg(drawing, "", str, "", paper=True)


def _svg(drawing: Drawing, prefix: str, colours: _Colours, layout: str, *, paper: bool = False) -> str:
    width, height = _number(round(drawing.width * _TENTHS)), _number(round(drawing.height * _TENTHS))
    size = f' width="{width}pt" height="{height}pt"' if paper else ""
    named = f' data-layout="{layout}"' if layout else ""
    look = f'font-family="{FONTS}" fill="none" stroke-linejoin="round" stroke-linecap="round"'
    parts = [f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width} {height}"{size}{named} {look}>']
    if paper:
        parts.append(_MADE_BY)
        parts.append(f'<rect width="{width}" height="{height}" fill="{PAPER}"/>')
    parts += [_clips(drawing, prefix), *_hatches(drawing, prefix, colours)]
    for number, panel in enumerate(drawing.panels):
        parts.append(f'<g data-panel="{escape(panel.frame.quantity)}">')
        parts += _marks(panel, f"{prefix}c{number}", f"{prefix}h", colours)
        parts.append("</g>")
    parts.append("</svg>")
    return "".join(parts)


def _clips(drawing: Drawing, prefix: str) -> str:
    rects = "".join(
        '<clipPath id="{}c{}"><rect x="{}" y="{}" width="{}" height="{}"/></clipPath>'.format(
            prefix, number, *(_number(round(side * _TENTHS)) for side in panel.frame.box)
        )
        for number, panel in enumerate(drawing.panels)
    )
    return f"<defs>{rects}</defs>"


def _hatches(drawing: Drawing, prefix: str, colours: _Colours) -> Iterator[str]:
    colour = next((m.colour for panel in drawing.panels for m in panel.marks if isinstance(m, Area) and m.hatched), None)
    if colour is not None:
        yield (
            f'<pattern id="{prefix}h" width="{_HATCH_PT:g}" height="{_HATCH_PT:g}" patternUnits="userSpaceOnUse" '
            f'patternTransform="rotate(45)"><path d="M0 0V{_HATCH_PT:g}" stroke="{colours(colour)}" stroke-width="1.2"/>'
            "</pattern>"
        )


def _marks(panel: Panel, clip: str, hatch: str, colours: _Colours) -> Iterator[str]:
    """The marks from the lowest level up, clipped ones in a clipped group."""
    clipping = False
    for mark in sorted(panel.marks, key=lambda mark: mark.level):
        clipped = isinstance(mark, Area) or (isinstance(mark, Line) and mark.clipped)
        if clipped != clipping:
            yield f'<g clip-path="url(#{clip})">' if clipped else "</g>"
            clipping = clipped
        yield _mark(panel.frame, mark, hatch, colours)
    if clipping:
        yield "</g>"


def _mark(frame: Frame, mark: Mark, hatch: str, colours: _Colours) -> str:
    if isinstance(mark, Line):
        return _line(frame, mark, colours)
    if isinstance(mark, Area):
        fill = f"url(#{hatch})" if mark.hatched else colours(mark.colour)
        opacity = f' fill-opacity="{mark.opacity:g}"' if mark.opacity < 1.0 else ""
        return f'<path d="{_path(frame, mark.x, mark.y)}z" fill="{fill}"{opacity}/>'
    if isinstance(mark, Dots):
        return _dots(frame, mark, colours)
    return _marker(frame, mark, colours) if isinstance(mark, Marker) else _words(frame, mark, colours)


def _line(frame: Frame, line: Line, colours: _Colours) -> str:
    path = _path(frame, line.x, line.y)
    if not path:
        return ""
    extra = f' stroke-dasharray="{" ".join(f"{length:g}" for length in line.dash)}" stroke-linecap="butt"' if line.dash else ""
    extra += f' stroke-opacity="{line.opacity:g}"' if line.opacity < 1.0 else ""
    extra += f' class="{line.name}"' if line.name else ""
    return f'<path d="{path}" stroke="{colours(line.colour)}" stroke-width="{line.width:g}"{extra}/>'


def _placed(frame: Frame, x: FloatArray, y: FloatArray) -> tuple[FloatArray, FloatArray]:
    left, top, width, height = frame.box
    across = left + (x - frame.x[0]) / (frame.x[1] - frame.x[0]) * width
    down = top + height - (y - frame.y[0]) / (frame.y[1] - frame.y[0]) * height
    return across, down


def _at(frame: Frame, x: float, y: float) -> tuple[float, float]:
    """Where one point is placed."""
    left, top, width, height = frame.box
    across = left + (x - frame.x[0]) / (frame.x[1] - frame.x[0]) * width
    return across, top + height - (y - frame.y[0]) / (frame.y[1] - frame.y[0]) * height


def _path(frame: Frame, x: FloatArray, y: FloatArray) -> str:
    if len(x) == 2:
        return _straight(frame, x.tolist(), y.tolist())
    across, down = _placed(frame, np.asarray(x, dtype=float), np.asarray(y, dtype=float))
    known = np.isfinite(across) & np.isfinite(down)
    return "".join(_run(across[a:b], down[a:b]) for a, b in true_runs(known))


def _straight(frame: Frame, x: list[float], y: list[float]) -> str:
    """A line between two points, without arrays, as most lines are."""
    if not all(map(math.isfinite, (*x, *y))):
        return ""
    (x0, y0), (x1, y1) = _at(frame, x[0], y[0]), _at(frame, x[1], y[1])
    across, down = round(x0 * _TENTHS), round(y0 * _TENTHS)
    step = f"{_number(round(x1 * _TENTHS) - across)}{_joined(round(y1 * _TENTHS) - down)}"
    return f"M{_number(across)}{_joined(down)}l{step}"


def _run(across: FloatArray, down: FloatArray) -> str:
    """One unbroken line. Steps are between rounded points, so that rounding errors do not add up."""
    x, y = np.rint(across * _TENTHS), np.rint(down * _TENTHS)
    right, below = x[1:] - x[:-1], y[1:] - y[:-1]
    moved = (right != 0.0) | (below != 0.0)
    # a line of no length is a dot
    right, below = _needed(right[moved], below[moved]) if moved.any() else (np.zeros(1), np.zeros(1))
    steps = np.empty(2 * len(right), dtype=np.int64)
    steps[::2], steps[1::2] = right, below
    lines = "".join(map(_joined, steps.tolist()))
    return f"M{_number(int(x[0]))}{_joined(int(y[0]))}l{lines.removeprefix(' ')}"


def _needed(right: FloatArray, below: FloatArray) -> tuple[FloatArray, FloatArray]:
    """The steps of a line without the points that lie on the line between their neighbours, in three passes."""
    for _ in range(3):
        if len(right) < 2:
            break
        along, up = right[1:] + right[:-1], below[1:] + below[:-1]
        twice_off = 2.0 * (along * below[:-1] - up * right[:-1])
        ahead = right[:-1] * right[1:] + below[:-1] * below[1:] > 0.0
        kept = (twice_off * twice_off > along * along + up * up) | ~ahead
        kept[1::2] = True  # of two neighbours, only one is dropped in a pass
        first = np.flatnonzero(np.concatenate(([True], kept)))  # of the steps that are drawn as one
        if len(first) == len(right):
            break
        right, below = np.add.reduceat(right, first), np.add.reduceat(below, first)
    return right, below


@cache
def _number(tenths: int) -> str:
    """``-12`` as ``-1.2``, ``3`` as ``.3``."""
    text = f"{abs(tenths) / _TENTHS:.1f}".removesuffix(".0")
    text = text.removeprefix("0") or "0" if text.startswith("0.") else text
    return f"-{text}" if tenths < 0 else text


@cache
def _joined(tenths: int) -> str:
    """A number after another one, with a space unless its minus sign separates them."""
    return _number(tenths) if tenths < 0 else f" {_number(tenths)}"


def _marker(frame: Frame, mark: Marker, colours: _Colours) -> str:
    (x, y), r = _at(frame, mark.x, mark.y), mark.size / 2.0
    stroke = f'stroke="{colours(mark.colour)}" stroke-width="{mark.edge:g}"'
    if mark.shape == "circle":
        return f'<circle cx="{x:.1f}" cy="{y:.1f}" r="{r:g}" fill="{colours(mark.fill)}" {stroke}/>'
    if mark.shape == "square":
        return (
            f'<rect x="{x - r:.1f}" y="{y - r:.1f}" width="{2 * r:g}" height="{2 * r:g}" fill="{colours(mark.fill)}" {stroke}/>'
        )
    if mark.shape in ("plus", "cross"):
        turned = "" if mark.shape == "plus" else ' transform="rotate(45)"'
        return f'<g transform="translate({x:.1f} {y:.1f})"><path d="M{-r:g} 0H{r:g}M0 {-r:g}V{r:g}" {stroke}{turned}/></g>'
    degrees = {"triangle": 0.0, "down": 180.0}.get(mark.shape, math.degrees(mark.bearing_rad))
    corners = f"M0 {-r:g}L{0.8 * r:g} {0.8 * r:g}L{-0.8 * r:g} {0.8 * r:g}z"
    return (
        f'<path d="{corners}" transform="translate({x:.1f} {y:.1f}) rotate({degrees:.1f})" '
        f'fill="{colours(mark.fill)}" {stroke}/>'
    )


def _dots(frame: Frame, dots: Dots, colours: _Colours) -> str:
    """Lines without length, whose ends are round or square."""
    across, down = _placed(frame, np.asarray(dots.x, dtype=float), np.asarray(dots.y, dtype=float))
    places = np.rint(np.column_stack([across, down])[np.isfinite(across + down)] * _TENTHS).astype(int).tolist()
    if not places:
        return ""
    path = "".join(f"M{_number(x)}{_joined(y)}h0" for x, y in places)
    square = ' stroke-linecap="square"' if dots.square else ""
    return f'<path d="{path}" stroke="{colours(dots.colour)}" stroke-width="{dots.size:g}"{square}/>'


def _words(frame: Frame, words: Words, colours: _Colours) -> str:
    across, down = _at(frame, words.x, words.y)
    x, y = across + words.away[0], down - words.away[1]
    rows = words.text.split("\n")
    high = _LINE_HEIGHT * words.size * (len(rows) - 1)  # from the first baseline to the last
    first = {"top": _ASCENT * words.size, "middle": _MIDDLE * words.size - high / 2.0, "bottom": -_DESCENT * words.size - high}
    turn = f' transform="rotate({-math.degrees(words.angle_rad):.1f} {x:.1f} {y:.1f})"' if words.angle_rad else ""
    bold = ' font-weight="bold"' if words.bold else ""
    anchor = "" if words.across == "left" else f' text-anchor="{_ANCHOR[words.across]}"'
    halo = f' stroke="{colours(PAPER)}" stroke-width="3" paint-order="stroke"' if words.backed else ""
    lines = "".join(
        f'<text x="{x:.1f}" y="{y + first[words.up] + number * _LINE_HEIGHT * words.size:.1f}" '
        f'font-size="{words.size:g}" fill="{colours(words.colour)}"{anchor}{bold}{halo}{turn}>{escape(row.strip())}</text>'
        for number, row in enumerate(rows)
    )
    return _box(words, rows, (x, y), colours) + lines if words.boxed else lines


def _box(words: Words, rows: list[str], at: tuple[float, float], colours: _Colours) -> str:
    letter = _BOLD_LETTER if words.bold else _LETTER
    wide = (max(len(row) for row in rows) * letter + 0.7) * words.size
    high = (_LINE_HEIGHT * len(rows) + 0.35) * words.size
    left = {"left": -0.35 * words.size, "middle": -wide / 2.0, "right": 0.35 * words.size - wide}[words.across]
    top = {"top": -0.15 * words.size, "middle": -high / 2.0, "bottom": 0.15 * words.size - high}[words.up]
    return (
        f'<rect x="{at[0] + left:.1f}" y="{at[1] + top:.1f}" width="{wide:.1f}" height="{high:.1f}" rx="3" '
        f'fill="{colours(PAPER)}" stroke="{colours(INK)}" stroke-width=".8"/>'
    )
