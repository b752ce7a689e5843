"""Attempts drawn over each other: in plan, and part by part in profile and strips."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from itertools import groupby
from typing import TYPE_CHECKING

import numpy as np

from analyzer.physics.quantiles import median
from analyzer.physics.units import DEG, NM, FloatArray
from analyzer.report.pictures.attempt_lines import attempt_line, draw_numbers, legend, legend_height
from analyzer.report.pictures.compare_align import Aligned, align
from analyzer.report.pictures.compass import compass_row, draw_compass, draw_scale
from analyzer.report.pictures.drawing import Area, Drawing, Frame, Line, Mark, Marker, Panel, Words, straight
from analyzer.report.pictures.frame import edges, number_ticks, titles
from analyzer.report.pictures.labels import Obstacles
from analyzer.report.pictures.layout import NARROW, WIDE, Layout
from analyzer.report.pictures.page_pictures import Picture, picture_of
from analyzer.report.pictures.plan_charted import draw_fix, draw_lines, label_courses, label_limit, racetrack_nm
from analyzer.report.pictures.plan_sheet import Sheet, from_fix, point, reach_nm, xy
from analyzer.report.pictures.plan_view import box_about, plan_frame, plan_size
from analyzer.report.pictures.series import Series
from analyzer.report.pictures.style import INK, LEG_TINT, PAPER, WARN, with_breaks

if TYPE_CHECKING:
    from analyzer.comparison.attempt import Attempt
    from analyzer.comparison.comparing import ComparisonData

__all__ = ["compare_pictures", "compare_plan", "compare_strips"]

_PROFILE_PT, _TOP_PT, _BOTTOM_PT, _BETWEEN_PT, _TITLE_PT = 187.0, 26.0, 11.0, 10.0, 16.0
_EVERY_PT, _STRIP_EVERY_PT = 130.0, 190.0  # between the numbers of an attempt along its line
_FIX_PT = 10.0  # about the fix, which no number hides
_ROOM = 0.12
_MOST_HIDDEN = 6.0  # by a distance, which stands in the table too; a label on another hides more
_LETTER = 0.6  # approximate width of a letter, as a share of the type size

# overlaid strips below the profile: quantity, title, and values
_STRIPS: tuple[tuple[str, str, Callable[[Series], FloatArray]], ...] = (
    ("distance", "distance, NM", lambda series: series.distance_nm),
    ("deviation", "course\ndeviation, {}", lambda series: np.where(series.counts, series.deviation, np.nan)),
    ("bank", "bank, °", lambda series: series.bank_deg),
    ("speed", "ground\nspeed, kt", lambda series: series.ground_speed_kt),
)


def compare_pictures(comparison: ComparisonData) -> tuple[Picture, ...]:
    """Plan view and strips of all attempts, for a page."""
    attempts = comparison.attempts
    numbers = f"{len(attempts)} attempts"
    aligned = align(attempts)
    plans, strips = ([draw(attempts, aligned, layout) for layout in (WIDE, NARROW)] for draw in (compare_plan, compare_strips))
    return (
        picture_of("plan", (plans[0], plans[1]), "c", _PLAN_CAPTION, f"Plan view of {numbers}. {_farthest_words(comparison)}"),
        picture_of("strips", (strips[0], strips[1]), "c", _STRIPS_CAPTION, f"{_STRIPS_ALT} of {numbers}, part by part."),
    )


_PLAN_CAPTION = (
    "Plan view, true north up, courses magnetic. Broad: the last attempt, whose wind is shown. Dashed red: the limit."
)
_STRIPS_ALT = "Altitude, distance, course deviation, bank and ground speed"
_STRIPS_CAPTION = (
    "Part by part: every part of every attempt is stretched to the same width, so that like lies over like. "
    "Broad: the last attempt. Red: the charted minimums and the limit."
)


def _farthest_words(comparison: ComparisonData) -> str:
    row = next((row for row in comparison.rows if row.figure.key == "farthest_nm"), None)
    if row is None:
        return ""
    distances = [f"{number}: {value.value:.2f}" for number, value in enumerate(row.values, 1) if value is not None]
    return f"Greatest distance in nautical miles by attempt: {', '.join(distances)}."


def compare_plan(attempts: Sequence[Attempt], aligned: Aligned, layout: Layout) -> Drawing:
    """All attempts in one plan view, each with its number along it, and a legend below."""
    charted = attempts[0].debrief.motion.charted
    cx, cy = from_fix(charted, charted.limit_latitude_rad, charted.limit_longitude_rad)
    ex, ey = point(reach_nm(charted), charted.outbound_true_rad)
    series = aligned.series
    places = [np.column_stack(xy(one.states)) for one in series]
    charted_nm = np.array([[0.0, 0.0], [cx + ex, cy + ey]])
    if charted.held is not None:  # from which no course leads away
        charted_nm = racetrack_nm(charted, charted.held, median(series[-1].states.true_airspeed_mps))
    seen = box_about(np.vstack([*places, charted_nm]))
    size = plan_size(seen, layout)
    frame = plan_frame(seen, size)
    points = np.vstack([place[:: max(1, len(place) // 150)] for place in places])
    sheet = Sheet(frame, layout, Obstacles(points, np.full(len(points), 2.0 * frame.x_per_point), (*frame.x, *frame.y)))
    draw_lines(sheet, charted)
    curves = []
    for attempt, one in zip(attempts, series, strict=True):
        x, y = xy(one.states)
        _, x, y = with_breaks(one.time_s, one.time_s, x, y)
        curves.append(attempt_line(attempt, attempts, x, y))
    sheet.add(*curves)
    wind = attempts[-1].approach.figures.wind
    if layout.compass is not None:
        draw_compass(sheet, layout.compass, charted.variation.east_rad, wind)
    draw_scale(sheet)
    draw_fix(sheet, charted)
    about_fix = np.array([point(_FIX_PT * sheet.nm_per_point, angle) for angle in np.linspace(0.0, math.tau, 9)])
    ends = np.vstack([place[_farthest_row(attempt, one)] for attempt, one, place in zip(attempts, series, places, strict=True)])
    marks, standing = draw_numbers(frame, layout, curves, _EVERY_PT, np.vstack([about_fix, ends]))
    sheet.add(*marks)
    sheet.avoid(standing, layout.small)
    # the last attempt first, whose distance is shown even where there is no room for all
    for attempt, one, place in reversed(list(zip(attempts, series, places, strict=True))):
        _farthest(sheet, attempt, attempts, one, place)
    label_limit(sheet, charted)
    label_courses(sheet, charted)
    panels = [Panel(frame, tuple(sheet.marks))]
    if layout.compass is None:
        panels.append(compass_row(layout, size[1], charted.variation.east_rad, wind))
    panels.append(legend(attempts, layout, sum(panel.frame.box[3] for panel in panels)))
    return Drawing(size[0], size[1] + sum(panel.frame.box[3] for panel in panels[1:]), tuple(panels))


def _farthest(sheet: Sheet, attempt: Attempt, attempts: Sequence[Attempt], series: Series, place: FloatArray) -> None:
    """The attempt's farthest point, with its number and the distance."""
    k = _farthest_row(attempt, series)
    x, y = float(place[k, 0]), float(place[k, 1])
    outward = math.atan2(x, y)
    text, size = f"{attempt.number}: {series.distance_nm[k]:.2f} NM", sheet.layout.normal
    half = 0.5 * _LETTER * len(text) * size * sheet.nm_per_point  # so far is the middle of a label from its end
    around = []
    for away in (10.0, 16.0, 24.0, 34.0, 46.0):
        for turn in (0.0, 0.7, -0.7, 1.5, -1.5, 2.3, -2.3):
            dx, dy = point(away * sheet.nm_per_point, outward + turn)
            around.append((x + dx + half * math.sin(outward + turn), y + dy, math.pi / 2.0))
    sheet.add(Marker(x, y, "circle", 4.5, INK, level=7.0))
    last = attempt is attempts[-1]
    sheet.label(around, text, size, math.inf if last else _MOST_HIDDEN, bold=last)


