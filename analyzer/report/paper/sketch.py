"""A drawing in points, written as SVG: lines, marks, and labels placed clear of what is already drawn."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from xml.sax.saxutils import escape

import numpy as np

from analyzer.physics.units import FloatArray

__all__ = ["Sketch"]

_FACE = "DejaVu Sans"
_HALF_CAPITAL, _LINE = 0.36, 1.15  # as shares of the type size, bold
_WORDS_WEIGH, _WORDS_EVERY_PT = 40.0, 4.0  # relative to lines: overlapping words are the least legible
_GRID_PT = 14.0
_STEPS = (0.0, 1.0, 0.5, 0.25, 0.75, 0.125, 0.375, 0.625, 0.875)  # shares of the room to move, across and down
_TOGETHER = 32  # places that are tried at once, against the marks near any of them


@dataclass
class Sketch:
    """A drawing in progress: its size [pt], its scale [pt/m], the place at its centre (metres north and east), its elements.

    `taken` holds what labels avoid, shape (n, 4): distance from the left and from the top, radius, and weight.
    """

    width: float
    height: float
    scale: float
    middle_m: tuple[float, float]
    elements: list[str] = field(default_factory=list)
    taken: list[FloatArray] = field(default_factory=list)

    def at(self, metres: FloatArray) -> FloatArray:
        """Convert places (metres north and east) to points from the left and from the top, shape (n, 2)."""
        x = self.width / 2.0 + (metres[:, 1] - self.middle_m[1]) * self.scale
        y = self.height / 2.0 - (metres[:, 0] - self.middle_m[0]) * self.scale
        return np.column_stack([x, y])

    def line(self, points: FloatArray, colour: str, width: float, dashes: str = "") -> None:
        """Draw a line through points."""
        dashed = f' stroke-dasharray="{dashes}"' if dashes else ""
        self.elements.append(
            f'<path d="{_path(points)}" fill="none" stroke="{colour}" stroke-width="{width:g}" stroke-linejoin="round"'
            f' stroke-linecap="round"{dashed}/>'
        )

    def shape(self, points: FloatArray, fill: str, edge: str = "none", width: float = 0.0) -> None:
        """Draw a closed shape."""
        self.elements.append(f'<path d="{_path(points)}z" fill="{fill}" stroke="{edge}" stroke-width="{width:g}"/>')

    def disc(self, x: float, y: float, radius: float, fill: str, edge: str, width: float) -> None:
        """Draw a disc."""
        self.elements.append(
            f'<circle cx="{x:.1f}" cy="{y:.1f}" r="{radius:g}" fill="{fill}" stroke="{edge}" stroke-width="{width:g}"/>'
        )

    def text(self, x: float, y: float, text: str, size: float, colour: str, *, bold: bool = True) -> None:
        """Draw a text centred at a place."""
        weight = ' font-weight="bold"' if bold else ""
        self.elements.append(
            f'<text x="{x:.1f}" y="{y + _HALF_CAPITAL * size:.1f}" font-family="{_FACE}" font-size="{size:g}"'
            f' text-anchor="middle"{weight} fill="{colour}">{escape(text)}</text>'
        )

    def avoid(self, points: FloatArray, radius: float, weight: float = 1.0) -> None:
        """Keep later labels clear of points."""
        self.taken.append(np.column_stack([points, np.tile([radius, weight], (len(points), 1))]))

    def clearest(
        self, places: Sequence[tuple[float, float]], width: float, height: float, cost: FloatArray | float = 0.0
    ) -> tuple[float, float]:
        """Return the centre at which a box covers least, the first if several do, and keep the box clear from then on.

        `cost` is added to what the box covers at each centre, in square points of line; covering a word counts many times more.
        """
        middles = np.array(places)
        marks = np.ascontiguousarray(np.concatenate(self.taken).T) if self.taken else np.empty((4, 0))
        off_x = np.maximum(np.abs(middles[:, 0] - self.width / 2.0) + width / 2.0 - self.width / 2.0, 0.0)
        off_y = np.maximum(np.abs(middles[:, 1] - self.height / 2.0) + height / 2.0 - self.height / 2.0, 0.0)
        at_least = cost + 1e6 * (off_x + off_y)
        best, least = 0, math.inf
        for first in range(0, len(middles), _TOGETHER):
            # a place that would not be better if it covered nothing need not be tried
            some = first + np.flatnonzero(at_least[first : first + _TOGETHER] < least)
            if len(some):
                covers = np.round(_hidden(middles[some], marks, (width, height)) + at_least[some], 3)
                k = int(np.argmin(covers))
                best, least = (int(some[k]), float(covers[k])) if covers[k] < least else (best, least)
        x, y = middles[best].tolist()
        wide, high = (np.linspace(-0.5, 0.5, max(2, math.ceil(size / _WORDS_EVERY_PT))) * size for size in (width, height))
        self.avoid(np.column_stack([x + np.repeat(wide, len(high)), y + np.tile(high, len(wide))]), 2.0, _WORDS_WEIGH)
        return x, y

    def pill(self, x: float, y: float, wide: float, high: float, fill: str) -> None:
        """Draw a bar with round ends centred at a place."""
        self.elements.append(
            f'<rect x="{x - wide / 2.0:.1f}" y="{y - high / 2.0:.1f}" width="{wide:.1f}" height="{high:.1f}"'
            f' rx="{high / 2.0:.1f}" fill="{fill}"/>'
        )

    def label(self, places: Sequence[tuple[float, float]], text: str, size: float, colour: str) -> None:
        """Draw a text of one line or more at the clearest of some places."""
        rows = text.split("\n")
        x, y = self.clearest(places, _wide(text, size), _LINE * size * len(rows))
        for k, row in enumerate(rows):
            self.text(x, y + (k - 0.5 * (len(rows) - 1)) * _LINE * size, row, size, colour)

    def about(self, x: float, y: float, text: str, size: float) -> list[tuple[float, float]]:
        """Candidate places for a text around a point, nearest first."""
        half, found = 0.5 * _wide(text, size), []
        for away in (12.0, 18.0, 26.0, 36.0, 48.0):
            found += [(x + side * (half + away), y + up) for side in (1.0, -1.0) for up in (0.0, -away, away)]
            found += [(x + share * half, y + up * away) for share in (0.0, 0.5, -0.5, 1.0, -1.0) for up in (-1.0, 1.0)]
        return found

    def everywhere(self, margin: float) -> list[tuple[float, float]]:
        """A grid of places over the drawing, at least `margin` from its edges."""
        across, down = (np.arange(margin, size - margin, _GRID_PT).tolist() for size in (self.width, self.height))
        return [(x, y) for y in down for x in across]

    def free(self, width: float, height: float) -> tuple[float, float]:
        """Return the centre of the clearest box of some size, corners before edges, and keep the box clear from then on."""
        rooms = self.width - width, self.height - height
        places = [(width / 2.0 + a * rooms[0], height / 2.0 + d * rooms[1]) for d in _STEPS for a in _STEPS]
        return self.clearest(places, width, height)

    def svg(self) -> str:
        """The drawing as an SVG document."""
        return (
            f'<svg xmlns="http://www.w3.org/2000/svg" width="{self.width:g}pt" height="{self.height:g}pt" '
            f'viewBox="0 0 {self.width:g} {self.height:g}">{"".join(self.elements)}</svg>'
        )


def _wide(text: str, size: float) -> float:
    """About how wide a text is in bold type. [pt]"""
    return size * max(sum(map(_letter, row)) for row in text.split("\n"))


def _letter(letter: str) -> float:
    """About how wide a letter is in bold type, as a share of the size."""
    return 1.1 if letter in "MW" else 0.42 if letter in " .,:/°-ijl" else 0.82 if letter.isupper() else 0.7


def _hidden(middles: FloatArray, marks: FloatArray, size: tuple[float, float]) -> FloatArray:
    """How much a box covers of the marks, shape (4, m), at each of some centres. Most marks are near none of them."""
    (left, top), (right, bottom) = middles.min(axis=0).tolist(), middles.max(axis=0).tolist()
    x, y, radius, weight = marks
    wide, high = size[0] / 2.0 + radius, size[1] / 2.0 + radius
    near = np.flatnonzero((x > left - wide) & (x < right + wide) & (y > top - high) & (y < bottom + high))
    x, y, radius, weight = marks[:, near]
    across, down = _depth(middles[:, :1] - x, size[0], radius), _depth(middles[:, 1:] - y, size[1], radius)
    hidden: FloatArray = (across * down) @ weight
    return hidden


def _depth(apart: FloatArray, size: float, radius: FloatArray) -> FloatArray:
    """How far marks reach into a box along one axis. [pt]"""
    depth: FloatArray = np.maximum(size / 2.0 + radius - np.abs(apart), 0.0)
    return depth


def _path(points: FloatArray) -> str:
    return "M" + "L".join(f"{x:.1f} {y:.1f}" for x, y in points.tolist())
