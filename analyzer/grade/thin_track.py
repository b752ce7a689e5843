"""The track of an approach reduced to the few points at which it bends, for the picture of a class."""

from __future__ import annotations

import heapq
import math
from typing import Any

import numpy as np

from analyzer.debriefs.data import Approach, DebriefData
from analyzer.physics.units import DEG, FloatArray
from analyzer.report.pictures.plan_sheet import from_fix, xy
from analyzer.report.pictures.style import shown_span

__all__ = ["MOST_PLACES", "kept_places", "thin_track"]

MOST_PLACES = 60
_MOST_STATES = 400
_NEAR_ENOUGH_NM = 0.005  # less than the width of a line on a page
_AFTER = ("final", "missed")  # left out of a picture of reversals


def thin_track(debrief: DebriefData, approach: Approach) -> dict[str, Any] | None:
    """The track from the last minutes of the arrival to the end of the inbound leg, east and north of the fix. [NM]"""
    parts = [part for part in approach.reversal.parts if part.leg not in _AFTER]
    if not parts:
        return None
    states = debrief.motion.states.between(shown_span(debrief.motion, approach.reversal)[0], parts[-1].end_s)
    if len(states) < 2:
        return None
    places = np.column_stack(xy(states))
    places = places[np.isfinite(places).all(axis=1)]
    step = max(1, len(places) // _MOST_STATES)
    places = np.vstack([places[:-1:step], places[-1:]])
    kept = places[kept_places(places, MOST_PLACES, _NEAR_ENOUGH_NM)]
    east, north = ([round(value, 3) for value in kept[:, k].tolist()] for k in (0, 1))
    charted = debrief.motion.charted
    fix = [round(value / DEG, 5) for value in (charted.fix_latitude_rad, charted.fix_longitude_rad)]
    return {"east_nm": east, "north_nm": north, "farthest_nm": _farthest_point(debrief, approach), "fix_deg": fix}


def _farthest_point(debrief: DebriefData, approach: Approach) -> list[float] | None:
    farthest, motion = approach.figures.farthest, debrief.motion
    if farthest is None:
        return None
    return [round(value, 3) for value in from_fix(motion.charted, *motion.position_at(farthest.time_s))]


def kept_places(places: FloatArray, most: int, near_enough: float) -> list[int]:
    """The points of a line, shape (n, 2), to keep so that the others are near it: at most `most`, including the ends.

    The point farthest from the simplified line is added repeatedly (Douglas and Peucker 1973, but always the farthest of all,
    which bounds the number).
    """
    kept, waiting = {0, len(places) - 1}, [_farthest(places, 0, len(places) - 1)]
    while len(kept) < most and waiting:
        away, first, last, between = heapq.heappop(waiting)
        if -away <= near_enough:
            break
        kept.add(between)
        for begin, end in ((first, between), (between, last)):
            if end - begin > 1:
                heapq.heappush(waiting, _farthest(places, begin, end))
    return sorted(kept)


def _farthest(places: FloatArray, first: int, last: int) -> tuple[float, int, int, int]:
    """The point farthest from the line between two others: minus its distance, the two, and its index."""
    if last - first < 2:
        return 0.0, first, last, first
    along = places[last] - places[first]
    off = places[first + 1 : last] - places[first]
    length = float(along @ along)
    share = np.minimum(np.maximum(off @ along / length, 0.0), 1.0) if length > 0.0 else np.zeros(len(off))
    across = off - share[:, None] * along
    squared = across[:, 0] ** 2 + across[:, 1] ** 2
    k = int(squared.argmax())
    return -math.sqrt(squared[k]), first, last, first + 1 + k