def _farthest_row(attempt: Attempt, series: Series) -> int:
    """Row of an attempt's farthest point: as judged, or else of its greatest distance."""
    farthest = attempt.approach.figures.farthest
    if farthest is not None:
        return int(np.argmin(np.abs(series.time_s - farthest.time_s)))
    return int(np.argmax(np.where(np.isfinite(series.distance_nm), series.distance_nm, -1.0)))


def compare_strips(attempts: Sequence[Attempt], aligned: Aligned, layout: Layout) -> Drawing:
    """Profile and strips of all attempts, laid over each other part by part."""
    rows: list[tuple[str, str, float, Callable[[Series], FloatArray]]] = []
    if any(np.isfinite(one.altitude).any() for one in aligned.series):
        rows.append(("altitude", f"altitude, {aligned.series[0].height.name}", _PROFILE_PT, lambda series: series.altitude))
    rows += [
        (quantity, title.format(aligned.series[0].deviation_unit), layout.strip_height, values)
        for quantity, title, values in _STRIPS
        if any(np.isfinite(values(one)).any() for one in aligned.series)
    ]
    above, top = (0.0 if layout.side_titles else _TITLE_PT), legend_height(attempts, layout) + _TOP_PT
    top += above
    width = layout.width - layout.left - layout.right
    panels = [legend(attempts, layout, 0.0)]
    for number, (quantity, title, tall, values) in enumerate(rows):
        box = (layout.left, top + above, width, tall - _BETWEEN_PT - above)
        panels.append(_panel(attempts, aligned, layout, (quantity, title, box, values), first=number == 0))
        top += tall
    return Drawing(layout.width, top + _BOTTOM_PT, tuple(panels))


