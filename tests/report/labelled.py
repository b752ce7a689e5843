"""Boxes of the labels of a drawing, by the metrics of the font that pages are drawn in, and which of them overlap."""

import itertools
import math
from functools import cache

import numpy as np
from matplotlib import font_manager
from PIL import ImageFont

from analyzer.report.pictures.drawing import Drawing, Frame, Line, Marker, Panel, Words
from analyzer.report.pictures.style import LEG_COLOUR

_CAPITAL, _LINE = 0.73, 1.2  # of the size of type: height of DejaVu's capitals, and from line to line
_APART_PT = 0.5  # by which two labels may touch
_SIGN_PT = 10.0  # smaller marks hold no number
_SMALL = 1e-9


@cache
def _font(bold: bool) -> ImageFont.FreeTypeFont:
    weight = "bold" if bold else "normal"
    return ImageFont.truetype(font_manager.findfont(font_manager.FontProperties(family="DejaVu Sans", weight=weight)), 100)


def corners(frame: Frame, words: Words) -> np.ndarray:
    """The corners of a label's box in the drawing, anticlockwise, points from the upper left corner, y upwards."""
    rows = words.text.split("\n")
    wide = max(_font(words.bold).getlength(row.strip()) for row in rows) / 100.0 * words.size
    high = (_CAPITAL + _LINE * (len(rows) - 1)) * words.size
    left, top, width, height = frame.box
    x = left + (words.x - frame.x[0]) / (frame.x[1] - frame.x[0]) * width + words.away[0]
    y = -(top + height) + (words.y - frame.y[0]) / (frame.y[1] - frame.y[0]) * height + words.away[1]
    x0 = {"left": 0.0, "middle": -wide / 2.0, "right": -wide}[words.across]
    y0 = {"bottom": 0.0, "middle": -high / 2.0, "top": -high}[words.up]
    box = np.array([(x0, y0), (x0 + wide, y0), (x0 + wide, y0 + high), (x0, y0 + high)])
    cos, sin = math.cos(words.angle_rad), math.sin(words.angle_rad)
    return box @ np.array([[cos, sin], [-sin, cos]]) + (x, y)


def boxes(drawing: Drawing) -> list[tuple[str, np.ndarray]]:
    """Every label of a drawing with the corners of its box; a number in a sign takes the sign's."""
    found = []
    for panel in drawing.panels:
        signs = {(mark.x, mark.y): mark.size for mark in panel.marks if isinstance(mark, Marker) and mark.size > _SIGN_PT}
        for mark in panel.marks:
            if isinstance(mark, Words):
                box = corners(panel.frame, mark)
                size = signs.get((mark.x, mark.y))
                if size is not None:
                    box = box.mean(axis=0) + 0.5 * size * np.array([(-1.0, -1.0), (1.0, -1.0), (1.0, 1.0), (-1.0, 1.0)])
                found.append((mark.text, box))
    return found


def overlaps(drawing: Drawing) -> list[tuple[str, str]]:
    """Labels whose boxes overlap, by pairs."""
    return [(a, b) for (a, one), (b, other) in itertools.combinations(boxes(drawing), 2) if depth_pt(one, other) > _APART_PT]


def curves_over(panel: Panel, words: Words) -> int:
    """How many of the curves that are flown or briefed in a panel run through a level text, by more than half a point."""
    left, top, _, height = panel.frame.box
    (x0, y0), (x1, y1) = (f(corners(panel.frame, words), axis=0) for f in (np.min, np.max))
    over = 0
    for line in panel.marks:
        if isinstance(line, Line) and line.colour in LEG_COLOUR.values() and len(line.x) > 2:
            share = np.linspace(0.0, len(line.x) - 1.0, 20 * len(line.x))
            at = np.arange(len(line.x))
            x = left + (np.interp(share, at, line.x) - panel.frame.x[0]) / panel.frame.x_per_point
            y = -(top + height) + (np.interp(share, at, line.y) - panel.frame.y[0]) / panel.frame.y_per_point
            half = _APART_PT
            over += bool(((x > x0 + half) & (x < x1 - half) & (y > y0 + half) & (y < y1 - half)).any())
    return over


def depth_pt(one: np.ndarray, other: np.ndarray) -> float:
    """How far two convex shapes would have to be moved to part: zero or less where they do not overlap. [points]

    By the separating axis theorem: they are apart exactly where their shadows are on the normal of some side.
    """
    depth = math.inf
    for shape in (one, other):
        for side in np.diff(np.vstack([shape, shape[:1]]), axis=0):
            length = math.hypot(*side)
            if length < _SMALL:
                continue
            normal = np.array([-side[1], side[0]]) / length
            a, b = one @ normal, other @ normal
            depth = min(depth, a.max() - b.min(), b.max() - a.min())
    return float(depth)
