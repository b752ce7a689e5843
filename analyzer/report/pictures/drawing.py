"""A picture as data: panels, each with a frame, and marks in the coordinates of the frame.

Drawings do not depend on a drawing library: `svg` writes a drawing for a page, `figures` draws it with
matplotlib. Sizes are points of type, and positions within a drawing count from its upper left corner.
"""

from __future__ import annotations

from typing import Literal, TypeAlias

import numpy as np

from analyzer.frozen import dataclass
from analyzer.physics.units import FloatArray
from analyzer.report.pictures.style import INK, PAPER

__all__ = ["Area", "Box", "Dots", "Drawing", "Frame", "Line", "Mark", "Marker", "Panel", "Words", "straight"]

Box: TypeAlias = tuple[float, float, float, float]
Shape = Literal["circle", "plus", "triangle", "down", "cross", "square", "arrow"]


@dataclass(frozen=True)
class Frame:
    """The box of a panel in its drawing (left, top, width, height, in points), and the ranges of its two scales."""

    quantity: str
    box: Box
    x: tuple[float, float]
    y: tuple[float, float]

    @property
    def x_per_point(self) -> float:
        """The width of a point of type on the horizontal scale."""
        return (self.x[1] - self.x[0]) / self.box[2]

    @property
    def y_per_point(self) -> float:
        """The height of a point of type on the vertical scale."""
        return (self.y[1] - self.y[0]) / self.box[3]

    def x_at(self, share: float) -> float:
        """The horizontal coordinate at a share of the width, from the left."""
        return self.x[0] + share * (self.x[1] - self.x[0])

    def y_at(self, share: float) -> float:
        """The vertical coordinate at a share of the height, from the bottom."""
        return self.y[0] + share * (self.y[1] - self.y[0])


@dataclass(frozen=True, eq=False)
class Line:
    """A line through points, broken at NaN. `dash` has the lengths of strokes and gaps; `name` is for a page's script.

    If `clipped`, the line is cut off at its frame.
    """

    x: FloatArray
    y: FloatArray
    colour: str = INK
    width: float = 1.4
    dash: tuple[float, ...] = ()
    level: float = 4.0
    opacity: float = 1.0
    name: str = ""
    clipped: bool = True


@dataclass(frozen=True, eq=False)
class Area:
    """A polygon, filled or hatched with slanting lines of its colour."""

    x: FloatArray
    y: FloatArray
    colour: str
    level: float = 0.0
    opacity: float = 1.0
    hatched: bool = False


@dataclass(frozen=True)
class Marker:
    """A symbol at a point, `size` points wide. An arrow points along a bearing (clockwise from up) [rad]."""

    x: float
    y: float
    shape: Shape
    size: float
    colour: str = INK
    fill: str = PAPER
    edge: float = 1.2
    level: float = 6.0
    bearing_rad: float = 0.0


@dataclass(frozen=True, eq=False)
class Dots:
    """Many filled dots or squares of one size, `size` points wide, which take little room in a file."""

    x: FloatArray
    y: FloatArray
    colour: str
    size: float
    square: bool = False
    level: float = 6.0


@dataclass(frozen=True)
class Words:
    """A text at a point, offset by points of type to the right and up, and turned anticlockwise by an angle [rad].

    `across` and `up` say which part of the text is at the point. `boxed` draws a frame around it, and `backed` clears the
    background behind it.
    """

    x: float
    y: float
    text: str
    size: float = 9.0
    colour: str = INK
    bold: bool = False
    across: Literal["left", "middle", "right"] = "middle"
    up: Literal["top", "middle", "bottom"] = "middle"
    away: tuple[float, float] = (0.0, 0.0)
    angle_rad: float = 0.0
    boxed: bool = False
    backed: bool = False
    level: float = 8.0


Mark: TypeAlias = Line | Area | Marker | Dots | Words


@dataclass(frozen=True, eq=False)
class Panel:
    """A frame and the marks drawn in it; on one level, later marks lie above earlier ones."""

    frame: Frame
    marks: tuple[Mark, ...]


@dataclass(frozen=True, eq=False)
class Drawing:
    """A whole picture. Sizes are in points."""

    width: float
    height: float
    panels: tuple[Panel, ...]


def straight(
    start: tuple[float, float],
    end: tuple[float, float],
    colour: str = INK,
    width: float = 1.0,
    dash: tuple[float, ...] = (),
    level: float = 2.0,
    name: str = "",
    *,
    clipped: bool = True,
) -> Line:
    """A straight line between two points."""
    return Line(
        np.array([start[0], end[0]]), np.array([start[1], end[1]]), colour, width, dash, level, name=name, clipped=clipped
    )
