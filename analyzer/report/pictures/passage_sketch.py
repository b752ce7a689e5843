"""Small plans of a flight about the fix, one for each passage of it: what was flown from there until it is passed again.

They stand next to the passages that a user may choose from, all to one scale, so that the one that is meant is seen.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from analyzer.motion.motion import Motion
from analyzer.motion.states import States
from analyzer.physics.units import NM
from analyzer.report.pictures.drawing import Drawing, Line, Marker, Panel
from analyzer.report.pictures.labels import Obstacles
from analyzer.report.pictures.layout import NARROW
from analyzer.report.pictures.plan_charted import draw_fix, draw_lines
from analyzer.report.pictures.plan_sheet import Sheet, point, reach_nm, xy
from analyzer.report.pictures.plan_view import box_about, plan_frame
from analyzer.report.pictures.style import HATCH, LEG_COLOUR, with_breaks

__all__ = ["passage_sketches"]

_SIZE = (236.0, 190.0)
_LAYOUT = replace(NARROW, width=_SIZE[0])
_MOST_PLACES = 400
_BEFORE_S, _AFTER_S = 60.0, 900.0  # of the flight before a passage, and after one that no other follows
_ABOUT_SHARE = 1.4  # of the limit, or of where a course without one is drawn to: what is shown
_ARROW_EVERY_PT, _ARROW_PT = 45.0, 9.0
_AFTER, _BEFORE = LEG_COLOUR["outbound"], LEG_COLOUR["arrival"]


def passage_sketches(motion: Motion, passages_s: Sequence[float]) -> tuple[Drawing, ...]:
    """A plan for each passage, true north up: the flight pale, strong what follows the passage up to the next one. [s]"""
    charted, states = motion.charted, motion.drawn_states
    reach = reach_nm(charted)
    about = states.distance_m <= _ABOUT_SHARE * reach * NM
    near = np.column_stack(xy(states))[about]
    farthest = float(states.distance_m[about].max(initial=0.0)) / NM
    course = point(min(reach, farthest), charted.outbound_true_rad)
    frame = plan_frame(box_about(np.vstack([near, [(0.0, 0.0), course]])), _SIZE)
    points = near[:: max(1, len(near) // _MOST_PLACES)]
    obstacles = Obstacles(points, np.full(len(points), 2.0 * frame.x_per_point), (*frame.x, *frame.y))
    drawings = []
    for number, passage_s in enumerate(passages_s):
        sheet = Sheet(frame, _LAYOUT, obstacles)
        draw_lines(sheet, charted)
        _draw(sheet, states, HATCH, 0.9)
        _draw(sheet, states.between(passage_s - _BEFORE_S, passage_s), _BEFORE, 2.4)
        ends_s = passages_s[number + 1] if number + 1 < len(passages_s) else passage_s + _AFTER_S
        after = motion.flight_at(passage_s).states.between(passage_s, ends_s)
        _draw(sheet, after, _AFTER, 3.0)
        draw_fix(sheet, charted)
        _draw_arrows(sheet, after)
        drawings.append(Drawing(*_SIZE, (Panel(frame, tuple(sheet.marks)),)))
    return tuple(drawings)


def _draw(sheet: Sheet, states: States, colour: str, width: float) -> None:
    if len(states) < 2:
        return
    _, x, y = with_breaks(states.time_s, states.time_s, *xy(states))
    step = max(1, len(x) // _MOST_PLACES)
    sheet.add(Line(x[::step], y[::step], colour, width))


def _draw_arrows(sheet: Sheet, states: States) -> None:
    """An arrowhead along the way every so often, and a square where it ends."""
    if len(states) < 2:
        return
    x, y = xy(states)
    along = np.concatenate([[0.0], np.cumsum(np.hypot(np.diff(x), np.diff(y)))]) / sheet.nm_per_point
    for away in np.arange(0.6 * _ARROW_EVERY_PT, along[-1], _ARROW_EVERY_PT).tolist():
        k = int(np.searchsorted(along, away))
        bearing = float(states.track_rad[k])
        sheet.add(Marker(float(x[k]), float(y[k]), "arrow", _ARROW_PT, _AFTER, _AFTER, 0.0, 5.5, bearing))
    sheet.add(Marker(float(x[-1]), float(y[-1]), "square", 6.0, edge=1.4, level=7.0))
