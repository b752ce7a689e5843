"""Attempts drawn over each other: in plan, and part by part in profile and strips. The last attempt is drawn heavy.

Earlier attempts differ by their dashes and by the number next to each line.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from itertools import groupby
from typing import TYPE_CHECKING, Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from analyzer.physics.quantiles import median
from analyzer.physics.units import DEG, FT, NM, FloatArray
from analyzer.report.pictures.bare_axes import add_bare_axes
from analyzer.report.pictures.compare_align import Aligned, align
from analyzer.report.pictures.compass import draw_scale
from analyzer.report.pictures.frame import inches, number_ticks, put_frame, put_words
from analyzer.report.pictures.labels import Obstacles
from analyzer.report.pictures.page_pictures import Picture, picture_of
from analyzer.report.pictures.plan_axes import Sheet, from_fix, point, reach_nm, xy
from analyzer.report.pictures.plan_charted import draw_fix, draw_lines, label_courses, label_limit, racetrack_nm
from analyzer.report.pictures.plan_view import frame_about
from analyzer.report.pictures.series import Series
from analyzer.report.pictures.style import INK, LEG_TINT, PAPER, QUIET, WARN, look, with_breaks

if TYPE_CHECKING:
    from analyzer.comparison.attempt import Attempt
    from analyzer.comparison.comparing import ComparisonData

__all__ = ["attempt_name", "compare_pictures"]

_WIDTH_IN, _STRIP_IN, _PROFILE_IN, _TOP_IN, _BOTTOM_IN, _BETWEEN_IN = 8.4, 1.2, 2.6, 0.45, 0.15, 0.14
_LEFT, _RIGHT = 0.105, 0.975
_DASHES: tuple[object, ...] = ("-", (0, (5, 2)), (0, (1.2, 1.4)), (0, (6, 2, 1.2, 2)), (0, (3, 1.2)), (0, (8, 2, 1, 1.5, 1, 2)))
_ROOM = 0.12
_LETTER_PT = 5.2  # about what a letter of a name takes

# overlaid strips below the profile: label at the left, values, and the limit if there is one
_STRIPS: tuple[tuple[str, Callable[[Series], FloatArray]], ...] = (
    ("distance, NM", lambda series: series.distance_nm),
    ("course\ndeviation, {}", lambda series: np.where(series.counts, series.deviation, np.nan)),
    ("bank, °", lambda series: series.bank_deg),
    ("ground\nspeed, kt", lambda series: series.ground_speed_kt),
)


def compare_pictures(comparison: ComparisonData) -> tuple[Picture, ...]:
    """Plan view and strips of all attempts, for a page."""
    attempts = comparison.attempts
    numbers = f"{len(attempts)} attempts"
    with look():
        plan, strips = _plan(attempts), _strips(attempts)
        return (
            picture_of("plan", plan, "c", _PLAN_CAPTION, f"Plan view of {numbers}. {_farthest_words(comparison)}"),
            picture_of("strips", strips, "c", _STRIPS_CAPTION, f"{_STRIPS_ALT} of {numbers}, part by part."),
        )


_PLAN_CAPTION = "Plan view, true north up, courses magnetic. Heavy: the last attempt. Dashed red: the limit."
_STRIPS_ALT = "Altitude, distance, course deviation, bank and ground speed"
_STRIPS_CAPTION = (
    "Part by part: every part of every attempt is stretched to the same width, so that like lies over like. "
    "Heavy: the last attempt. Red: the charted minimums and the limit."
)


def attempt_name(number: int) -> str:
    """Names of an attempt's lines and rows on the page."""
    return f"attempt-{number}"


def _style(attempt: Attempt, attempts: Sequence[Attempt]) -> dict[str, Any]:
    last = attempt is attempts[-1]
    dashes = "-" if last else _DASHES[(attempt.number - 1) % len(_DASHES)]
    look_of = {"color": INK, "lw": 2.2, "zorder": 6} if last else {"color": QUIET, "lw": 1.1, "zorder": 5}
    return {**look_of, "ls": dashes, "gid": attempt_name(attempt.number)}


