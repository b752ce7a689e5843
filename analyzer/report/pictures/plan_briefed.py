"""The path of a brief in a plan view, dotted, and named where it is clear of the track."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from analyzer.physics import geodesy
from analyzer.physics.units import DEG, NM, FloatArray
from analyzer.report.pictures.drawing import Line
from analyzer.report.pictures.plan_sheet import Sheet, point, polar
from analyzer.report.pictures.style import INK

if TYPE_CHECKING:
    from analyzer.debriefs.data import Approach
    from analyzer.procedure.charted import Charted

__all__ = ["briefed_path", "draw_briefed", "label_briefed"]

_LEAST_PLACES = 10  # the shortest briefed path that gets a name
_DOTTED = (1.3, 2.4)


def briefed_path(charted: Charted, approach: Approach | None) -> FloatArray:
    """The path of the flight's brief, shape (points, 2); empty without a brief."""
    if approach is None or approach.comparison is None:
        return np.empty((0, 2))
    path = approach.comparison.card.path
    distance, bearing = geodesy.inverse(
        charted.fix_latitude_rad,
        charted.fix_longitude_rad,
        np.array(path.latitude_deg) * DEG,
        np.array(path.longitude_deg) * DEG,
    )
    return np.column_stack(polar(distance / NM, bearing))


def draw_briefed(sheet: Sheet, briefed: FloatArray) -> None:
    """Draw the briefed path, if there is one."""
    if len(briefed):
        sheet.add(Line(briefed[:, 0], briefed[:, 1], INK, 1.3, _DOTTED, 6.0))
        sheet.avoid(briefed[:: max(1, len(briefed) // 200)], 2.0)


def label_briefed(sheet: Sheet, briefed: FloatArray) -> None:
    """Name the briefed path where it is clear of the track."""
    if len(briefed) < _LEAST_PLACES:
        return
    far, places = int(np.argmax(np.hypot(briefed[:, 0], briefed[:, 1]))), []
    for share in (0.0, -0.04, 0.04, -0.08, 0.08, -0.12, 0.12, 0.3, -0.3):
        k = min(max(far + int(share * len(briefed)), 0), len(briefed) - 2)
        along = math.atan2(*(briefed[k + 1] - briefed[k]))
        for away in (9.0, -9.0, 14.0, -14.0):
            ox, oy = point(away * sheet.nm_per_point, along + math.pi / 2.0)
            places.append((float(briefed[k, 0]) + ox, float(briefed[k, 1]) + oy, along))
    sheet.label(places, "as briefed", sheet.layout.small + 0.5)
