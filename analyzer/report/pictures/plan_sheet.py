"""The sheet that a plan view is drawn on, in nautical miles east and north of the fix, with labels that hide nothing."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from analyzer.motion.states import States
from analyzer.physics import geodesy
from analyzer.physics.units import NM, FloatArray
from analyzer.report.pictures.drawing import Frame, Mark, Words
from analyzer.report.pictures.labels import Label, Obstacles, choose
from analyzer.report.pictures.layout import Layout
from analyzer.report.pictures.style import INK

if TYPE_CHECKING:
    from analyzer.procedure.charted import Charted

__all__ = ["Sheet", "from_fix", "point", "polar", "reach_nm", "xy"]

_LETTER = 0.65  # of the size of type, about what a letter takes
_BOX_ROOM, _BOLD_ROOM = 1.4, 1.3  # a box about a text takes so much more, and bold type
_UNLIMITED_NM = 10.0  # drawn of a course that has no limit


@dataclass
class Sheet:
    """A drawing in progress: its frame and layout, what labels must keep clear of, and the marks so far."""

    frame: Frame
    layout: Layout
    obstacles: Obstacles
    marks: list[Mark] = field(default_factory=list)

    @property
    def nm_per_point(self) -> float:
        """The size of a point of type in nautical miles."""
        return self.frame.x_per_point

    def add(self, *marks: Mark) -> None:
        """Draw marks."""
        self.marks += marks

    def label(
        self, places: Iterable[tuple[float, float, float]], text: str, size: float, most_hidden: float = math.inf,
        colour: str = INK, *, bold: bool = False, boxed: bool = False,
    ) -> None:  # fmt: skip
        """Write a text at the best of some places (x, y, bearing along which it runs), or not at all if each hides too much."""
        room = size * (_BOX_ROOM if boxed else _BOLD_ROOM if bold else 1.0) * self.nm_per_point
        candidates = (Label(x, y, math.radians(_upright(along)), text, room) for x, y, along in places)
        best, hidden = choose(candidates, self.obstacles)
        if hidden > most_hidden:
            return
        self.obstacles = self.obstacles.with_label(best)
        self.add(Words(best.x, best.y, text, size, colour, bold, angle_rad=best.angle, boxed=boxed, backed=not boxed))

    def around(self, x: float, y: float, text: str, size: float, gap: float = 9.0) -> list[tuple[float, float, float]]:
        """Places for a text about a place that it is to keep clear of, the nearest first. `gap` is in points."""
        half = 0.5 * max(map(len, text.split("\n"))) * _LETTER * size
        places = []
        for away in (gap, 1.6 * gap, 2.6 * gap, 4.0 * gap):
            places += [(side * (half + away), up) for up in (0.0, away, -away) for side in (1.0, -1.0)]
            places += [(share * half, up * (away + 0.5 * size)) for share in (0.0, 0.6, -0.6) for up in (1.0, -1.0)]
        unit = self.nm_per_point
        return [(x + dx * unit, y + dy * unit, math.pi / 2.0) for dx, dy in places]

    def avoid(self, points: FloatArray, points_of_type: float) -> None:
        """Keep labels clear of points, shape (n, 2), by a distance in points of type."""
        self.obstacles = self.obstacles.with_points(points, points_of_type * self.nm_per_point)


def _upright(bearing: float) -> float:
    """Rotation of text along a bearing, never upside down. [degrees]"""
    return (180.0 - math.degrees(bearing)) % 180.0 - 90.0


def xy(states: States) -> tuple[FloatArray, FloatArray]:
    """Positions of states, east and north of the fix. [NM]"""
    return polar(states.distance_m / NM, states.bearing_rad)


def polar(distance: FloatArray | float, bearing: FloatArray | float) -> tuple[FloatArray, FloatArray]:
    """East and north coordinates at distances and bearings [rad], in the unit of the distance."""
    return np.asarray(distance * np.sin(bearing)), np.asarray(distance * np.cos(bearing))


def point(distance: float, bearing: float) -> tuple[float, float]:
    """East and north coordinates at one distance and bearing [rad]."""
    return distance * math.sin(bearing), distance * math.cos(bearing)


def from_fix(charted: Charted, latitude: float, longitude: float) -> tuple[float, float]:
    """A position, east and north of the fix. [NM]"""
    distance, bearing = geodesy.inverse(charted.fix_latitude_rad, charted.fix_longitude_rad, latitude, longitude)
    return point(float(distance) / NM, float(bearing))


def reach_nm(charted: Charted) -> float:
    """The distance to which the charted course is drawn: the limit, if there is one. [NM]"""
    return charted.limit_m / NM if charted.limit_m is not None else _UNLIMITED_NM