def _farthest_words(comparison: ComparisonData) -> str:
    row = next((row for row in comparison.rows if row.figure.key == "farthest_nm"), None)
    if row is None:
        return ""
    distances = [f"{number}: {value.value:.2f}" for number, value in enumerate(row.values, 1) if value is not None]
    return f"Greatest distance in nautical miles by attempt: {', '.join(distances)}."


def _plan(attempts: Sequence[Attempt]) -> Figure:
    charted = attempts[0].debrief.motion.charted
    cx, cy = from_fix(charted, charted.limit_latitude_rad, charted.limit_longitude_rad)
    ex, ey = point(reach_nm(charted), charted.outbound_true_rad)
    series = align(attempts).series
    places = [np.column_stack(xy(one.states)) for one in series]
    charted_nm = np.array([[0.0, 0.0], [cx + ex, cy + ey]])
    if charted.held is not None:  # which no course leads away from
        charted_nm = racetrack_nm(charted, charted.held, median(series[-1].states.true_airspeed_mps))
    left, right, bottom, top, height_in = frame_about(np.vstack([*places, charted_nm]), _WIDTH_IN)
    figure = Figure(figsize=(_WIDTH_IN, height_in))
    axes = add_bare_axes(figure, (0.0, 0.0, 1.0, 1.0), "plan")
    axes.set_axis_off()
    axes.set_xlim(left, right)
    axes.set_ylim(bottom, top)
    nm_per_point = (right - left) / (inches(axes)[0] * 72.0)
    points = np.vstack([place[:: max(1, len(place) // 150)] for place in places])
    sheet = Sheet(axes, nm_per_point, Obstacles(points, np.full(len(points), 2.0 * nm_per_point), (left, right, bottom, top)))
    draw_lines(sheet, charted)
    for attempt, one in zip(attempts, series, strict=True):
        axes.plot(*with_breaks(one.time_s, *xy(one.states)), **_style(attempt, attempts))
    draw_fix(sheet, charted)
    sheet.obstacles = draw_scale(axes, sheet.obstacles, nm_per_point)
    for attempt, one, place in zip(attempts, series, places, strict=True):
        _number(sheet, attempt, attempts, one, place)
    label_courses(sheet, charted)
    label_limit(sheet, charted)
    return figure


def _number(sheet: Sheet, attempt: Attempt, attempts: Sequence[Attempt], series: Series, place: FloatArray) -> None:
    """The attempt's number next to its farthest point."""
    k = int(np.argmax(np.where(np.isfinite(series.distance_nm), series.distance_nm, -1.0)))
    farthest = attempt.approach.figures.farthest
    if farthest is not None:
        k = int(np.argmin(np.abs(series.time_s - farthest.time_s)))
    outward = float(np.arctan2(*place[k]))
    around = []
    for away in (11.0, 16.0, 22.0, 30.0):
        for turn in (0.0, 0.7, -0.7, 1.5, -1.5):
            dx, dy = point(away * sheet.nm_per_point, outward + turn)
            around.append((float(place[k, 0]) + dx, float(place[k, 1]) + dy, np.pi / 2.0))
    last = attempt is attempts[-1]
    sheet.axes.plot([place[k, 0]], [place[k, 1]], marker="o", ms=4.5, mfc=PAPER, mec=INK if last else QUIET, mew=1.2, zorder=7)
    sheet.label(around, str(attempt.number), 9.5, color=INK if last else QUIET, fontweight="bold" if last else "normal")


def _strips(attempts: Sequence[Attempt]) -> Figure:
    aligned = align(attempts)
    altitude = any(np.isfinite(one.altitude_ft).any() for one in aligned.series)
    rows = [(title, values) for title, values in _STRIPS if any(np.isfinite(values(one)).any() for one in aligned.series)]
    height = _TOP_IN + _BOTTOM_IN + (_PROFILE_IN if altitude else 0.0) + _STRIP_IN * len(rows)
    figure = Figure(figsize=(_WIDTH_IN, height))
    top = height - _TOP_IN
    if altitude:
        axes = _panel(figure, aligned, top, _PROFILE_IN, height, "altitude")
        _overlay(axes, attempts, aligned, lambda series: series.altitude_ft)
        _floors(axes, attempts, aligned)
        _finish(axes, "altitude, ft", 7)
        top -= _PROFILE_IN
    for title, values in rows:
        axes = _panel(figure, aligned, top, _STRIP_IN, height, title)
        _overlay(axes, attempts, aligned, values)
        _limits(axes, attempts, title)
        _finish(axes, title.format(aligned.series[0].deviation_unit), 5)
        top -= _STRIP_IN
    _name_segments(figure.axes[0], aligned)
    _name_lines(figure.axes[0], attempts)
    return figure


def _name_lines(axes: Axes, attempts: Sequence[Attempt]) -> None:
    """Which line is whose, in the upper right corner, where the aircraft has come down."""
    drawn = {line.get_gid(): line for line in axes.lines if line.get_gid()}
    known = [attempt for attempt in attempts if attempt_name(attempt.number) in drawn]
    lines, words = [drawn[attempt_name(a.number)] for a in known], [str(a.number) for a in known]
    axes.legend(lines, words, loc="upper right", ncols=5, fontsize=8.0, frameon=False, handlelength=2.6, columnspacing=1.2)


def _panel(figure: Figure, aligned: Aligned, top_in: float, tall_in: float, height_in: float, label: str) -> Axes:
    box = (_LEFT, (top_in - tall_in + _BETWEEN_IN) / height_in, _RIGHT - _LEFT, (tall_in - _BETWEEN_IN) / height_in)
    axes = add_bare_axes(figure, box, label)
    axes.set_xlim(0.0, 1.0)
    for segment in aligned.segments:
        axes.axvspan(segment.start, segment.end, color=LEG_TINT[segment.leg], lw=0.0, zorder=0)
    for segment in aligned.segments[1:]:
        axes.axvline(segment.start, color=PAPER, lw=1.5, zorder=1)
    return axes


def _overlay(axes: Axes, attempts: Sequence[Attempt], aligned: Aligned, values: Callable[[Series], FloatArray]) -> None:
    for attempt, series, position in zip(attempts, aligned.series, aligned.positions, strict=True):
        drawn = values(series)
        if np.isfinite(drawn).any():
            _, x, y = with_breaks(series.time_s, series.time_s, position, drawn)
            axes.plot(x, y, **_style(attempt, attempts))


def _floors(axes: Axes, attempts: Sequence[Attempt], aligned: Aligned) -> None:
    for segment in aligned.segments:
        floor = attempts[0].debrief.motion.charted.levels_m.get(segment.leg)
        if floor is not None:
            axes.plot([segment.start, segment.end], [floor / FT] * 2, color=WARN, lw=1.3, zorder=3)


def _limits(axes: Axes, attempts: Sequence[Attempt], title: str) -> None:
    charted, standard = attempts[0].debrief.motion.charted, attempts[0].debrief.standard
    at: list[float] = []
    if title.startswith("distance") and charted.limit_m is not None:
        at = [charted.limit_m / NM]
    elif title.startswith("bank"):
        at = [standard["turn_bank"].value, -standard["turn_bank"].value]
    elif title.startswith("course") and charted.guidance.full_scale_rad is not None:
        allowed = standard["course_deviation"].value * charted.guidance.full_scale_rad / DEG
        at = [allowed, -allowed]
    for value in at:
        axes.axhline(value, color=WARN, lw=0.9, ls=(0, (6, 3)), zorder=3)


def _finish(axes: Axes, title: str, most: int) -> None:
    low, high = axes.get_ylim()
    axes.set_ylim(low - _ROOM * (high - low), high + _ROOM * (high - low))
    put_frame(axes, [], number_ticks(*axes.get_ylim(), most), x_words=False)
    put_words(axes, left=title, below="")


def _name_segments(axes: Axes, aligned: Aligned) -> None:
    """The parts' names above them, or where those of a leg have no room, the leg's."""
    per_letter = _LETTER_PT / (inches(axes)[0] * 72.0)
    for leg, group in groupby(aligned.segments, key=lambda segment: segment.leg):
        segments = list(group)
        fitting = [(s.name, s.start, s.end) for s in segments if s.end - s.start > per_letter * len(s.name)]
        for name, start, end in fitting or [(leg, segments[0].start, segments[-1].end)]:
            middle, above = (start + end) / 2.0, axes.get_xaxis_transform()
            axes.text(middle, 1.02, name, transform=above, ha="center", va="bottom", fontsize=8.5, color=INK)