def _panel(
    attempts: Sequence[Attempt],
    aligned: Aligned,
    layout: Layout,
    row: tuple[str, str, tuple[float, float, float, float], Callable[[Series], FloatArray]],
    *,
    first: bool,
) -> Panel:
    quantity, title, box, values = row
    curves = []
    for attempt, series, position in zip(attempts, aligned.series, aligned.positions, strict=True):
        drawn = values(series)
        if np.isfinite(drawn).any():
            _, x, y = with_breaks(series.time_s, series.time_s, position, drawn)
            curves.append(attempt_line(attempt, attempts, x, y))
    limits = list(_limits(attempts, aligned, quantity))
    shown = np.concatenate([*(curve.y for curve in curves), *(limit.y for limit in limits)])
    low, high = float(np.nanmin(shown)), float(np.nanmax(shown))
    room = _ROOM * max(high - low, 1.0)
    frame = Frame(quantity, box, (0.0, 1.0), (low - room, high + room))
    bottom, top = frame.y
    marks: list[Mark] = [
        Area(np.array([s.start, s.start, s.end, s.end]), np.array([bottom, top, top, bottom]), LEG_TINT[s.leg])
        for s in aligned.segments
    ]
    marks += [straight((s.start, bottom), (s.start, top), PAPER, 1.5, level=1.0) for s in aligned.segments[1:]]
    marks += [*limits, *curves]
    marks += edges(frame, [], number_ticks(*frame.y, layout.most_numbers + 2 * first), layout, x_words=False)
    marks += titles(frame, title, "", layout, over_names=first)
    if first:
        marks += _segment_names(frame, aligned, layout)
    marks += draw_numbers(frame, layout, curves, _STRIP_EVERY_PT, np.empty((0, 2)))[0]
    return Panel(frame, tuple(marks))


def _limits(attempts: Sequence[Attempt], aligned: Aligned, quantity: str) -> Iterator[Line]:
    """The limits of a quantity: charted minimums, the distance limit, or what the standard allows."""
    charted, standard = attempts[0].debrief.motion.charted, attempts[0].debrief.standard
    if quantity == "altitude":
        for segment in aligned.segments:
            floor_m = charted.levels_m.get(segment.leg)
            if floor_m is not None:
                floor = floor_m / aligned.series[0].height.metres
                yield straight((segment.start, floor), (segment.end, floor), WARN, 1.3, level=3.0)
        return
    at: list[float] = []
    if quantity == "distance" and charted.limit_m is not None:
        at = [charted.limit_m / NM]
    elif quantity == "bank":
        at = [standard["turn_bank"].value, -standard["turn_bank"].value]
    elif quantity == "deviation" and charted.guidance.full_scale_rad is not None:
        allowed = standard["course_deviation"].value * charted.guidance.full_scale_rad / DEG
        at = [allowed, -allowed]
    for value in at:
        yield straight((0.0, value), (1.0, value), WARN, 0.9, (5.4, 2.7), 3.0)


def _segment_names(frame: Frame, aligned: Aligned, layout: Layout) -> Iterator[Mark]:
    """The names of the parts above them; if those of a leg do not fit, the name of the leg."""
    letter = _LETTER * layout.small * frame.x_per_point
    for leg, group in groupby(aligned.segments, key=lambda segment: segment.leg):
        segments = list(group)
        fitting = [(s.name, s.start, s.end) for s in segments if s.end - s.start > letter * len(s.name)]
        if not fitting and segments[-1].end - segments[0].start > letter * len(leg):
            fitting = [(leg, segments[0].start, segments[-1].end)]
        for name, start, end in fitting:
            yield Words((start + end) / 2.0, frame.y[1], name, layout.small, up="bottom", away=(0.0, 2.0))
