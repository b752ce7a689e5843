"""The sheet that a plan view is drawn on: axes in nautical miles east and north of the fix, and labels that hide nothing."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
from matplotlib.axes import Axes

from analyzer.motion.motion import States
from analyzer.physics import geodesy
from analyzer.physics.units import NM, FloatArray
from analyzer.report.pictures.labels import Label, Obstacles, choose

if TYPE_CHECKING:
    from analyzer.procedure.charted import Charted

__all__ = ["Sheet", "from_fix", "point", "polar", "reach_nm", "xy"]

_BOX_ROOM = 1.4  # a box about a text takes so much more
_UNLIMITED_NM = 10.0  # drawn of a course that has no limit


@dataclass
class Sheet:
    """The drawing under way: axes, how many miles a point of type is, and what labels must keep clear of."""

    axes: Axes
    nm_per_point: float
    obstacles: Obstacles

    def label(
        self, places: list[tuple[float, float, float]], text: str, size: float, most_hidden: float = math.inf, **style: Any
    ) -> None:
        """Write a text at the best of some places (x, y, bearing it runs along), or not at all where each hides too much."""
        room = size * (_BOX_ROOM if "bbox" in style else 1.0) * self.nm_per_point
        candidates = [Label(x, y, math.radians(_upright(along)), text, room) for x, y, along in places]
        best, hidden = choose(candidates, self.obstacles)
        if hidden > most_hidden:
            return
        self.obstacles = self.obstacles.with_label(best)
        self.axes.text(
            best.x, best.y, text, fontsize=size, rotation=math.degrees(best.angle), rotation_mode="anchor",
            ha="center", va="center", parse_math=False, zorder=8, **style,
        )  # fmt: skip

    def avoid(self, points: FloatArray, points_of_type: float) -> None:
        """Keep labels clear of some places, shape (n, 2), by so many points of type."""
        self.obstacles = self.obstacles.with_points(points, points_of_type * self.nm_per_point)


def _upright(bearing: float) -> float:
    """Rotation of text along a bearing so that it is never upside down. [degrees]"""
    return (180.0 - math.degrees(bearing)) % 180.0 - 90.0


def xy(states: States) -> tuple[FloatArray, FloatArray]:
    """Where some states lie, east and north of the fix. [NM]"""
    return polar(states.distance_m / NM, states.bearing_rad)


def polar(distance: FloatArray | float, bearing: FloatArray | float) -> tuple[FloatArray, FloatArray]:
    """East and north of places at a distance and a bearing [radians], in the distance's unit."""
    return np.asarray(distance * np.sin(bearing)), np.asarray(distance * np.cos(bearing))


def point(distance: float, bearing: float) -> tuple[float, float]:
    """The same of one place."""
    return distance * math.sin(bearing), distance * math.cos(bearing)


def from_fix(charted: Charted, latitude: float, longitude: float) -> tuple[float, float]:
    """Where a place lies, east and north of the fix. [NM]"""
    distance, bearing = geodesy.inverse(charted.fix_latitude_rad, charted.fix_longitude_rad, latitude, longitude)
    return point(float(distance) / NM, float(bearing))


def reach_nm(charted: Charted) -> float:
    """How far out the charted course is drawn: to the limit where there is one. [NM]"""
    return charted.limit_m / NM if charted.limit_m is not None else _UNLIMITED_NM
