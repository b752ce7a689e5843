"""The laps of a hold in a plan view, each with its own dashes, and its number where it is apart from the others."""

from __future__ import annotations

import math
from itertools import cycle
from typing import TYPE_CHECKING

import numpy as np

from analyzer.legs.held import laps_of
from analyzer.physics.units import FloatArray
from analyzer.report.pictures.drawing import Line
from analyzer.report.pictures.plan_sheet import Sheet, point, xy
from analyzer.report.pictures.style import LEG_COLOUR, with_breaks

if TYPE_CHECKING:
    from analyzer.legs.reversal import Reversal
    from analyzer.motion.states import States

__all__ = ["draw_laps", "name_laps"]

# Width and dashes in points, lap by lap; the dashes of the chart are longer and thinner.
_STYLES: tuple[tuple[float, tuple[float, ...]], ...] = ((2.8, ()), (2.2, (7.0, 2.4)), (2.0, (2.0, 2.0)), (1.3, ()))
_ASIDE_PT = 10.0  # distance from a line to the number of its lap
_APART_AT_MOST_PT = 40.0  # laps farther apart than this count as separate
_EVERY_S = 4  # spacing of the places offered for a number


def draw_laps(sheet: Sheet, reversal: Reversal, states: States) -> None:
    """Each lap of a hold as one line, the first laps below the later ones."""
    for number, (states_of_lap, (width, dashes)) in enumerate(zip(_laps(reversal, states), cycle(_STYLES), strict=False)):
        x, y = xy(states_of_lap)
        _, x, y = with_breaks(states_of_lap.time_s, states_of_lap.time_s, x, y)
        sheet.add(Line(x, y, LEG_COLOUR["hold"], width, dashes, 4.0 + 0.01 * number))


def name_laps(sheet: Sheet, reversal: Reversal, states: States) -> None:
    """The number of each lap where it is farthest from the others and hides least."""
    laps = _laps(reversal, states)
    lines = [np.column_stack(xy(lap)) for lap in laps]
    for number, (lap, line) in enumerate(zip(laps, lines, strict=True), 1):
        others = [other for k, other in enumerate(lines, 1) if k != number]
        apart = _apart(line[::_EVERY_S], others) / sheet.nm_per_point
        order = np.argsort(-np.minimum(np.round(apart), _APART_AT_MOST_PT), kind="stable") * _EVERY_S
        places = []
        for k in order.tolist():
            for away in (_ASIDE_PT, -_ASIDE_PT):
                dx, dy = point(away * sheet.nm_per_point, float(lap.track_rad[k]) + math.pi / 2.0)
                places.append((float(line[k, 0]) + dx, float(line[k, 1]) + dy, float(lap.track_rad[k])))
        if places:
            sheet.label(places, f"lap {number}", sheet.layout.strong - 0.5, colour=LEG_COLOUR["hold"], bold=True)


def _laps(reversal: Reversal, states: States) -> list[States]:
    return [states.between(lap[0].start_s, lap[-1].end_s) for lap in laps_of(reversal)]


def _apart(line: FloatArray, others: list[FloatArray]) -> FloatArray:
    """Distance of each point of a line from the nearest of the others, infinite if there are none. [NM]"""
    found = np.full(len(line), np.inf)
    for other in others:
        if len(other):
            gaps = np.hypot(line[:, None, 0] - other[None, :, 0], line[:, None, 1] - other[None, :, 1])
            found = np.minimum(found, gaps.min(axis=1))
    return found
