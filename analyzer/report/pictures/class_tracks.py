"""All tracks of a procedure in one plan view, with their farthest points: those outside heavy and red, the others thin."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np

from analyzer.frozen import dataclass
from analyzer.gradebook.flown_tracks import FlownTrack, ProcedureTracks, RowKey
from analyzer.physics.units import FloatArray
from analyzer.procedure.charted import Charted
from analyzer.report.pictures.compass import draw_north, draw_scale, north_row
from analyzer.report.pictures.drawing import Drawing, Line, Marker, Panel, Words, straight
from analyzer.report.pictures.labels import Label, Obstacles, choose
from analyzer.report.pictures.layout import NARROW, WIDE, Layout
from analyzer.report.pictures.page_pictures import Picture, picture_of
from analyzer.report.pictures.plan_charted import draw_barb, draw_fix, draw_lines, label_arc, label_courses, label_limit
from analyzer.report.pictures.plan_sheet import Sheet, from_fix, point, reach_nm
from analyzer.report.pictures.plan_view import box_about, plan_frame, plan_size
from analyzer.report.pictures.style import INK, PAPER, QUIET, WARN

__all__ = ["class_tracks_picture", "class_tracks_plan"]

_MOST_NUMBERED = 15  # tracks; beyond this only those outside are numbered, and at most this many
_NORTH_SHARE = 0.6  # relative to the width of a corner with north and wind
_BADGE = 1.75  # size of a badge relative to the type of its number
_AWAY_PT = (15.0, 20.0, 27.0, 36.0, 48.0, 62.0)
_AROUND = tuple(k * math.pi / 8.0 for k in range(-7, 9))
_CAPTION = (
    "All tracks up to the end of the inbound leg, true north up, courses magnetic, each with its farthest point. Red and "
    "heavy, with a square: outside. Thin, with a circle: the others. "
)


@dataclass(frozen=True)
class _Shown:
    """The tracks drawn, those outside last, and their numbers in the list of the page."""

    tracks: Sequence[FlownTrack]
    numbers: Mapping[RowKey, int]


def class_tracks_picture(charted: Charted, flown: ProcedureTracks, numbers: Mapping[RowKey, int], prefix: str) -> Picture:
    """The picture for a page. `numbers` are the numbers of the rows in its list."""
    tracks = (*flown.others.values, *flown.outside.values)
    few = len(tracks) <= _MOST_NUMBERED
    numbered = tracks if few else flown.outside.values[:_MOST_NUMBERED]
    shown = _Shown(tracks, {track.key: numbers[track.key] for track in numbered if track.key in numbers})
    drawn = [class_tracks_plan(charted, shown.tracks, shown.numbers, layout) for layout in (WIDE, NARROW)]
    sample = f" A sample: {len(tracks):,} of {flown.seen:,} tracks." if len(tracks) < flown.seen else ""
    caption = f"{_CAPTION}The numbers are those of the list above.{sample}"
    said = f"Plan view of {len(tracks):,} tracks of {charted.procedure.title}, {len(flown.outside.values):,} of them outside."
    farthest = [track.distance_nm for track in tracks if track.distance_nm is not None]
    if farthest:
        said += f" Farthest points from {min(farthest):.2f} to {max(farthest):.2f} nautical miles from the fix."
    return picture_of("plan", (drawn[0], drawn[1]), prefix, caption, said)


def class_tracks_plan(charted: Charted, tracks: Sequence[FlownTrack], numbers: Mapping[RowKey, int], layout: Layout) -> Drawing:
    """All tracks in one plan view, numbers at their farthest points."""
    places = [np.column_stack([track.east_nm, track.north_nm]) for track in tracks]
    cx, cy = from_fix(charted, charted.limit_latitude_rad, charted.limit_longitude_rad)
    ex, ey = point(reach_nm(charted), charted.outbound_true_rad)
    charted_nm = [(0.0, 0.0), (cx + ex, cy + ey)]
    if charted.runway is not None:
        charted_nm.append(from_fix(charted, charted.runway.latitude_rad, charted.runway.longitude_rad))
    seen = box_about(np.vstack([*places, np.array(charted_nm)]))
    size = plan_size(seen, layout)
    frame = plan_frame(seen, size)
    dense = np.vstack([_dense(place, 4.0 * frame.x_per_point) for place in places])
    dense = dense[:: max(1, len(dense) // 3000)]
    sheet = Sheet(frame, layout, Obstacles(dense, np.full(len(dense), 2.0 * frame.x_per_point), (*frame.x, *frame.y)))
    draw_lines(sheet, charted)
    thin = 1.3 if len(tracks) <= _MOST_NUMBERED else 0.7
    for track, place in zip(tracks, places, strict=True):
        colour, width, level = (WARN, 1.6 * thin, 5.0) if track.outside else (QUIET, thin, 4.0)
        sheet.add(Line(place[:, 0], place[:, 1], colour, width, level=level, opacity=0.85))
    if layout.compass is not None:
        draw_north(sheet, (_NORTH_SHARE * layout.compass[0], layout.compass[1]), charted.variation.east_rad)
    draw_scale(sheet)
    draw_fix(sheet, charted)
    label_limit(sheet, charted)
    if charted.offset_true_rad is not None:
        draw_barb(sheet, charted, charted.offset_true_rad)
    for track in tracks:
        if track.farthest_nm is not None:
            _farthest(sheet, track, numbers.get(track.key))
    label_courses(sheet, charted)
    label_arc(sheet, charted)
    panels = [Panel(frame, tuple(sheet.marks))]
    if layout.compass is None:
        panels.append(north_row(layout, size[1], charted.variation.east_rad))
    return Drawing(size[0], size[1] + sum(panel.frame.box[3] for panel in panels[1:]), tuple(panels))


def _dense(place: FloatArray, apart: float) -> FloatArray:
    """A line with points added so that they are at most `apart` from each other, for labels to keep clear of."""
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(place, axis=0).T))])
    at = np.arange(0.0, along[-1], apart)
    return np.column_stack([np.interp(at, along, place[:, 0]), np.interp(at, along, place[:, 1])])


def _farthest(sheet: Sheet, track: FlownTrack, number: int | None) -> None:
    """The farthest point, and the number of the track with a line to it."""
    if track.farthest_nm is None:
        return
    x, y = track.farthest_nm
    colour = WARN if track.outside else QUIET
    dot = 5.0 if number is not None else 3.5
    if track.outside:
        sheet.add(Marker(x, y, "square", dot, colour, colour, 0.0, 7.0))
    else:
        sheet.add(Marker(x, y, "circle", dot, colour, PAPER, 1.1, 6.5))
    if number is None:
        return
    outward, small = math.atan2(x, y), sheet.layout.small
    offered = [
        Label(x + dx, y + dy, 0.0, "0", _BADGE * small / 1.25 * sheet.nm_per_point)  # as high as a line of that type
        for away in _AWAY_PT
        for turn in _AROUND
        for dx, dy in [point(away * sheet.nm_per_point, outward + turn)]
    ]
    best, _ = choose(offered, sheet.obstacles)
    sheet.obstacles = sheet.obstacles.with_label(replace(best, text="00"))
    sheet.add(straight((x, y), (best.x, best.y), colour, 0.9, level=7.5))
    size = _BADGE * small
    if track.outside:
        sheet.add(Marker(best.x, best.y, "square", size, colour, colour, 1.0, 9.0))
    else:
        sheet.add(Marker(best.x, best.y, "circle", size, colour, PAPER, 1.2, 9.0))
    sheet.add(Words(best.x, best.y, str(number), small, PAPER if track.outside else INK, True, level=9.1))
